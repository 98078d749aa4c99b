"""Targets that were set by hand."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from athletes.models import Gym
from sessions.circuits.freeze import definition_of
from sessions.circuits.read import with_stations
from sessions.models import Circuit, Pin, PlannedSession, Publication, PublishedSession


def standing_pins(session_keys: Iterable[UUID], athlete_ids: Iterable[int] | None = None) -> QuerySet[Pin]:
    """Pins of these sessions that were not taken off again."""
    pins = Pin.objects.filter(session_key__in=session_keys, taken_off_at__isnull=True)
    if athlete_ids is not None:
        pins = pins.filter(athlete_id__in=athlete_ids)
    return pins.select_related("movement", "made_by")


def live_session(key: UUID, day: date) -> PublishedSession | None:
    """The session with this key that everyone sees, unless its day was over before `day`."""
    live = PublishedSession.objects.filter(key=key, publication__state=Publication.State.LIVE, date__gte=day)
    return live.select_related("publication__week").order_by("date").first()


def session_definition(key: UUID, day: date, gym: Gym) -> tuple[str, date, dict] | None:
    """Name, date and definition of a session by its key: as everyone sees it, or as it is planned."""
    if session := live_session(key, day):
        return session.definition.name, session.date, session.definition
    planned = PlannedSession.objects.select_related("week", "circuit").filter(key=key).first()
    if planned is None:
        return None
    circuit = with_stations(Circuit.objects.all()).get(pk=planned.circuit_id)
    return circuit.name, planned.date, definition_of(circuit, headroom=gym.headroom)
