"""Logs of sessions, and the sessions they answer."""

from datetime import date, timedelta
from uuid import UUID
from zlib import crc32

from django.db.models import QuerySet

from athletes.models import Athlete
from sessions.models import Log, Publication, PublishedSession

MOST_FLAGS = 20  # shown at once
SEEN = [Publication.State.LIVE, Publication.State.SUPERSEDED]


def session_to_log(athlete: Athlete, key: UUID, day: date) -> PublishedSession | None:
    """The published session that a log answers: as everyone sees it, or as it was last seen by this athlete."""
    sessions = PublishedSession.objects.filter(
        key=key, date=day, publication__state__in=SEEN, targets__athlete=athlete
    ).distinct()
    by_state = sorted(sessions.select_related("publication"), key=_newest, reverse=True)
    return by_state[0] if by_state else None


def standing_log(athlete_id: int, key: UUID, day: date) -> Log | None:
    """What counts of what an athlete logged of a session."""
    return Log.objects.standing().filter(athlete=athlete_id, session_key=key, date=day).first()


def logs_of(athlete: Athlete, day: date) -> QuerySet[Log]:
    """The logs of an athlete that count, of the four weeks up to a day, the newest first."""
    return Log.objects.standing().filter(athlete=athlete, date__range=(day - timedelta(days=28), day))


def flagged_logs():
    """Standing logs with pain or a stop that nobody of the staff has seen yet, the newest first."""
    flagged = Log.objects.standing().filter(seen_at__isnull=True)
    return (flagged.filter(pain=True) | flagged.filter(stopped=True)).select_related("athlete", "session")


def _newest(session: PublishedSession) -> tuple[bool, int]:
    return session.publication.state == Publication.State.LIVE, session.publication.revision


def flags() -> dict:
    """Pain and stops that nobody of the staff has seen: the first of `count`, and a tag that says which. One query.

    For staff alone: it names people, and never goes on a wall.
    """
    found = list(flagged_logs())
    tag = f"{crc32(repr([log.pk for log in found]).encode()):x}"
    return {"flags": found[:MOST_FLAGS], "count": len(found), "tag": tag}
