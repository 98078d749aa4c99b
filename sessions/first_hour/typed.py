"""A list of people that is not saved yet. It lies in the login session of who types it, and for one day at most."""

from datetime import datetime, timedelta

from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.utils import timezone

TYPED = "first_hour_people"
KEPT_FOR = timedelta(days=1)  # names and births of people who are not in yet lie about no longer


def typed_list(session: SessionBase) -> str:
    """What was typed within the last day; what is older is dropped."""
    kept = session.get(TYPED)
    if kept is None:
        return ""
    if not isinstance(kept, dict) or timezone.now() - datetime.fromisoformat(kept["at"]) >= KEPT_FOR:
        del session[TYPED]
        return ""
    return str(kept["text"])


def typed_list_keep(session: SessionBase, text: str) -> None:
    """Keep what is typed, in place of what was; of an empty list nothing stays."""
    session.pop(TYPED, None)
    if text.strip():
        session[TYPED] = {"text": text, "at": timezone.now().isoformat()}


def typed_lists_drop() -> None:
    """Drop the lists of those who never came back, and login sessions that are over."""
    SessionStore.clear_expired()
    for key in Session.objects.values_list("session_key", flat=True):
        session = SessionStore(key)
        if TYPED in session and not typed_list(session):
            session.save()
