"""Log-in sessions as their owner sees them: where one is signed in, and an end to it."""

import re
from datetime import datetime, timedelta

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.models import Session
from django.dispatch import receiver
from django.http import HttpRequest
from django.utils import timezone

from athletes.models import Account, SignIn

LOOKED_AFTER = timedelta(hours=1)  # how exactly it is known when a device was last seen
SEEN = "seen_at"
SYSTEMS = {name: name for name in ("iPhone", "iPad", "Android", "Windows")} | {"Mac OS": "Mac", "X11": "Linux"}
PROGRAMS = {r"Edg/": "Edge", r"Firefox/": "Firefox", r"Chrome/": "Chromium", r"Safari/": "Safari"}


@receiver(user_logged_in)
def sign_in_keep(sender, request: HttpRequest, user: Account, **kwargs) -> None:
    """Enter the session of this request into the account's list."""
    if not request.session.session_key:
        request.session.save()
    now = timezone.now()
    facts = {"account": user, "device": device_in_words(request), "seen_at": now}
    SignIn.objects.update_or_create(session_key=request.session.session_key, defaults=facts)
    request.session[SEEN] = now.isoformat()


@receiver(user_logged_out)
def sign_in_drop(sender, request: HttpRequest, **kwargs) -> None:
    SignIn.objects.filter(session_key=request.session.session_key).delete()


class SeenMiddleware:
    """Note once an hour that a session is in use."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest):
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view, args, kwargs) -> None:
        seen = request.session.get(SEEN) if request.session.accessed else None
        now = timezone.now()
        if seen and now - datetime.fromisoformat(seen) > LOOKED_AFTER:
            SignIn.objects.filter(session_key=request.session.session_key).update(seen_at=now)
            request.session[SEEN] = now.isoformat()


def sign_ins_of(account: Account) -> list[SignIn]:
    """Open sessions of an account, the latest seen first; what has ended by itself is dropped."""
    found = list(account.sign_ins.all())
    standing = Session.objects.filter(session_key__in=[s.session_key for s in found], expire_date__gt=timezone.now())
    keys = set(standing.values_list("session_key", flat=True))
    if ended := [sign_in.pk for sign_in in found if sign_in.session_key not in keys]:
        SignIn.objects.filter(pk__in=ended).delete()
    return [sign_in for sign_in in found if sign_in.session_key in keys]


def sign_ins_end(account: Account, *, but: str, only: int | None = None) -> int:
    """End one session of an account, or all of them, but never the one with the key `but`; how many."""
    sign_ins = account.sign_ins.exclude(session_key=but)
    if only is not None:
        sign_ins = sign_ins.filter(pk=only)
    Session.objects.filter(session_key__in=sign_ins.values("session_key")).delete()
    return sign_ins.delete()[0]


def device_in_words(request: HttpRequest) -> str:
    """A device in two words, like “Firefox, Windows”: what its owner knows it by, and no more."""
    said = request.META.get("HTTP_USER_AGENT", "")
    program = next((name for pattern, name in PROGRAMS.items() if re.search(pattern, said)), "")
    system = next((name for word, name in SYSTEMS.items() if word in said), "")
    return ", ".join(filter(None, (program, system)))
