"""What a reading consists of: lines with what was understood of them, and what was not."""

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Offer:
    """Other words for a part of a line, from `start` to `end`; `label` says what they would mean."""

    start: int
    end: int
    text: str
    label: str


@dataclass(frozen=True, slots=True)
class Remark:
    """A part of a line that was not understood, or only by a guess, and what to do; `unread` counts as not read.

    `movement` is the name of a movement that the gym does not have, and could make.
    """

    start: int
    end: int
    says: str
    offers: tuple[Offer, ...] = ()
    unread: bool = True
    movement: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """Letters of a line, with how they are marked."""

    text: str
    mark: str = ""


@dataclass(slots=True)
class Line:
    """A line as it stands, the places of its stations from 0, what it was read as, and what is to be said of it."""

    text: str
    kind: str = "blank"  # blank, name, note, clock, station, unread
    stations: list[int] = field(default_factory=list)
    said: str = ""
    dose_kind: str = "repetitions"  # how the first station here is measured
    remarks: list[Remark] = field(default_factory=list)

    @property
    def parts(self) -> list[Part]:
        """The text in parts, those that have a remark marked."""
        parts, end = [], 0
        for remark in self.remarks:
            if remark.start < end:
                continue
            mark = "is-unread" if remark.unread else "is-guessed"
            parts += [Part(self.text[end : remark.start]), Part(self.text[remark.start : remark.end], mark)]
            end = remark.end
        return [part for part in [*parts, Part(self.text[end:])] if part.text]

    def unread(self) -> list[str]:
        """The words of this line that were not understood."""
        return [self.text[remark.start : remark.end] for remark in self.remarks if remark.unread]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text says: a circuit document, with movements by slug, and its lines."""

    document: dict[str, Any]
    lines: tuple[Line, ...]

    @property
    def unread(self) -> list[str]:
        """Whatever was not understood, in order."""
        return [words for line in self.lines for words in line.unread()]
