"""People as the scaling method reads them: what they can do, may do and are set to do at every rung of a circuit."""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from athletes.estimates.people import People
from sessions.circuits.definition import Definition, Option
from sessions.scaling.cautions import most_per_round, ramp_factor, ramp_week
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import UNTESTED_SHARE
from sessions.scaling.loads import load_for, most_repetitions
from sessions.scaling.room import NO_PIN, Room
from sessions.targets.history import History
from sessions.targets.occasion import Occasion, allowed_rung

COUNTED = ("repetitions", "load_repetitions")  # dose kinds that the exposure guard counts


@dataclass(frozen=True, eq=False)
class Meeting:
    """A `Room`, the load [kg] of every athlete at every rung, (n, S, L), NaN where there is none, and everyone's week
    of the return after a break, (n,), 0 outside it.
    """

    room: Room
    load_kg: np.ndarray
    weeks_back: np.ndarray


def meeting_of(
    definition: Definition, circuit: Circuit, people: People, history: History, occasion: Occasion
) -> Meeting:
    """What these people can, may and are set to do at each rung of each station."""
    shape = (len(people), len(circuit.stations), max(len(station.options) for station in circuit.stations))
    mean, sd, load = (np.full(shape, np.nan) for _ in range(3))
    allowed, share, most = np.zeros(shape, bool), np.ones(shape), np.full(shape, np.inf)
    pinned_at, pinned_dose, pinned_load = _pinned(definition, people, occasion, shape[:2])
    at_stations = _stations_by_movement(definition)
    for s, rung, option in _options(definition):
        movement, cell = option.movement, (slice(None), s, rung)
        allowed[cell] = people.allowed(occasion.day, movement.id, movement.involvement)
        share[cell] = np.where(known(option, people), 1.0, UNTESTED_SHARE)
        if option.dose_kind in COUNTED:
            total = history.most_in_session(occasion.day, movement)
            most[cell] = most_per_round(total, circuit.rotations * at_stations[movement.id])
        if movement.engine:
            continue
        mean[cell], sd[cell] = people.movement(movement.id, movement.typical_best, movement.typical_spread)
        if option.load_kg is not None:
            own = _loads(option, circuit, mean[cell], sd[cell], occasion)
            own = np.where((pinned_at[:, s] == rung) & ~np.isnan(pinned_load[:, s]), pinned_load[:, s], own)
            allowed[cell] &= ~np.isnan(own) | (pinned_at[:, s] == rung)
            load[cell] = np.where(np.isnan(own), option.load_kg, own)
            mean[cell], sd[cell] = most_repetitions(mean[cell], sd[cell], load[cell])
    since = history.days_since_return(occasion.day)
    room = Room(
        people.engine_mean,
        people.engine_cov,
        mean,
        sd,
        allowed,
        share,
        most_dose=most,
        ramp=ramp_factor(since),
        pinned_rung=pinned_at,
        pinned_dose=pinned_dose,
    )
    return Meeting(room, load, ramp_week(since))


def efforts_behind(option: Option, people: People) -> dict[int, list[int]]:
    """Ids of the efforts behind everyone's number at this option, by row."""
    movement = option.movement
    if movement.engine:
        return people.engine_efforts[movement.engine]
    return people.movement_efforts.get(movement.id, {})


def known(option: Option, people: People) -> np.ndarray:
    """Who has any effort behind their number at this option, (n,) of bool."""
    found = np.zeros(len(people), bool)
    found[[row for row, efforts in efforts_behind(option, people).items() if efforts]] = True
    return found


def _loads(
    option: Option, circuit: Circuit, log_mean: np.ndarray, log_sd: np.ndarray, occasion: Occasion
) -> np.ndarray:
    """Everyone's load [kg] at a loaded option, (n,); NaN where even the lightest that the gym owns is too heavy."""
    return load_for(
        option.load_kg,
        max(1.0, np.floor(option.dose)),
        log_mean,
        log_sd,
        option.movement.rack,
        rotations=circuit.rotations,
        rotation_s=circuit.rotation_s,
        headroom=circuit.headroom,
        intent=occasion.intent,
        quantile=1.0 - occasion.caution,
    )


def _pinned(definition: Definition, people: People, occasion: Occasion, shape: tuple[int, int]):
    """Rungs, doses and loads that were set by hand, (n, S) each; a pin that fits no rung any more is left out."""
    rung, dose, load = np.full(shape, NO_PIN), np.zeros(shape), np.full(shape, np.nan)
    for row, athlete in enumerate(people.athletes):
        for s, station in enumerate(definition.stations):
            pin = occasion.pins.get((athlete.pk, s + 1))
            found = pin and allowed_rung(station, pin, people.restrictions.get(row, ()), occasion.day)
            if found is not None:
                rung[row, s], dose[row, s] = found, pin.dose
                load[row, s] = np.nan if pin.load_kg is None else pin.load_kg
    return rung, dose, load


def _stations_by_movement(definition: Definition) -> Counter:
    """At how many stations each movement may be done, so that a limit for the session holds for all of them."""
    return Counter(
        movement for station in definition.stations for movement in {o.movement.id for o in station.options}
    )


def _options(definition: Definition):
    for s, station in enumerate(definition.stations):
        for rung, option in enumerate(station.options):
            yield s, rung, option
