"""Scaling by rounds: the doses are kept, and rounds give way."""

from dataclasses import dataclass, fields, replace
from math import ceil

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import Ladder, ability_of, ladder_of
from sessions.scaling.by_dose import Settled, by_dose, day_headroom, dose_share, rounds_by_hand, rounds_held, targets_of
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    NO_PIN,
    REST,
    ROUNDING_SLACK,
)
from sessions.scaling.doses import Doses, as_near_prescription
from sessions.scaling.method import Method
from sessions.scaling.room import Room
from sessions.scaling.rungs import Rungs, choose_rungs
from sessions.scaling.steps import step_below
from sessions.scaling.targets import Reason, Swap, Targets


@dataclass(frozen=True, eq=False)
class Kept:
    """Doses that are kept while rounds give way: rungs and doses (n, S), as written but for what does not fit, and the
    most `rounds` (n,) in which all of them can be done, on the day and on a hard one."""

    rungs: Rungs
    dose: Array
    rounds: IntArray
    hard_rounds: IntArray


def by_rounds(circuit: Circuit, room: Room, headroom: float, method: Method) -> Targets:
    """`Targets` of a valid room in which the doses are kept and people stop earlier, after half of the rounds at least.

    Who holds them for fewer than half is scaled by dose for half, and so is a first time. Other cautions go by dose.
    No beginner goes on for longer than the others: for half of the rounds at most. An easier day asks for no harder
    movement, no larger dose and no more rounds.
    """
    most, half = circuit.rotations, ceil(circuit.rotations / 2)
    usual = by_dose(circuit, room, headroom, method)
    kept = kept_doses(circuit, room, headroom, method, half)
    # What is not as written by the usual way gives up a round at least
    whole = ((usual.rung == kept.rungs.rung) & (usual.dose >= kept.dose) | room.pinned).all(-1)
    holds = np.minimum(kept.rounds, np.where(whole, most, most - 1))
    most_dose = np.where(usual.rung == kept.rungs.rung, kept.dose, np.inf)
    harder = [level for level in method.levels(headroom) if method.hard <= level < headroom]
    if harder:
        then = by_rounds(circuit, room, harder[-1], method)
        holds = np.minimum(holds, np.where((then.rung != REST).any(-1), then.rounds.max(-1), most))
        most_dose = np.where((usual.rung == then.rung) & (then.dose > 0), np.minimum(most_dose, then.dose), most_dose)
    careful = careful_by_rounds(circuit, room, kept)
    first_time = (room.week == 0) & first_times(room, kept.rungs.rung)
    keeps = ~careful & (holds >= half) & (holds < most)
    halves = ~careful & (holds < half) | careful & first_time
    result = usual
    if halves.any():
        rungs = Rungs(usual.rung[halves], usual.swap[halves])
        fewer = by_dose(
            replace(circuit, rotations=half),
            room.take(halves),
            headroom,
            method,
            real_rounds=most,
            rungs=rungs,
            most_dose=most_dose[halves],
        )
        result = _put(result, halves, replace(fewer, rounds_as_prescribed=usual.rounds_as_prescribed[halves]))
    if keeps.any():
        rungs = Rungs(kept.rungs.rung[keeps], kept.rungs.swap[keeps])
        part = Kept(rungs, kept.dose[keeps], holds[keeps], kept.hard_rounds[keeps])
        as_written = ((rungs.rung == 0) & (part.dose >= ladder_of(circuit).at(rungs.rung).dose)).all(-1)
        prescribed = np.where(as_written, holds[keeps], usual.rounds_as_prescribed[keeps])
        result = _put(result, keeps, in_fewer_rounds(circuit, room.take(keeps), part, prescribed, headroom, method))
    beginner = (room.week > 0)[:, None] & ~room.pinned
    rounds = np.where(beginner, np.minimum(result.rounds, half), result.rounds)
    if harder:
        sore = ladder_of(circuit).at(result.rung).makes_sore & (result.dose * rounds <= then.dose * then.rounds)
        no_longer = (result.rung == then.rung) & ~sore & ~room.pinned
        rounds = np.where(no_longer, np.minimum(rounds, then.rounds), rounds)
    return replace(result, rounds=rounds, open_last=result.open_last & (rounds == most))


def careful_by_rounds(circuit: Circuit, room: Room, kept: Kept) -> BoolArray:
    """Who (n,) is scaled by dose all the same: newcomers, a first time, more of what makes sore than is accustomed.

    The same on every day: looked at as on a hard one.
    """
    rounds = np.minimum(np.maximum(kept.hard_rounds, kept.rounds), circuit.rotations)
    rung = kept.rungs.rung
    here = (rung != REST) & ~room.pinned
    careful = (room.week > 0) | first_times(room, rung)
    if room.most_in_session is not None:
        limit = np.take_along_axis(room.most_in_session, np.maximum(rung, 0)[..., None], 2)[..., 0]
        sore = ladder_of(circuit).at(rung).makes_sore & here
        careful |= (sore & (kept.dose * rounds[:, None] > limit * (1.0 + ROUNDING_SLACK))).any(-1)
    return np.asarray(careful if room.no_target is None else careful | room.no_target, bool)


def first_times(room: Room, rung: IntArray) -> BoolArray:
    """Who (n,) does something for the first time that nobody set by hand."""
    found: BoolArray = ((dose_share(room, rung) < 1.0) & (rung != REST) & ~room.pinned).any(-1)
    return found


def kept_doses(circuit: Circuit, room: Room, headroom: float, method: Method, half: int) -> Kept:
    """The doses that each athlete keeps: of the prescription, where they are held for `half` of the rounds, else of the
    rungs on which the athlete is without it; and where one station alone ends it before, what is held there for half.

    All that as on a hard day; on an easier one rounds go first, and then again what one station alone cannot hold. A
    dose set by hand takes from the others, and adds no rounds: without it they would be no more.
    """
    ladder = ladder_of(circuit)
    ability = ability_of(circuit, room, method.engine_model_sd, method.repetitions_model_sd, method.hard)
    own = choose_rungs(ladder, ability, without_pins(room), circuit.rotations, method.hard)
    # Who would do little of it in all rounds may do it as written in fewer; a first time is no day to try
    may = (own.swap == Swap.TOO_LITTLE) & ~room.flags("untested")[..., 0] & (ladder.most_by_time >= ladder.dose)[:, 0]
    tried = Rungs(np.where(may, 0, own.rung), np.where(may, Swap.NONE, own.swap))

    def held(rung: IntArray, dose: Array, level: float) -> IntArray:
        day = day_headroom(room, level, method)
        rounds = rounds_held(circuit, ladder, ability, rung, dose, day)
        if not room.pinned.any():
            return rounds
        rung, dose = _by_hand(room, rung, dose)
        return np.minimum(rounds, rounds_held(circuit, ladder, ability, rung, dose, day, counts=~room.pinned))

    def eased(rung: IntArray, dose: Array, level: float) -> Array:
        """What each station alone holds for half of the rounds."""
        numbers, rounds = ladder.at(rung), np.full(rung.shape, float(half))
        alone = numbers.dose_of(ability.at(rung).own(rounds, day_headroom(room, level, method)))
        below = np.minimum(np.maximum(step_below(alone, numbers.is_metres, numbers.step), numbers.step), dose)
        return np.where(rung == REST, 0.0, np.where(as_near_prescription(numbers, alone) >= dose, dose, below))

    found = []
    for rungs in (tried, own):
        dose = fitting(ladder.at(rungs.rung), rungs.rung)
        found.append((rungs, dose, held(rungs.rung, dose, method.hard)))
    dose = eased(own.rung, found[1][1], method.hard)
    found.append((own, dose, held(own.rung, dose, method.hard)))
    best = Kept(*found[2], found[2][2])
    for other in (found[1], found[0]):
        best = _better(other[2] >= half, Kept(*other, other[2]), best)
    rung, dose, rounds = best.rungs.rung, best.dose, best.hard_rounds
    if headroom < method.hard:
        rounds = held(rung, dose, headroom)
    for level in method.levels(headroom):
        if level > method.hard:
            now = held(rung, dose, level)
            dose = np.where((now < half)[:, None], eased(rung, dose, level), dose)
            rounds = np.minimum(rounds, held(rung, dose, level))
    rung, dose = _by_hand(room, rung, dose)
    return Kept(Rungs(rung, np.where(room.pinned, Swap.NONE, best.rungs.swap)), dose, rounds, best.hard_rounds)


def fitting(numbers: Ladder, rung: IntArray) -> Array:
    """The written dose (n, S) at these rungs, or what of it time has room for."""
    by_time = np.minimum(step_below(numbers.most_by_time, numbers.is_metres, numbers.step), numbers.most_by_time)
    dose = np.where(numbers.most_by_time >= numbers.dose, numbers.dose, by_time)
    return np.where(rung == REST, 0.0, dose)


def _by_hand(room: Room, rung: IntArray, dose: Array) -> tuple[IntArray, Array]:
    """Rungs and doses (n, S) with those that were set by hand."""
    if room.pinned_rung is None or room.pinned_dose is None:
        return rung, dose
    return np.where(room.pinned, room.pinned_rung, rung), np.where(room.pinned, room.pinned_dose, dose)


def _better(where: BoolArray, one: Kept, other: Kept) -> Kept:
    """One where it is (n,), else the other."""
    at = where[:, None]
    rungs = Rungs(np.where(at, one.rungs.rung, other.rungs.rung), np.where(at, one.rungs.swap, other.rungs.swap))
    rounds = np.where(where, one.rounds, other.rounds)
    return Kept(rungs, np.where(at, one.dose, other.dose), rounds, np.where(where, one.hard_rounds, other.hard_rounds))


def without_pins(room: Room) -> Room:
    """The same room as the method alone would have it, but for rests that were set by hand."""
    if room.pinned_rung is None:
        return room
    rest = room.pinned_rung == REST
    return replace(
        room,
        pinned_rung=np.where(rest, REST, NO_PIN),
        pinned_dose=np.zeros(rest.shape),
        pinned_rounds=None,
    )


def in_fewer_rounds(
    circuit: Circuit, room: Room, kept: Kept, prescribed: IntArray, headroom: float, method: Method
) -> Targets:
    """`Targets` with the doses `kept`, for the rounds in which each athlete holds them."""
    ladder = ladder_of(circuit)
    ability = ability_of(circuit, room, method.engine_model_sd, method.repetitions_model_sd, method.hard)
    rung, shape = kept.rungs.rung, kept.dose.shape
    own, chosen = ladder.at(rung), ability.at(rung)
    alone = own.dose_of(chosen.own(np.asarray(kept.rounds[:, None], float), day_headroom(room, headroom, method)))
    rounds = np.where(rung == REST, 0, rounds_by_hand(room, np.broadcast_to(kept.rounds[:, None], shape)))
    reason = np.where(own.most_by_time < own.dose, Reason.TIME, Reason.OWN)
    reason = np.where(kept.dose < own.dose, reason, Reason.ROUNDS)
    reason = np.where(room.pinned, Reason.BY_HAND, np.where(rung == REST, Reason.REST, reason))
    doses, nobody = Doses(alone, kept.dose, kept.dose), np.full(shape, -1, np.int64)
    settled = Settled(own, chosen, kept.rungs, doses, rounds, prescribed, np.asarray(reason, np.int64), nobody)
    return targets_of(circuit, room, settled, circuit.rotations)


def _put(targets: Targets, rows: BoolArray, part: Targets) -> Targets:
    values = {}
    for field in fields(Targets):
        values[field.name] = getattr(targets, field.name).copy()
        values[field.name][rows] = getattr(part, field.name)
    return Targets(**values)
