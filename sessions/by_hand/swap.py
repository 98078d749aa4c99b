"""One step down a swap ladder for one athlete in a session that is live: what the method gives there."""

from dataclasses import replace

from athletes.estimates.people import People
from sessions.circuits.definition import Definition, Station
from sessions.models import Pin, Target
from sessions.scaling.constants import REST
from sessions.targets.history import History
from sessions.targets.occasion import Occasion, pinned_rung
from sessions.targets.rows import TARGET_FIELDS, target_values

NAMES = TARGET_FIELDS[3:]


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
    others = {(t.athlete_id, t.station): as_it_stands(definition, t) for t in targets if t is not place}
    first = place.rung + 1 if place.rung >= 0 else len(ladder)
    while first < len(ladder):
        cut = replace(definition, stations=_cut(definition.stations, station, first))
        given = list(target_values(cut, people, history, replace(occasion, pins=others)))
        found = dict(zip(NAMES, given[station - 1][1:], strict=True))  # one athlete: a row for each station
        if found["rung"] < 0:
            break
        rung = first + found["rung"]
        own = Pin(movement_id=ladder[rung].movement.id, dose=found["dose"], load_kg=found["load_kg"])
        if pinned_rung(definition.stations[station - 1], own) == rung:
            return rung, own.dose, own.load_kg
        first = rung + 1
    return REST, 0.0, None


def as_it_stands(definition: Definition, target: Target) -> Pin:
    """A target as a pin that keeps it."""
    if target.rung < 0 or not target.dose:
        return Pin(dose=0)
    option = definition.stations[target.station - 1].options[target.rung]
    return Pin(movement_id=option.movement.id, dose=target.dose, load_kg=target.load_kg)


def _cut(stations: tuple[Station, ...], station: int, first: int) -> list[dict]:
    """The stations with one ladder beginning at a lower rung."""
    here = stations[station - 1]
    return tuple(replace(s, options=s.options[first:]) if s is here else s for s in stations)
