"""A build before it starts: how the room holds each step, and what will be left in the tank."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from athletes.capacity.arrays import Array
from athletes.estimates.people import load_people
from athletes.models import Athlete, Gym
from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import varied
from sessions.models import Grows
from sessions.scaling.preview import as_prescribed
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
    """One time of a build: `value` as it is written in the build, `holds` of `people` hold it as prescribed."""

    place: int
    day: date
    value: int
    eased: bool
    definition: Definition
    people: int
    holds: int
    left: tuple[Left, ...]
    advice: str
    fits: int | None  # rounds that more people hold, where that is the advice

    @property
    def minutes(self) -> str:
        return number(self.definition.minutes)

    @property
    def height(self) -> int:
        return round(self.definition.minutes)

    @property
    def too_much(self) -> bool:
        return self.people > 0 and self.holds < ENOUGH * self.people

    @property
    def share(self) -> int:
        return round(100 * self.holds / self.people) if self.people else 0


@dataclass(frozen=True)
class Outlook:
    steps: list[Step]
    wanted: int  # left in the tank [%]


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
    room = None
    if ids:
        # The loads of the first time stand for all of them: a lighter one later would not be as prescribed
        first = at_the_foot(on_day(definition, grows, steps[0]))
        room = scaled(first, people, load_history(people.athletes), occasion).room
    found = []
    for place, (day, value) in enumerate(zip(days, steps, strict=True)):
        on = on_day(definition, grows, value)
        rounds, until, left = np.zeros(0), np.zeros(0), np.zeros(0)
        if room:
            circuit = circuit_of(at_the_foot(on), occasion.headroom(definition))
            asked = as_prescribed(circuit, room, headrooms=occasion.headrooms, **people.taught.model)
            theirs = ~np.isnan(asked.left)
            columns = (np.where(theirs, asked.rounds, 0), asked.until, asked.left)
            rounds, until, left = (column[~room.no_target] for column in columns)
        eases = place in eased
        found.append(_step(place, day, value, eases, on, grows, rounds, until, left, occasion.headroom(definition)))
    return Outlook(found, round(100 * occasion.headroom(definition)))


def _step(
    place: int,
    day: date,
    value: int,
    eased: bool,
    definition: Definition,
    grows: str,
    rounds: Array,
    until: Array,
    left: Array,
    wanted: float,
) -> Step:
    people, holds = len(rounds), int((rounds >= definition.rotations).sum())
    fits, advice = None, "fits"
    if people and holds < ENOUGH * people:
        advice = f"too much for {people - holds}"
        if grows == Grows.ROUNDS:
            fits = next((r for r in range(value - 1, 0, -1) if (rounds >= r).sum() >= ENOUGH * people), None)
            if not fits:
                advice += ": a smaller dose, or an easier form"
            else:
                shorter = number(varied(definition, rotations=fits).minutes)
                advice += f". {shorter} min: {int((rounds >= fits).sum())} hold it"
    return Step(
        place=place,
        day=day,
        value=value,
        eased=eased,
        definition=definition,
        people=people,
        holds=holds,
        left=tuple(_left(group, at, until, left, wanted) for group, at in GROUPS.items())
        if np.isfinite(left).any()
        else (),
        advice=advice,
        fits=fits,
    )


def _left(group: str, at: int, until: Array, left: Array, wanted: float) -> Left:
    """Of the athlete who stands at this place of the room."""
    order = np.argsort(left)[: np.count_nonzero(~np.isnan(left))]  # those for whom it is not come last
    who = order[round(at / 100 * (len(order) - 1))]
    share = float(left[who])
    ends = int(until[who]) + 1 if share <= 0 else None
    return Left(group, round(100 * share), share < wanted - LITTLE, ends)
