"""Changes of one dose in a session that is live: a step easier or harder, or one down the swap ladder."""

from collections.abc import Sequence
from dataclasses import replace

from athletes.estimates.people import People
from sessions.circuits.definition import Definition, Option, Station
from sessions.models import Pin, Target
from sessions.scaling.constants import REST
from sessions.scaling.steps import easier, harder, step_of
from sessions.targets.compute import Computed, compute
from sessions.targets.history import History
from sessions.targets.occasion import Occasion, pinned_rung

EASIER, HARDER = "easier", "harder"
AT_REST = (REST, 0.0, None)  # rung, dose, load
MOST_TIMES = 3.0  # the prescription: beyond it a number set by hand is taken for a slip (ours)


def next_rung(
    definition: Definition, targets: list[Target], station: int, people: People, history: History, occasion: Occasion
) -> tuple[int, float, float | None]:
    """(rung, dose, load [kg]) below the one at which an athlete stands at `station`; (−1, 0, None) at the end: rest.

    `targets` are all of that athlete's in the session, `people` holds that athlete alone. Every other station counts as
    it stands. What is forbidden, or leaves too little to be useful, is passed over as the method does everywhere, and
    so is a rung that would ask for the very same movement and load.
    """
    ladder = definition.stations[station - 1].options
    place = next(target for target in targets if target.station == station)
    others = as_they_stand(occasion, definition, [t for t in targets if t is not place])
    first = place.rung + 1 if place.rung >= 0 else len(ladder)
    while first < len(ladder):
        cut = replace(definition, stations=_cut(definition.stations, station, first))
        found = list(compute(cut, people, history, others))[station - 1]  # of one athlete
        if found.rung < 0:
            break
        rung = first + found.rung
        own = Pin(movement_id=ladder[rung].movement.id, dose=found.dose, load_kg=found.load_kg)
        if pinned_rung(definition.stations[station - 1], own) == rung and _asks_for_less(place, ladder, rung, found):
            return rung, own.dose, own.load_kg
        first = rung + 1
    return AT_REST


def _asks_for_less(place: Target, ladder: tuple[Option, ...], rung: int, found: Computed) -> bool:
    """Whether a lower rung is no heavier load of what is done already."""
    if place.rung < 0 or not place.load_kg or not found.load_kg:
        return True
    return ladder[rung].movement.id != ladder[place.rung].movement.id or found.load_kg < place.load_kg


def as_it_stands(definition: Definition, target: Target) -> Pin:
    """A target as a pin that keeps it."""
    if target.rung < 0 or not target.dose:
        return Pin(dose=0)
    option = definition.stations[target.station - 1].options[target.rung]
    return Pin(movement_id=option.movement.id, dose=target.dose, load_kg=target.load_kg)


def as_they_stand(occasion: Occasion, definition: Definition, targets: Sequence[Target]) -> Occasion:
    """An occasion on which these targets stay as they are."""
    pins = {(t.athlete_id, t.station): as_it_stands(definition, t) for t in targets}
    rounds = {(t.athlete_id, t.station): t.rounds for t in targets if t.rounds}
    return replace(occasion, pins=pins, rounds=rounds)


def _cut(stations: tuple[Station, ...], station: int, first: int) -> tuple[Station, ...]:
    """The stations with one ladder beginning at a lower rung."""
    here = stations[station - 1]
    return tuple(replace(s, options=s.options[first:]) if s is here else s for s in stations)


def stepped(option: Option, dose: float, act: str) -> float:
    """The dose after `EASIER` or `HARDER` at an option of a definition; the same dose where it goes no further."""
    step = step_of(option.dose_kind, dose)
    return float(easier(dose, step) if act == EASIER else harder(dose, step, MOST_TIMES * option.dose))
