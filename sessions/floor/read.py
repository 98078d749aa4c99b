"""What a floor sheet is made of: a class's targets, who came, who has logged."""

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from athletes.models import Athlete
from sessions.models import Log, Publication, PublishedSession, Target

FIELDS = ("athlete__name", "athlete__board_name", "athlete_id", "station", "rung", "dose", "load_kg", "rounds", "hold")
FIELDS += ("finish_by_s", "headroom", "probability", "sd_log", "detail")


def floor_session(pk: int) -> PublishedSession | None:
    """The session as everyone sees it now, by its own id or that of any earlier revision. Two queries at most."""
    asked = PublishedSession.objects.select_related("publication__week").filter(pk=pk).first()
    if asked is None or asked.publication.state == Publication.State.LIVE:
        return asked
    return PublishedSession.objects.as_seen(asked.key, asked.date)


def class_targets(session: PublishedSession) -> list:
    """Everyone's targets, as rows named by `FIELDS`. One query."""
    rows = Target.objects.filter(publication=session.publication_id, session=session).order_by("station")
    return list(rows.values_list(*FIELDS, named=True))


def class_logs(key: UUID, day: date) -> dict[int, Log]:
    """The log of each athlete that counts. One query."""
    logs = Log.objects.standing().filter(session_key=key, date=day).select_related("entered_by")
    return {log.athlete_id: log for log in logs}


def without_targets(session: PublishedSession) -> QuerySet[Athlete]:
    """Active athletes who have no targets in a session: they came, or came back, since it was published."""
    own = Target.objects.filter(publication=session.publication_id, session=session, athlete=OuterRef("pk"))
    return Athlete.objects.filter(~Exists(own), active=True)
