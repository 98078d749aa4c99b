"""A brake on guessing passwords that nobody can use to keep others out.

django-axes counts wrong passwords with less than an hour between them: ten for a name from one address, and no more are
taken for it from there. From one address for all names it is three times as many, for a name from all addresses ten
times as many, so that neither names nor addresses without number help who guesses. What is refused does not count, so a
lock ends an hour after its last guess, whoever goes on trying. Whoever signed in on a device before is counted by that
device alone: neither somebody who guesses in the gym's wifi nor somebody who guesses this name from all over the world
stops them. An invitation makes its device known; passkeys are not guessed, and always open. (OWASP Authentication Cheat
Sheet, "device cookies"; from memory.)
"""

import secrets

from axes.handlers.database import AxesDatabaseHandler
from axes.handlers.proxy import AxesProxyHandler
from django.conf import settings
from django.contrib.auth import authenticate, get_user_model
from django.core import signing
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.crypto import salted_hmac

from athletes.audit.keeping import entry_of

COOKIE, SALT = "known", "accounts.known"
MOST_ACCOUNTS = 8  # on one device: a tablet at the desk
# What is counted, and how many times AXES_FAILURE_LIMIT it may come to: of somebody whose device is not known …
BY_PLACE = {("username", "ip_address"): 1, ("ip_address",): 3, ("username",): 10}
BY_DEVICE = {("username",): 1}  # … and is: the device is in the name then


class Brake(AxesDatabaseHandler):
    """django-axes with a success that speaks for one name at one address alone: whoever has an account, or sits in the
    same wifi as somebody who signs in, gets no fresh guesses at other names by it.
    """

    def reset_user_attempts(self, request: HttpRequest, credentials: dict | None = None) -> int:
        name = counted_as(request, credentials)
        return self.reset_attempts(username=name, ip_address=None if _device_in(name) else request.axes_ip_address)

    def user_login_failed(self, sender, credentials: dict, request: HttpRequest | None = None, **kwargs) -> None:
        # What is refused unread is not entered: it could be without end.
        taken = request is not None and not request.axes_locked_out
        super().user_login_failed(sender, credentials, request, **kwargs)
        account = get_user_model().objects.filter(username=_name(request, credentials)).first() if taken else None
        if account:
            entry_of(account, "own-password-refused" if hasattr(request, "asked_on") else "sign-in-refused")

    def get_failures(self, request: HttpRequest, credentials: dict | None = None) -> int:
        """How many wrong passwords there were, in the measure of a name at an address."""
        name = counted_as(request, credentials)
        found = [
            # What is counted by a device, or by an open page, stands in nobody else's way.
            (attempts if _device_in(name) else attempts.exclude(username__contains=" on ")).aggregate(
                n=Sum("failures_since_start")
            )["n"]
            or 0
            for attempts in self.get_user_attempts(request, credentials)
        ]
        return max(n // most for n, most in zip(found, _counted(name).values(), strict=True))


def is_own_password(request: HttpRequest, typed: str) -> bool:
    """Whether this is the password of who is signed in. Wrong ones are counted for this log-in session alone: an open
    page may be anybody's, and whoever sits at it locks nothing else.
    """
    request.asked_on = salted_hmac(SALT, request.session.session_key or "", algorithm="sha256").hexdigest()[:12]
    credentials = {"username": request.user.username, "password": typed}
    if authenticate(request, **credentials) is None:
        return False
    AxesProxyHandler.reset_attempts(username=counted_as(request, credentials))
    return True


def locked_out(request: HttpRequest, response: HttpResponse, credentials: dict | None) -> HttpResponse:
    """What is answered in place of `response` to who has guessed too often."""
    if request.content_type == "application/json":
        return JsonResponse({"words": "Too many wrong passwords. Try again in an hour."}, status=429)
    return render(request, "accounts/locked_out.html", {"signed_in": hasattr(request, "asked_on")}, status=429)


def counted_as(request: HttpRequest | None, credentials: dict | None) -> str:
    """The name that wrong passwords are counted under: with the device, where this account signed in on it before."""
    name = _name(request, credentials)
    device = getattr(request, "asked_on", "") or _known_device(request, name)
    return f"{name} on {device}" if device else name


def counted_by(request_or_attempt, credentials: dict | None = None) -> list[list[str]]:
    """What is counted together, as axes asks for it: of a request, or of an attempt that is kept."""
    is_request = isinstance(request_or_attempt, HttpRequest)
    name = counted_as(request_or_attempt, credentials) if is_request else request_or_attempt.username or ""
    return [list(together) for together in _counted(name)]


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


def _counted(name: str) -> dict[tuple[str, ...], int]:
    return BY_DEVICE if _device_in(name) else BY_PLACE


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
