"""The parts of planned sessions and of templates, as they are written."""

from math import ceil

from django.db.models import Prefetch, QuerySet

from sessions.circuits.definition import Definition
from sessions.classes.definition import MAIN, ClassPart
from sessions.models import Part, PartTemplate, PlannedSession


def with_parts(sessions: QuerySet[PlannedSession]) -> QuerySet[PlannedSession]:
    """The same sessions with their parts in one further query, however many."""
    return sessions.prefetch_related(Prefetch("parts", Part.objects.select_related("circuit")))


def templates() -> QuerySet[PartTemplate]:
    """All templates with their parts, by name; two queries."""
    return PartTemplate.objects.prefetch_related("parts")


def class_parts(planned: PlannedSession, definitions: dict[int, Definition]) -> list[ClassPart]:
    """A planned session's parts as they would be frozen; `definitions` are those of the circuits in it, by id."""
    return [
        ClassPart(
            kind=part.kind,
            minutes=minutes_of(part, definitions.get(circuit or 0)),
            words=part.words,
            session=str(planned.key if part.kind == MAIN else part.key) if circuit else "",
            circuit=definitions[circuit].name if circuit else "",
        )
        for part in planned.parts.all()
        for circuit in [circuit_of(planned, part)]
    ]


def circuit_of(planned: PlannedSession, part: Part) -> int | None:
    """The id of a part's circuit; of the main part that is the session's own."""
    return planned.circuit_id if part.kind == MAIN else part.circuit_id


def minutes_of(part: Part, definition: Definition | None) -> int:
    """The minutes written, or else those of its circuit."""
    return part.minutes or minutes_for(definition.duration_s if definition else 0)


def minutes_for(seconds: float) -> int:
    """Whole minutes that a circuit takes in the hour."""
    return ceil(seconds / 60)
