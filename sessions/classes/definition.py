"""The parts of a class as they are frozen: what the hour holds, in order, readable without any other table."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

# In the order of an ordinary class. The part of kind "circuit" is the main one, of which a class has exactly one.
KINDS = {
    "briefing": "Briefing",
    "warm_up": "Warm-up",
    "skill": "Skill",
    "strength": "Strength",
    "circuit": "Circuit",
    "cool_down": "Cool-down",
}
MAIN = "circuit"


@dataclass(frozen=True, slots=True)
class ClassPart:
    """One part of a class: `minutes` of it, and its own `words`.

    `session` is the key of the published session with its circuit, that of the class itself in the main part, and empty
    where there are words alone; `circuit` is that circuit's name.
    """

    kind: str
    minutes: int
    words: str = ""
    session: str = ""
    circuit: str = ""

    @property
    def title(self) -> str:
        return KINDS[self.kind]

    @property
    def main(self) -> bool:
        return self.kind == MAIN

    @property
    def heading(self) -> str:
        """The kind, and what is done in it where it has a circuit: Strength: Five by five."""
        return f"{self.title}: {self.circuit}" if self.circuit else self.title


def read(kept: Iterable[dict[str, Any]]) -> tuple[ClassPart, ...]:
    """The parts in kept JSON; a class that was frozen before there were parts has none."""
    return tuple(ClassPart(**part) for part in kept)


def frozen(parts: Iterable[ClassPart]) -> list[dict[str, Any]]:
    """The parts as plain values for JSON; `read` gives them back."""
    return [asdict(part) for part in parts]
