"""Targets that were set by hand."""

from datetime import date
from uuid import UUID

from athletes.models import Gym
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import definition_of
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession, PublishedSession


def live_session(key: UUID, day: date) -> PublishedSession | None:
    """The session with this key that everyone sees, unless its day was over before `day`."""
    live = PublishedSession.objects.live().filter(key=key, date__gte=day)
    return live.select_related("publication__week").order_by("date").first()


def session_definition(key: UUID, day: date, gym: Gym) -> tuple[str, date, Definition] | None:
    """Name, date and definition of a session by its key: as everyone sees it, or as it is planned."""
    if session := live_session(key, day):
        return session.definition.name, session.date, session.definition
    planned = PlannedSession.objects.standing().select_related("week", "circuit").filter(key=key).first()
    if planned is None:
        return None
    circuit = with_stations(Circuit.objects.all()).get(pk=planned.circuit_id)
    return circuit.name, planned.date, definition_of(circuit)
