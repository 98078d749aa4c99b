"""A build before it starts: how the room holds each step, and what will be left in the tank."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from athletes.capacity.arrays import Array, BoolArray
from athletes.estimates.people import load_people
from athletes.models import Athlete, Gym
from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import varied
from sessions.models import Grows
from sessions.scaling.constants import REST
from sessions.scaling.preview import AsWritten, as_written
from sessions.targets.compute import circuit_of, scaled
from sessions.targets.history import load_history
from sessions.weeks.days import occasion_on

ENOUGH = 0.6  # of the room who should hold a step; below it something shorter is named (ours)
LITTLE = 0.06  # less than what is wanted left, from which a bar is marked
GROUPS = {"strong": 90, "middling": 50, "weak": 10}  # of what is left, in hundredths of the room


@dataclass(frozen=True)
class Left:
    """What a part of the room has left in the tank [%] as prescribed; below nought it ends in round `ends`."""

    group: str
    percent: int
    little: bool
    ends: int | None

    @property
    def bar(self) -> int:
        """Its length, up to a hundred."""
        return max(0, min(self.percent, 100))


@dataclass(frozen=True)
class Step:
    """One time of a build: `value` as it is written in the build, `holds` of `people` hold all that is written for
    their form."""

    place: int
    day: date
    value: int
    eased: bool
    definition: Definition
    people: int
    holds: int
    swapped: int  # of those who hold it, on a form of their own
    left: tuple[Left, ...]
    advice: str
    fits: int | None  # rounds that more people hold, where that is the advice

    @property
    def minutes(self) -> str:
        return number(self.definition.minutes)

    @property
    def too_much(self) -> bool:
        return self.advice != "fits"

    @property
    def monday(self) -> date:
        return self.day - timedelta(days=self.day.weekday())

    @property
    def share(self) -> int:
        return round(100 * self.holds / self.people) if self.people else 0


@dataclass(frozen=True)
class Outlook:
    steps: list[Step]
    wanted: int  # left in the tank [%]

    @property
    def longest(self) -> float:
        """Minutes that the height of the picture stands for: an hour at least."""
        return max([60.0, *(step.definition.minutes for step in self.steps)])


def on_day(definition: Definition, grows: str, value: int) -> Definition:
    """The circuit with one step of a build."""
    if grows == Grows.ROUNDS:
        return varied(definition, rotations=value)
    if grows == Grows.DOSE:
        return varied(definition, dose_percent=value)
    return varied(definition, interval_s=value) if grows == Grows.REST else definition


def at_the_foot(definition: Definition) -> Definition:
    """The circuit with every range at its foot: whoever holds that does it as prescribed."""
    stations = tuple(
        replace(station, options=(replace(first, dose=first.least_dose or first.dose), *station.options[1:]))
        for station in definition.stations
        for first in station.options[:1]
    )
    return replace(definition, stations=stations)


def outlook(
    definition: Definition, grows: str, days: list[date], steps: list[int], eased: list[int], intent: str, gym: Gym
) -> Outlook:
    """Every step over everyone who takes part, as they are known today. Twenty-eight queries, however many they are.

    Raises ValueError, in words for the coach, for a step that cannot be scaled.
    """
    ids = list(Athlete.objects.filter(active=True).values_list("pk", flat=True))
    people = load_people(ids, definition.movements)
    occasion = occasion_on(days[0], gym, definition, intent)
    wanted = occasion.headroom(definition)
    room, rung = None, np.zeros((0, 0), np.int64)
    if ids:
        # Forms and loads of the first time stand for all of them: something lighter later would not be as written
        first = at_the_foot(on_day(definition, grows, steps[0]))
        found = scaled(first, people, load_history(people.athletes), occasion)
        theirs = ~found.room.no_target & (found.targets.rung != REST).any(-1)
        room, rung = found.room.take(theirs), found.targets.rung[theirs]
    swapped = (rung > 0).any(-1)
    drawn = []
    for place, (day, value) in enumerate(zip(days, steps, strict=True)):
        on = on_day(definition, grows, value)
        asked = AsWritten(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))
        if room:
            circuit = circuit_of(at_the_foot(on), occasion.headroom(definition))
            asked = as_written(circuit, room, rung, headrooms=occasion.headrooms, **people.taught.model)
        drawn.append(_step(place, day, value, place in eased, on, grows, asked, swapped, wanted, gym.class_minutes))
    return Outlook(drawn, round(100 * wanted))


def _step(
    place: int,
    day: date,
    value: int,
    eased: bool,
    definition: Definition,
    grows: str,
    asked: AsWritten,
    swapped: BoolArray,
    wanted: float,
    class_minutes: int,
) -> Step:
    people, holding = len(asked.rounds), asked.rounds >= definition.rotations
    holds = int(holding.sum())
    fits, advice = None, "fits"
    if definition.minutes > class_minutes:
        advice = f"longer than a class of {class_minutes} min"
    elif people and holds < ENOUGH * people:
        advice = f"too much for {people - holds}"
        if grows == Grows.ROUNDS:
            fits = next((r for r in range(value - 1, 0, -1) if (asked.rounds >= r).sum() >= ENOUGH * people), None)
            if not fits:
                advice += ": a smaller dose, or an easier form"
            else:
                shorter = number(varied(definition, rotations=fits).minutes)
                advice += f". {shorter} min: {int((asked.rounds >= fits).sum())} hold it"
    return Step(
        place=place,
        day=day,
        value=value,
        eased=eased,
        definition=definition,
        people=people,
        holds=holds,
        swapped=int((holding & swapped).sum()) if people else 0,
        left=tuple(_left(group, at, asked.until, asked.left, wanted) for group, at in GROUPS.items()) if people else (),
        advice=advice,
        fits=fits,
    )


def _left(group: str, at: int, until: Array, left: Array, wanted: float) -> Left:
    """Of the athlete who stands at this place of the room."""
    order = np.argsort(left)
    who = order[round(at / 100 * (len(order) - 1))]
    share = float(left[who])
    ends = int(until[who]) + 1 if share <= 0 else None
    return Left(group, round(100 * share), share < wanted - LITTLE, ends)
