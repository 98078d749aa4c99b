"""What the page of a circuit begins with, and what it shows when two people wrote at once."""

from dataclasses import dataclass
from datetime import timedelta
from difflib import SequenceMatcher
from typing import Any
from uuid import UUID

from django.urls import reverse

from athletes.gym.read import today
from sessions.circuits.document import document_of
from sessions.circuits.forms import INTENTS, PLANNED
from sessions.circuits.whiteboard import reading_of, text_of
from sessions.models import Circuit, CircuitDraft


@dataclass(frozen=True)
class Page:
    """A page of a circuit: its key, the text, the version that it began from, and the draft where it is one."""

    key: UUID
    text: str
    version: int | None = None
    draft: CircuitDraft | None = None
    tried: bool = False

    def day(self, circuit: Circuit | None) -> dict[str, Any]:
        """The days that can be chosen for the preview, the usual one first."""
        planned = circuit.planned.standing().select_related("week") if circuit else ()
        coming = any(session.date >= today() for session in planned)
        return {"intents": (PLANNED, *INTENTS) if coming else INTENTS}


def plan_page(circuit: Circuit) -> str:
    """Where a circuit is put on a day: the coming week, which begins on a Monday."""
    monday = today() + timedelta(days=7 - today().weekday())
    return f"{reverse('sessions:planned-create', args=[monday])}?circuit={circuit.pk}"


def text_now(circuit: Circuit) -> str:
    """A saved circuit as text: as it was typed, as long as that still says what is saved."""
    document = document_of(circuit)
    if circuit.text:
        typed = {"format": "every", "limit_s": None, **reading_of(circuit.text).document}
        if {**typed, "name": circuit.name} == {**typed, **document}:
            return circuit.text if typed["name"] else f"name: {circuit.name}\n{circuit.text}"
    return text_of(document)


def both(*, mine: str, kept: Circuit, key: UUID) -> dict[str, Any]:
    """Two versions of a circuit as they were written: each line with whether it stands in the other one too."""
    a, b = text_now(kept).splitlines(), mine.splitlines()
    same_a: set[int] = set()
    same_b: set[int] = set()
    for block in SequenceMatcher(None, a, b, autojunk=False).get_matching_blocks():
        same_a |= set(range(block.a, block.a + block.size))
        same_b |= set(range(block.b, block.b + block.size))
    return {
        "circuit": kept,
        "key": key,
        "mine": mine,
        "theirs_lines": [(line, place in same_a) for place, line in enumerate(a)],
        "mine_lines": [(line, place in same_b) for place, line in enumerate(b)],
    }
