"""A brake on guessing passwords that nobody can use to keep others out.

django-axes counts wrong passwords: ten in a quarter of an hour from one address, or for one name, and no more are
taken from there, or for it. Whoever signed in on a device before is counted by that device alone: neither somebody who
guesses in the gym's wifi nor somebody who guesses this name from all over the world stops them. Passkeys are not
guessed, and always open. (OWASP Authentication Cheat Sheet, "device cookies"; from memory.)
"""

import secrets

from axes.handlers.database import AxesDatabaseHandler
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core import signing
from django.http import HttpRequest, HttpResponse

COOKIE, SALT = "known", "accounts.known"
MOST_ACCOUNTS = 8  # on one device: a tablet at the desk


class Brake(AxesDatabaseHandler):
    """django-axes with a success that speaks for one name at one address alone: whoever has an account, or sits in the
    same wifi as somebody who signs in, gets no fresh guesses at other names by it.
    """

    def reset_user_attempts(self, request: HttpRequest, credentials: dict | None = None) -> int:
        name = counted_as(request, credentials)
        return self.reset_attempts(username=name, ip_address=None if _device_in(name) else request.axes_ip_address)


def counted_as(request: HttpRequest | None, credentials: dict | None) -> str:
    """The name that wrong passwords are counted under: with the device, where this account signed in on it before."""
    name = _name(request, credentials)
    device = _known_device(request, name)
    return f"{name} on {device}" if device else name


def counted_by(request_or_attempt, credentials: dict | None = None) -> list[str]:
    """What is counted: address and name, or only the name with the known device in it."""
    if not isinstance(request_or_attempt, HttpRequest):  # an attempt that is kept, when it is looked over again
        return ["username"] if _device_in(request_or_attempt.username or "") else ["ip_address", "username"]
    name = _name(request_or_attempt, credentials)
    return ["username"] if _known_device(request_or_attempt, name) else ["ip_address", "username"]


def remember(request: HttpRequest, response: HttpResponse, account) -> None:
    """Make this device known as one of the account's."""
    device, accounts = _cookie(request)
    accounts = [account.pk, *(pk for pk in accounts if pk != account.pk)][:MOST_ACCOUNTS]
    value = signing.dumps([device or secrets.token_urlsafe(9), accounts], salt=SALT)
    response.set_cookie(
        COOKIE,
        value,
        max_age=settings.YEAR_S,
        path="/login/",
        httponly=True,
        samesite="Lax",
        secure=request.is_secure(),
    )


def _known_device(request: HttpRequest | None, name: str) -> str:
    device, accounts = _cookie(request) if isinstance(request, HttpRequest) else ("", [])
    known = accounts and get_user_model().objects.filter(pk__in=accounts, username=name).exists()
    return device if known else ""


def _device_in(name: str) -> bool:
    """Whether a device is in what was counted: a name to sign in with has no spaces."""
    return " on " in name


def _cookie(request: HttpRequest) -> tuple[str, list[int]]:
    try:
        device, accounts = signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=settings.YEAR_S)
    except (signing.BadSignature, ValueError):
        return "", []
    return device, accounts


def _name(request: HttpRequest | None, credentials: dict | None) -> str:
    given = (credentials or {}).get("username") or (request.POST.get("username") if request else "")
    return (given or "")[:150]
