"""What a coach is told about a circuit before it is published, one sentence each, with what would mend it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import ability_of, ladder_of
from sessions.scaling.by_dose import day_headroom, rounds_as_prescribed, rounds_held
from sessions.scaling.by_rounds import fitting
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    COUPLING,
    ENGINE_MODEL_SD,
    HEADROOMS,
    LEAST_SHARE,
    REPETITIONS_MODEL_SD,
    REST,
    ROTATION_BOUNDS,
)
from sessions.scaling.doses import option_overlaps
from sessions.scaling.method import Method
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from sessions.scaling.targets import Reason, Targets

MINUTES = (15.0, 18.0, 21.0, 27.0, 36.0)  # of the room's curve
MOST_MINUTES = 90.0  # of a class (common practice)
MOST_OF_A_MOVEMENT = 200.0  # repetitions in a session (common practice)
# Two stations fight where so large a share of the room gives way at one of them for the other, and a circuit is too
# much where so many keep too little in the tank or get under half of a prescription somewhere (ours)
MANY = 0.25
TOO_LITTLE_LEFT = 0.06  # less than the headroom wanted
SAME_MUSCLES = 0.5  # common involvement from which two stations are said to share muscles
SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True)
class Note:
    """A sentence to the coach; `who` are the rows of those it is about, where it is about a few."""

    says: str
    who: tuple[int, ...] = ()


def notes(
    circuit: Circuit, targets: Targets, ladders: Sequence[Sequence[str]], headroom: float | None = None
) -> list[Note]:
    """Sentences to the coach about the `targets` of a room; `ladders` (S) names the movements of each station's rungs.

    `headroom` is that of the day, the circuit's own where it is None.
    """
    wanted = circuit.headroom if headroom is None else headroom
    names = [ladder[0] for ladder in ladders]
    return [
        *map(Note, _long(circuit)),
        *map(Note, _much(targets, circuit, ladders)),
        *_ladders_that_end(targets, names, quiet=wanted > HEADROOMS["steady"]),
        *map(Note, _fights(circuit, targets, names)),
        *map(Note, _too_much(targets, wanted)),
    ]


def room_curve(
    circuit: Circuit,
    room: Room,
    headroom: float | None = None,
    minutes: Sequence[float] = MINUTES,
    *,
    headrooms: Mapping[str, float] = HEADROOMS,
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> IntArray:
    """How many athletes of a room hold everything as prescribed for so many `minutes` (m,), in whole rounds, (m,).

    The keywords are those of `scale`.
    """
    method = Method(headrooms, engine_model_sd, repetitions_model_sd)
    rounds = np.maximum(np.round(SECONDS_PER_MINUTE * np.asarray(minutes) / circuit.rotation_s), 1.0).astype(np.int64)
    most = int(max(rounds.max(), ROTATION_BOUNDS[1]))
    holds = _rounds_each(circuit, room, circuit.headroom if headroom is None else headroom, method, most)
    return np.asarray((holds[:, None] >= rounds).sum(0), np.int64)


def _rounds_each(circuit: Circuit, room: Room, headroom: float, method: Method, most: int) -> IntArray:
    """The most rounds (n,), from 0 to `most`, that each athlete holds as prescribed."""
    ability = ability_of(circuit, room, method.engine_model_sd, method.repetitions_model_sd, method.hard)
    wanted = day_headroom(room, headroom, method)
    return rounds_as_prescribed(circuit, room, ladder_of(circuit), ability, wanted, most)


@dataclass(frozen=True, eq=False)
class AsWritten:
    """What doing all that is written asks of n athletes, each on the own form: the most `rounds` (n,) that each holds
    with what is wanted left in the tank, and `until` (n,) with nothing left; and what would be `left` (n,) after all
    rounds: below 0 it would end before, NaN where nothing is asked."""

    rounds: IntArray
    until: IntArray
    left: Array


def as_written(
    circuit: Circuit,
    room: Room,
    rung: IntArray,
    headroom: float | None = None,
    *,
    headrooms: Mapping[str, float] = HEADROOMS,
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> AsWritten:
    """`AsWritten` for everyone in a room at rungs (n, S), without any caution: it is about what can be held.

    The keywords are those of `scale`.
    """
    method = Method(headrooms, engine_model_sd, repetitions_model_sd)
    wanted = circuit.headroom if headroom is None else headroom
    ladder = ladder_of(circuit)
    ability = ability_of(circuit, room, engine_model_sd, repetitions_model_sd, method.hard)
    dose = fitting(ladder.at(rung), rung)
    rounds, until = (
        rounds_held(circuit, ladder, ability, rung, dose, day_headroom(room, level, method)) for level in (wanted, 0.0)
    )
    asked = replace(
        room, pinned_rung=rung, pinned_dose=dose, pinned_rounds=np.full(rung.shape, circuit.rotations, np.int64)
    )
    found = scale(
        replace(circuit, headroom=wanted),
        asked,
        headrooms=headrooms,
        engine_model_sd=engine_model_sd,
        repetitions_model_sd=repetitions_model_sd,
    )
    here = rung != REST
    left = np.where(here, found.headroom, np.inf).min(-1)
    return AsWritten(rounds, until, np.where(here.any(-1), left, np.nan))


def _long(circuit: Circuit) -> list[str]:
    minutes = circuit.duration_s / SECONDS_PER_MINUTE
    if minutes <= MOST_MINUTES:
        return []
    return [f"{minutes:g} minutes are more than a class: take fewer rounds."]


def _much(targets: Targets, circuit: Circuit, ladders: Sequence[Sequence[str]]) -> list[str]:
    """Of movements in repetitions: the most of each that anybody does, at all stations and on all rungs together."""
    totals: dict[str, Array] = {}
    done = targets.dose * targets.rounds
    for s, (names, station) in enumerate(zip(ladders, circuit.stations, strict=True)):
        for rung, (name, option) in enumerate(zip(names, station.options, strict=True)):
            if option.dose_kind in ("repetitions", "load_repetitions"):
                here = np.where(targets.rung[:, s] == rung, done[:, s], 0.0)
                totals[name] = totals.get(name, np.zeros(len(done))) + here
    fullest = {name: float(total.max(initial=0.0)) for name, total in totals.items()}
    return [
        f"{total:g} {name} in all for the fullest: take fewer repetitions or rounds."
        for name, total in fullest.items()
        if total > MOST_OF_A_MOVEMENT
    ]


def _ladders_that_end(targets: Targets, names: Sequence[str], quiet: bool) -> list[Note]:
    """Where a ladder has nothing for somebody, and little, which an easy day asks anyway: then it is `quiet`."""
    nothing = (targets.rung == REST) & (targets.reason == Reason.REST)
    computed = (targets.rung != REST) & ~np.isin(targets.reason, (Reason.BY_HAND, Reason.UNTESTED, Reason.NEWCOMER))
    little = computed & (targets.own_dose < np.minimum(targets.least, LEAST_SHARE * targets.written))
    found = []
    for s, name in enumerate(names):
        at_rest, short = _rows(nothing[:, s]), _rows(little[:, s])
        if at_rest:
            says = f"{name}: nothing on the ladder for {_people(len(at_rest))}; add something easier."
            found.append(Note(says, at_rest))
        if short and not quiet:
            says = f"{name}: under half of the dose for {_people(len(short))}; add an easier form."
            found.append(Note(says, short))
    return found


def _rows(here: BoolArray) -> tuple[int, ...]:
    return tuple(int(row) for row in np.flatnonzero(here))


def _fights(circuit: Circuit, targets: Targets, names: Sequence[str]) -> list[str]:
    stations = len(names)
    common = option_overlaps(circuit)[0][:, 0, :, 0]
    sentences = []
    for s in range(stations):
        for j in range(s + 1, stations):
            either = (targets.reason_station[:, s] == j) | (targets.reason_station[:, j] == s)
            together = int(either.sum())
            if together > MANY * len(either) and COUPLING * common[s, j] > 0:
                why = "use the same muscles" if common[s, j] >= SAME_MUSCLES else "take from the same strength"
                get = "gets" if together == 1 else "get"
                sentences.append(
                    f"{names[s]} and {names[j]} {why}, and {_people(together)} {get} less for it: "
                    "put something else between, or swap one."
                )
    return sentences


def _too_much(targets: Targets, headroom: float) -> list[str]:
    asked = (targets.rung != REST) & ~np.isin(targets.reason, (Reason.BY_HAND, Reason.UNTESTED, Reason.NEWCOMER))
    little_left = targets.headroom < headroom - TOO_LITTLE_LEFT
    halved = targets.dose < np.minimum(LEAST_SHARE * targets.written, LEAST_SHARE * targets.own_dose)
    many = int((asked & (little_left | halved)).any(-1).sum())
    if many <= MANY * len(asked):
        return []
    return [f"This is too much for {_people(many)}: take fewer rounds or a smaller dose."]


def _people(count: int) -> str:
    return "1 person" if count == 1 else f"{count} people"
