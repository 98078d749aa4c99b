"""Text and circuits of this gym: `circuits.text` with the gym's own movements."""

from functools import lru_cache

from django.db.models import QuerySet

from athletes.models import Movement
from sessions.circuits.text.lines import Reading
from sessions.circuits.text.names import Known, Names
from sessions.circuits.text.reading import read
from sessions.circuits.text.writing import write


def known_names() -> Names:
    """The names of all movements that are offered, and of archived ones that a circuit has still. One query."""
    movements: QuerySet[Movement] = Movement.objects.order_by("archived", "name")
    wanted = movements.only("slug", "name", "other_names", "kind", "engine")
    return _names(tuple(Known(one.slug, one.name, one.kind, one.dose_kinds, one.also_called) for one in wanted))


def reading_of(text: str) -> Reading:
    """What a coach's text says, with the gym's movements."""
    return read(text, known_names())


def text_of(document: dict) -> str:
    """A circuit document as a coach would write it."""
    return write(document, known_names())


@lru_cache(maxsize=4)
def _names(known: tuple[Known, ...]) -> Names:
    return Names(known)
