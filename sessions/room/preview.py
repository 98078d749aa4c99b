"""The room preview: how a circuit scales over everyone, before anything is published."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil
from statistics import median
from typing import Any

from athletes.estimates.people import People, load_people
from athletes.models import Athlete
from athletes.words import clock, number, percent
from sessions.circuits.definition import Definition, Movement
from sessions.room.accustomed import Answer, answers_about, sore_movements
from sessions.room.rows import RoomCell, RoomRow, room_rows
from sessions.room.stations import StationSummary, summary
from sessions.scaling.constants import LIMIT_BOUNDS_S
from sessions.scaling.order import Order, better_order
from sessions.scaling.preview import MINUTES, notes, room_curve
from sessions.scaling.targets import Reason
from sessions.targets.compute import scaled
from sessions.targets.history import History, load_history
from sessions.targets.occasion import Occasion
from sessions.weeks.machines import shortages
from sessions.words.cards import format_words

MOST_NAMES = 5  # in a note
THIRDS = ("strong", "middling", "weak")
MARKS = ("as-prescribed", "less", "swapped", "limited", "by-hand", "untested", "with-coach", "resting")


@dataclass(frozen=True)
class Expected:
    """What a third of the room may expect: how hard, what is left in the tank [%], and where most do another thing."""

    who: str
    rpe: str
    left: str
    less: tuple[int, ...] = ()
    swapped: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """12 % left, less at 2, swapped at 1 and 3."""
        parts = [f"{self.left} % left"] if self.left else []
        parts += [f"{what} at {_listed(at)}" for what, at in (("less", self.less), ("swapped", self.swapped)) if at]
        return ", ".join(parts)


@dataclass(frozen=True)
class RoomNote:
    """A sentence to the coach, and of whom it is, where it is of a few."""

    says: str
    people: tuple[Athlete, ...] = ()

    @property
    def named(self) -> tuple[Athlete, ...]:
        return self.people[:MOST_NAMES]

    @property
    def more(self) -> int:
        """How many are not named."""
        return max(len(self.people) - MOST_NAMES, 0)


@dataclass(frozen=True)
class Question:
    """Of whom nobody knows whether they are used to so much of a movement that makes sore."""

    movement: Movement
    most: float
    athletes: list[Athlete]

    @property
    def asked(self) -> str:
        """Ids of the athletes, as the form sends them."""
        return ",".join(str(athlete.pk) for athlete in self.athletes)

    @property
    def people(self) -> str:
        return counted(len(self.athletes))

    @property
    def words(self) -> str:
        return f"{self.movement.name}, {self.most:g} in all: nothing on record for {self.people}. Accustomed?"


@dataclass(frozen=True)
class Sum:
    """One line over the room's table: what is counted, and its figure at each station."""

    label: str
    values: list[str]
    figures: bool = True


@dataclass(frozen=True)
class RoomPreview:
    """Everyone's targets for a circuit on a day, and what stands out. `curve` are pairs of minutes and how many hold
    everything as prescribed for so long; `answers` what coaches said of who is accustomed to its movements."""

    rows: list[RoomRow]
    stations: list[StationSummary]
    shortages: list[str]
    notes: list[RoomNote]
    questions: list[Question]
    answers: list[Answer]
    curve: list[tuple[str, int]]
    expected: list[Expected]
    order: Order | None

    @property
    def more_notes(self) -> list[RoomNote]:
        return self.notes[1:]

    @property
    def order_numbers(self) -> list[int]:
        """The better order by the stations' numbers."""
        return [place + 1 for place in self.order.stations] if self.order else []

    @property
    def order_gain(self) -> str:
        """How much more it leaves in the tank [%]."""
        return number(self.order.gain * 100, 0) if self.order else ""

    @property
    def counts(self) -> dict[str, int]:
        """How many lines have each mark."""
        return Counter(mark for row in self.rows for mark in row.marks.split())

    @property
    def all_notes(self) -> list[str]:
        """Everything that a coach is told, a sentence each."""
        return [*(note.says for note in self.notes), *self.shortages, *(question.words for question in self.questions)]

    @property
    def swapped(self) -> bool:
        return any(station.swaps for station in self.stations)

    @property
    def sums(self) -> list[Sum]:
        """What stands over the table at each station."""
        stations = self.stations
        found = [Sum("as prescribed", [str(station.as_prescribed or "") for station in stations])]
        if any(station.loads for station in stations):
            loads = [", ".join(number(load) for load in station.loads) for station in stations]
            found.append(Sum("loads, kg", loads, figures=False))
        return [*found, Sum("fullest in all", [number(station.fullest, 0) for station in stations])]

    @property
    def tabs(self) -> list[tuple[str, str, int]]:
        """By what the lines can be picked: mark, words and how many; what nobody has is left out."""
        found = [("", "everyone", len(self.rows))]
        return found + [(mark, mark.replace("-", " "), self.counts[mark]) for mark in MARKS if self.counts[mark]]


def facts(definition: Definition, occasion: Occasion) -> str:
    """The circuit and its day in a line: 36 min, 6 rounds, hard day: about 10 % left in the tank."""
    left = f"about {percent(occasion.headroom(definition))}"
    day = f"{'hot day, ' if occasion.hot else ''}{occasion.intent} day: {left} left in the tank"
    if not definition.on_the_clock:
        return f"{format_words(definition).capitalize()} · {day}"
    minutes, rounds = number(definition.minutes), definition.rotations
    return f"{minutes} min, {rounds} round{'' if rounds == 1 else 's'} · {day}"


def _listed(numbers: tuple[int, ...]) -> str:
    """1, 2 and 4."""
    *first, last = map(str, numbers)
    return f"{', '.join(first)} and {last}" if first else last


def counted(people: int) -> str:
    return "1 person" if people == 1 else f"{people} people"


def room_preview(*, definition: Definition, occasion: Occasion, classes: int = 1) -> RoomPreview:
    """Targets of every active athlete; `classes` is how many class times share the room's people that day.

    Raises ValueError, in words for the coach, for a circuit that cannot be scaled. Twenty-eight queries at most,
    however many athletes there are.
    """
    people = load_people(list(Athlete.objects.filter(active=True).values_list("pk", flat=True)), definition.movements)
    if not people.athletes:
        return RoomPreview([], [], shortages(definition, 0), [], [], [], [], [], None)
    history = load_history(people.athletes)
    found = scaled(definition, people, history, occasion)
    rows = room_rows(definition, people, found, occasion)
    ladders = [[option.movement.name for option in station.options] for station in definition.stations]
    headroom = occasion.headroom(definition)
    doubt: dict[str, Any] = dict(people.taught.model)
    timed = definition.on_the_clock
    minutes = _curve_minutes(definition)
    timing: dict[str, Any] = {"headrooms": occasion.headrooms, **doubt}
    holds = room_curve(found.circuit, found.room, headroom, minutes, **timing).tolist() if minutes else []
    return RoomPreview(
        rows=rows,
        stations=[summary(station, rows, definition.interval_s) for station in definition.stations],
        shortages=shortages(definition, ceil(len(rows) / max(classes, 1))),
        notes=[
            RoomNote(note.says, tuple(people.athletes[row] for row in note.who))
            for note in notes(found.circuit, found.targets, ladders, headroom)
        ]
        if timed
        else [RoomNote(says) for says in _spread(definition, rows, people, history, occasion)],
        questions=_questions(definition, people, history, rows),
        answers=answers_about(sore_movements(definition)),
        curve=list(zip(map(number, minutes), holds, strict=True)),
        expected=_expected(rows) if timed else [],
        order=better_order(found.circuit, found.room, found.targets, hard=occasion.headrooms["hard"], **doubt)
        if timed
        else None,
    )


def _curve_minutes(definition: Definition) -> list[float]:
    """Of the room's curve: usual lengths, the nearest of them being that of the circuit.

    None of sets of a lift and of what is off the clock: they are not held for minutes.
    """
    [first, *more] = definition.stations
    if not definition.on_the_clock or (first.prescribed.loaded and not more):
        return []
    own = definition.minutes
    nearest = min(MINUTES, key=lambda minutes: abs(minutes - own))
    return sorted(own if minutes == nearest else minutes for minutes in MINUTES)


def _spread(
    definition: Definition, rows: list[RoomRow], people: People, history: History, occasion: Occasion
) -> list[str]:
    """Off the clock, what the room comes to: from the first to the last who do every station, and who meets the cap."""
    whole = [row.details[0].expected for row in rows if row.details[0].expected and row.details[0].expected[0]]
    all_of_it = [row.details[0].expected[0] for row in rows if row.does_all and row.details[0].expected]
    middle = sorted(time for time in all_of_it if time)
    if not middle:
        return []
    if definition.format == "as_many":
        first, last = (number(rounds, 1) for rounds in (middle[-1], middle[0]))
        return [f"Expected: {last} to {first} rounds."]
    limit_s = definition.limit_s or 0
    found = [
        f"Expected: the first done at {clock(middle[0], tenths=False)}, the last at {clock(middle[-1], tenths=False)}."
    ]
    cut = sum(any(detail.reason == Reason.TIME for detail in row.details) for row in rows if row.does_all)
    if 2 * cut > len(middle):
        strongest_s = _as_written_s(definition, people, history, occasion)
        if strongest_s > limit_s:
            minutes = number(ceil(strongest_s / 60), 0)
            found.insert(0, f"As written the strongest need about {minutes} min: raise the cap or take rounds off.")
    late = sum(expected[0] > limit_s for expected in whole)
    return [*found, f"{counted(late)} would not be done under the cap."] if late else found


def _as_written_s(definition: Definition, people: People, history: History, occasion: Occasion) -> float:
    """What the first of those who do every station need under the longest cap there is [s]."""
    free = scaled(replace(definition, limit_s=int(LIMIT_BOUNDS_S[1])), people, history, occasion).targets
    times = free.expected[(free.rung >= 0).all(-1), 0]
    return float(min((time for time in times.tolist() if time > 0), default=0.0))


def _expected(rows: list[RoomRow]) -> list[Expected]:
    """The thirds of the room by general fitness, the strongest first; everyone in one where all thirds are the same.

    Who works with a coach or rests is left out.
    """
    working = [row for row in rows if any(target.rung >= 0 for target in row.targets)]
    if len(working) < len(THIRDS):
        return []
    ranked = sorted(working, key=lambda row: -(row.fitness or 0.0))
    ends = [round(len(ranked) * part / len(THIRDS)) for part in range(len(THIRDS) + 1)]
    found = []
    for who, first, end in zip(THIRDS, ends, ends[1:], strict=False):
        third = ranked[first:end]
        rpe = [detail.expected_rpe for row in third for detail in row.details[:1] if detail.expected_rpe is not None]
        left = [row.left for row in third if row.left is not None]
        found.append(
            Expected(
                who,
                number(median(rpe), 0) if rpe else "",
                number(median(left) * 100, 0) if left else "",
                less=_most(third, lambda cell: not cell.card.swap and (cell.less or bool(cell.rounds))),
                swapped=_most(third, lambda cell: cell.card.swap),
            )
        )
    return [replace(found[0], who="all")] if len({replace(one, who="") for one in found}) == 1 else found


def _most(rows: list[RoomRow], holds: Callable[[RoomCell], bool]) -> tuple[int, ...]:
    """The stations, from 1, at which it holds for more than half of the rows."""
    stations = range(len(rows[0].cells))
    return tuple(s + 1 for s in stations if 2 * sum(holds(row.cells[s]) for row in rows) > len(rows))


def _questions(definition: Definition, people: People, history: History, rows: list[RoomRow]) -> list[Question]:
    """What a coach is asked about movements that make sore, where no record says who is used to them."""
    by_athlete = {row.athlete.pk: row for row in rows}
    asked: dict[int, list[Athlete]] = {}
    most: Counter[int] = Counter()
    movements: dict[int, Movement] = {}
    for place, athlete in enumerate(people.athletes):
        totals: Counter[int] = Counter()
        for target in by_athlete[athlete.pk].targets:
            movement = definition.option_of(target).movement
            if target.rung >= 0 and movement.high_eccentric and movement.introductory is not None:
                totals[movement.id] += target.dose * (target.rounds or 0)
                movements[movement.id] = movement
        for movement_id, total in totals.items():
            movement = movements[movement_id]
            if total > (movement.introductory or 0) and history.unanswered(place, movement):
                asked.setdefault(movement_id, []).append(athlete)
                most[movement_id] = max(most[movement_id], total)
    return [Question(movements[pk], float(most[pk]), athletes) for pk, athletes in asked.items()]
