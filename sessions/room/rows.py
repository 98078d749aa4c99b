"""The room line by line: everyone's cards, and what is less than written in them."""

from dataclasses import dataclass
from functools import cached_property

from athletes.estimates.people import People
from athletes.models import Athlete
from athletes.words import name_order, number
from sessions.circuits.definition import Definition
from sessions.models import Target
from sessions.targets.compute import Scaled, rows_of, target_of
from sessions.targets.detail import Detail, detail_of
from sessions.targets.occasion import Occasion
from sessions.words.cards import (
    Card,
    card_of,
    less_than_written,
    rung_mark,
)


@dataclass(frozen=True)
class RoomCell:
    """A card in the room's table: the letter of its swap, its load [kg] and its rounds, empty where as prescribed.

    `less` is under the foot of what is written: a range is a range.
    """

    card: Card
    mark: str
    load: str
    rounds: str
    less: bool

    @property
    def plain(self) -> bool:
        """Whether it is what the coach wrote."""
        card = self.card
        return not (card.swap or self.less or card.by_hand or self.rounds)


@dataclass(frozen=True)
class RoomRow:
    """One athlete of the room with a card per station."""

    athlete: Athlete
    cards: list[Card]
    targets: list[Target]
    details: list[Detail]
    untested: list[bool]
    less: list[bool]
    fitness: float = 0.0

    @cached_property
    def cells(self) -> list[RoomCell]:
        return [_cell(*values) for values in zip(self.cards, self.targets, self.less, strict=True)]

    @property
    def does_all(self) -> bool:
        """Whether there is work at every station."""
        return all(target.rung >= 0 for target in self.targets)

    @property
    def expected(self) -> str:
        """Off the clock: what the whole comes to."""
        return next((card.expected.removeprefix("expect ") for card in self.cards if card.expected), "")

    @property
    def as_prescribed(self) -> int | None:
        """The rounds in which this athlete could do everything as prescribed; None where a coach sets everything."""
        computed = [detail for card, detail in zip(self.cards, self.details, strict=True) if not card.with_coach]
        return computed[0].as_prescribed if computed else None

    @property
    def left(self) -> float | None:
        """What is left in the tank where least is, None where nothing is asked."""
        lefts = (t.headroom for t in self.targets if t.rung >= 0 and t.headroom is not None)
        return min((max(left, 0.0) for left in lefts), default=None)

    @property
    def left_per_cent(self) -> str:
        return "" if self.left is None else number(self.left * 100, 0)

    @property
    def never_tested(self) -> bool:
        return all(self.untested)

    @cached_property
    def marks(self) -> str:
        """What the rows of the table can be picked by."""
        found = {
            "as-prescribed": all(cell.plain and not cell.card.rest and not cell.card.with_coach for cell in self.cells),
            "less": any(cell.less or cell.rounds for cell in self.cells),
            "swapped": any(card.swap for card in self.cards),
            "limited": any(detail.cautioned for detail in self.details),
            "by-hand": any(card.by_hand for card in self.cards),
            "untested": any(detail.untested for detail in self.details),
            "with-coach": any(card.with_coach for card in self.cards),
            "resting": any(card.rest for card in self.cards),
        }
        return " ".join(mark for mark, holds in found.items() if holds)

    @property
    def note(self) -> str:
        """What stands at the end of the line: by hand, with coach, untested; empty where nothing is to be said."""
        marks = self.marks.split()
        return next((mark.replace("-", " ") for mark in ("with-coach", "by-hand") if mark in marks), "") or (
            "untested" if self.never_tested else ""
        )


def _cell(card: Card, target: Target, less: bool) -> RoomCell:
    working, rounds = target.rung >= 0, target.rounds or 0
    return RoomCell(
        card=card,
        mark=rung_mark(target.rung),
        load=number(target.load_kg) if working and target.load_kg else "",
        rounds=str(rounds) if card.rounds else "",
        less=less,
    )


def room_rows(definition: Definition, people: People, found: Scaled, occasion: Occasion) -> list[RoomRow]:
    targets: dict[int, list[Target]] = {athlete.pk: [] for athlete in people.athletes}
    for one in rows_of(found, definition, people, occasion):
        targets[one.athlete].append(target_of(one))
    prescribed = [station.prescribed.movement for station in definition.stations]
    rows = [
        RoomRow(
            athlete=athlete,
            cards=[card_of(definition, target) for target in targets[athlete.pk]],
            targets=targets[athlete.pk],
            details=[detail_of(target) for target in targets[athlete.pk]],
            less=[_less(definition, target) for target in targets[athlete.pk]],
            untested=[not people.tested(row, movement.engine, movement.id) for movement in prescribed],
            fitness=float(people.fitness[row]),
        )
        for row, athlete in enumerate(people.athletes)
    ]
    return sorted(rows, key=lambda row: (name_order(row.athlete.name), row.athlete.pk))


def _less(definition: Definition, target: Target) -> bool:
    detail, option = detail_of(target), definition.option_of(target)
    asked = less_than_written(option, target.dose, target.load_kg, detail.written)
    return target.rung >= 0 and not detail.by_hand and asked
