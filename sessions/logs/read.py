"""Logs of sessions, and the sessions they answer."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zlib import crc32

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from athletes.models import Athlete
from sessions.models import Attendance, ClassRun, Log, Publication, PublishedSession

MOST_FLAGS = 20  # shown at once
SEEN = [Publication.State.LIVE, Publication.State.SUPERSEDED]


def session_to_log(athlete: Athlete, key: UUID, day: date) -> PublishedSession | None:
    """The published session that a log answers: as it was when the athlete's class ended, where a clock said so; else
    as everyone sees it, or as it was last seen by this athlete.
    """
    sessions = PublishedSession.objects.filter(
        key=key, date=day, publication__state__in=SEEN, targets__athlete=athlete
    ).distinct()
    found = sorted(sessions.select_related("publication"), key=_newest, reverse=True)
    if not found:
        return None
    ended = ends_of_classes(athlete.pk, day).get(found[0].class_key)
    done = [session for session in found if ended and session.publication.live_at <= ended]
    return done[0] if done else found[0]


def ends_of_classes(athlete_id: int, day: date) -> dict[UUID, datetime]:
    """When the classes of a day ended to which an athlete came, by key, as far as a clock is through. One query."""
    came = Attendance.objects.filter(
        athlete=athlete_id, session_key=OuterRef("session_key"), date=day, hour=OuterRef("hour")
    )
    now_ms = int(timezone.now().timestamp() * 1000)
    runs = ClassRun.objects.filter(Exists(came), date=day, standing=True, over_ms__lt=now_ms)
    return {key: datetime.fromtimestamp(ms / 1000, UTC) for key, ms in runs.values_list("session_key", "over_ms")}


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
