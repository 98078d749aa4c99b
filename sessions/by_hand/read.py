"""Targets that were set by hand."""

from datetime import date
from uuid import UUID

from athletes.models import Gym
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import definition_of, definition_on_day
from sessions.circuits.read import with_stations
from sessions.models import Circuit, Part, PlannedSession, PublishedSession


def live_session(key: UUID, day: date) -> PublishedSession | None:
    """The session with this key that everyone sees, unless its day was over before `day`."""
    live = PublishedSession.objects.live().filter(key=key, date__gte=day)
    return live.select_related("publication__week").order_by("date").first()


def session_definition(key: UUID, day: date, gym: Gym) -> tuple[str, date, Definition] | None:
    """Name, date and definition of a session by its key: as everyone sees it, or as it is planned."""
    if session := live_session(key, day):
        return session.definition.name, session.date, session.definition
    planned, circuit_id = planned_with(key)
    if planned is None:
        return None
    circuit = with_stations(Circuit.objects.all()).get(pk=circuit_id)
    own = circuit_id == planned.circuit_id
    definition = definition_on_day(circuit, planned) if own else definition_of(circuit)
    return circuit.name, planned.date, definition


def planned_with(key: UUID) -> tuple[PlannedSession | None, int | None]:
    """The planned session with this key, or with a part of this key that has a circuit of its own; and that circuit."""
    sessions = PlannedSession.objects.standing().select_related("week")
    if planned := sessions.filter(key=key).first():
        return planned, planned.circuit_id
    part = Part.objects.filter(key=key, session__isnull=False, circuit__isnull=False).first()
    planned = sessions.filter(pk=part.session_id).first() if part else None
    return (planned, part.circuit_id) if planned else (None, None)
