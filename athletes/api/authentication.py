from dataclasses import dataclass

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication, TokenAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed

from athletes.accounts.tokens import kept_as
from athletes.links.devices import opens_here
from athletes.links.keys import whole
from athletes.links.read import athlete_for_token
from athletes.models import Athlete

KEYWORD = b"link"


@dataclass(frozen=True)
class LinkedAthlete:
    """Whoever holds an athlete's personal link: may read that athlete's own targets and benchmarks, log that athlete's
    sessions, and nothing else."""

    athlete: Athlete
    role: str = "athlete"
    is_authenticated: bool = True
    is_active: bool = True
    pk: None = None


class AccountAuthentication(TokenAuthentication):
    """`Authorization: Token <token>`, of an account."""

    def authenticate_credentials(self, key: str):
        return super().authenticate_credentials(kept_as(key))


class LinkAuthentication(BaseAuthentication):
    """`Authorization: Link <token>`, the token of a personal link; or its nonce, from a phone that keeps the key.

    The key comes in a cookie then, which goes along by itself. No other site can use that: browsers let none send a
    header of its choice without asking first (CORS), which nothing here allows, and the cookie is SameSite=Lax besides.
    """

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if len(words) != 2 or words[0].lower() != KEYWORD:
            return None
        token = whole(words[1].decode("latin-1"), request) or ""
        athlete = athlete_for_token(token)
        if athlete is None or not opens_here(token, request):
            raise AuthenticationFailed("This link no longer works. Ask staff for a new one.")
        return LinkedAthlete(athlete), None

    def authenticate_header(self, request) -> str:
        return "Link"


class LinkScheme(OpenApiAuthenticationExtension):
    target_class = LinkAuthentication
    name = "linkAuth"

    def get_security_definition(self, auto_schema) -> dict:
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": "An athlete's personal link: `Link` and the token from its address, as it is printed.",
        }
