"""Scaling by dose: everybody does what doses they can in all rounds, and what is said of it."""

from dataclasses import dataclass, replace

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import Ability, Ladder, ability_of, ladder_of
from sessions.scaling.allocate import fits
from sessions.scaling.cautions import rounds_share, rounds_within
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    REST,
    ROTATION_BOUNDS,
    ROUNDING_HEADROOM,
    UNTESTED_SHARE,
)
from sessions.scaling.doses import Doses, Work, as_near_prescription, demand_of, doses_of
from sessions.scaling.method import Method
from sessions.scaling.prediction import chance_to_hold, expected_rpe, headroom_left
from sessions.scaling.room import Room
from sessions.scaling.rungs import Rungs, choose_rungs
from sessions.scaling.steps import nearest_step, step_below
from sessions.scaling.targets import Reason, Swap, Targets


@dataclass(frozen=True, eq=False)
class Asked:
    """What is asked of n athletes, before anything is said of it: `work` at their `rungs`, and the `doses`."""

    ladder: Ladder  # of all rungs, as is `ability`
    ability: Ability
    rungs: Rungs
    work: Work
    doses: Doses

    def dose(self, room: Room) -> Array:
        """The doses (n, S) as they stand among `Targets`."""
        at_pace = self.work.present & (self.work.ladder.pace_s > 0)
        return np.where(at_pace, seconds_at_pace(room, self.work.ladder, self.rungs.rung), self.doses.called)


def asked_of(
    circuit: Circuit,
    room: Room,
    headroom: float,
    method: Method,
    *,
    rungs: Rungs | None = None,
    most_dose: Array | None = None,
) -> Asked:
    """What everybody is asked who does what doses they can in all rounds; `rungs` and `most_dose` as in `by_dose`."""
    ladder = ladder_of(circuit)
    ability = ability_of(circuit, room, method.engine_model_sd, method.repetitions_model_sd, method.hard)
    if rungs is None:
        rungs = choose_rungs(ladder, ability, room, circuit.rotations, method.hard)
    work = work_of(circuit, room, ladder, ability, rungs)
    if most_dose is not None:
        work = replace(work, most=np.minimum(work.most, most_dose))
    return Asked(ladder, ability, rungs, work, day_doses(work, room, headroom, method))


def by_dose(
    circuit: Circuit,
    room: Room,
    headroom: float,
    method: Method,
    *,
    real_rounds: int | None = None,
    rungs: Rungs | None = None,
    most_dose: Array | None = None,
) -> Targets:
    """`Targets` of a valid room, in which everybody does what doses they can in all rounds.

    `real_rounds` are those of the real circuit, where this one has fewer. `rungs` where they stand already, and
    `most_dose` (n, S) there.
    """
    found = asked_of(circuit, room, headroom, method, rungs=rungs, most_dose=most_dose)
    ladder, ability, rungs, work, doses = found.ladder, found.ability, found.rungs, found.work, found.doses
    rounds = asked_rounds(circuit, room, work, rungs, doses)
    reason, station = reasons(room, work, rungs, doses, rounds, headroom, method)
    holds = rounds_as_prescribed(circuit, room, ladder, ability, day_headroom(room, headroom, method))
    whole = (doses.called >= ladder.dose[:, 0]) | (ladder.pace_s[:, 0] > 0)
    as_written = ((rungs.rung == 0) & whole).all(-1)
    most = np.where(cautioned(room, rungs), circuit.rotations, circuit.rotations - 1)
    prescribed = np.where(as_written, circuit.rotations, np.minimum(holds, most))
    settled = Settled(work.ladder, work.ability, rungs, doses, rounds, prescribed, reason, station)
    return targets_of(circuit, room, settled, real_rounds or circuit.rotations)


def cautioned(room: Room, rungs: Rungs) -> BoolArray:
    """Whose doses (n,) say nothing of what they can hold: a caution, or somebody's hand, may have taken it off."""
    careful = (room.week > 0) | room.flags("untested")[..., 0].any(-1) | room.pinned.any(-1)
    careful |= (rungs.swap == Swap.UNACCUSTOMED).any(-1)
    return careful if room.no_target is None else careful | room.no_target


def work_of(circuit: Circuit, room: Room, ladder: Ladder, ability: Ability, rungs: Rungs) -> Work:
    """The `Work` at the chosen rungs: what of the written dose time and a first time leave."""
    own, chosen = ladder.at(rungs.rung), ability.at(rungs.rung)
    share = dose_share(room, rungs.rung)
    called = np.where(share < 1.0, nearest_step(own.dose * share, own.is_metres, own.step), own.dose)
    return Work(
        ladder=own,
        ability=chosen,
        demand=demand_of(circuit, chosen, rungs.rung, circuit.rotations),
        rounds=circuit.rotations,
        present=rungs.rung != REST,
        most=np.minimum(np.minimum(called, own.dose), own.most_by_time),
        by_hand=np.full(rungs.rung.shape, np.nan) if room.pinned_dose is None
        else np.where(room.pinned & (rungs.rung != REST) & (own.pace_s == 0), room.pinned_dose, np.nan),
    )  # fmt: skip


def dose_share(room: Room, rung: IntArray) -> Array:
    """The share of the written dose that may be asked, (n, S), to the nearest step: less the first time."""
    untested = np.take_along_axis(room.flags("untested"), np.maximum(rung, 0)[..., None], 2)[..., 0]
    return np.where(untested, UNTESTED_SHARE, 1.0)


def day_headroom(room: Room, headroom: float, method: Method) -> Array:
    """Headroom (n, 1) of a day: for newcomers at least that of a steady one."""
    newcomer = np.maximum(headroom, method.headrooms["steady"])
    return np.where(room.week > 0, newcomer, headroom)[:, None]


def day_doses(work: Work, room: Room, headroom: float, method: Method) -> Doses:
    """The `Doses` of a day, none above that of a harder one: shares alone would let a few rise by a step."""
    called = np.full(work.present.shape, np.inf)
    for level in method.levels(headroom):
        doses = doses_of(work, day_headroom(room, level, method))
        called = np.minimum(called, doses.called)
    return replace(doses, called=called)


def asked_rounds(circuit: Circuit, room: Room, work: Work, rungs: Rungs, doses: Doses) -> IntArray:
    """Rounds (n, S): fewer for newcomers and where volume is unaccustomed; the strictest caution alone counts.

    A session of a newcomer is cut to its week's share in all: what a first time takes off the doses counts as cut.
    """
    share = np.where(work.present, dose_share(room, rungs.rung), np.nan)
    cut = np.nanmean(np.where(work.present.any(-1, keepdims=True), share, 1.0), -1)
    part = np.minimum(rounds_share(room.week) / cut, 1.0)
    rounds = np.floor(circuit.rotations * np.where(room.week > 0, part, 1.0) + 0.5).astype(np.int64)
    rounds = np.broadcast_to(np.clip(rounds, 1, circuit.rotations)[:, None], work.present.shape)
    if room.most_in_session is not None:
        most = np.take_along_axis(room.most_in_session, np.maximum(rungs.rung, 0)[..., None], 2)[..., 0]
        rounds = np.where(work.ladder.makes_sore, rounds_within(most, doses.called, rounds), rounds)
    return np.where(work.present, rounds_by_hand(room, rounds), 0)


def rounds_by_hand(room: Room, rounds: IntArray) -> IntArray:
    """Rounds (n, S) with those that were set by hand; where only a dose was, they stay."""
    if room.pinned_rounds is None:
        return rounds
    return np.where(room.pinned & (room.pinned_rounds > 0), room.pinned_rounds, rounds)


def rounds_as_prescribed(
    circuit: Circuit,
    room: Room,
    ladder: Ladder,
    ability: Ability,
    headroom: Array,
    most: int = ROTATION_BOUNDS[1],
) -> IntArray:
    """The most rounds (n,), from 0 to `most`, in which everything could be done as prescribed with `headroom` (n, 1).

    Cautions are left out: it is about what can be held.
    """
    rung, most_rounds = np.zeros(room.allowed.shape[:2], np.int64), np.zeros(len(room), np.int64)
    written = ladder.at(rung)
    # Of seconds at a pace none is too many: the pace gives way
    wanted = np.where(written.pace_s > 0, 0.0, written.dose)
    rows = np.flatnonzero((room.allowed[..., 0] & (written.most_by_time >= written.dose)).all(-1))
    able = ability.take(rows)
    most_rounds[rows] = rounds_held(circuit, ladder, able, rung[rows], wanted[rows], headroom[rows], most)
    return most_rounds


def rounds_held(
    circuit: Circuit,
    ladder: Ladder,
    ability: Ability,
    rung: IntArray,
    dose: Array,
    headroom: Array,
    most: int = ROTATION_BOUNDS[1],
    counts: BoolArray | None = None,
) -> IntArray:
    """The most rounds (n,), from 0 to `most`, in which a `dose` at every `rung`, both (n, S), is held with `headroom`.

    By the same test as a dose that is called as written. Stations that do not count (n, S) take from the others only.
    """
    present = rung != REST
    counts = present if counts is None else counts & present
    own, chosen, most_rounds = ladder.at(rung), ability.at(rung), np.zeros(len(rung), np.int64)
    eased = headroom - ROUNDING_HEADROOM
    asked = np.maximum(own.intensity(dose) / (1.0 - eased) - chosen.free, 0.0) * chosen.per
    cost, limit = np.where(present, asked, 0.0), np.where(counts, 1.0, np.inf)

    def held(rounds: int | IntArray, rows: IntArray) -> BoolArray:
        """Whether those in `rows` hold everything for so many `rounds`, one number or one each."""
        here, written = chosen.take(rows), own.take(rows)
        count = np.broadcast_to(np.reshape(np.asarray(rounds, float), (-1, 1)), rung[rows].shape)
        alone = written.dose_of(here.own(count, headroom[rows]))
        near = np.maximum(as_near_prescription(written, alone), alone) >= dose[rows]
        demand = demand_of(circuit, here, rung[rows], count)
        fitting: BoolArray = (near | ~counts[rows]).all(-1) & fits(demand, cost[rows], limit[rows])
        return fitting

    rows = np.arange(len(rung))
    rows = rows[held(1, rows)]
    low, high = np.ones(len(rows), np.int64), np.full(len(rows), most, np.int64)
    for _ in range(most.bit_length()):
        middle = (low + high + 1) // 2
        good = held(middle, rows)
        low, high = np.where(good, middle, low), np.where(good, high, np.maximum(middle - 1, low))
    most_rounds[rows] = low
    return most_rounds


def reasons(
    room: Room, work: Work, rungs: Rungs, doses: Doses, rounds: IntArray, headroom: float, method: Method
) -> tuple[IntArray, IntArray]:
    """The `Reason` of every target, and the station that a shared dose gives way to, −1 for none; both (n, S)."""
    ladder, called = work.ladder, doses.called
    whole = (called >= ladder.dose) | (ladder.pace_s > 0)
    at_hard = ladder.dose_of(work.ability.own(work.rounds, method.hard))
    untested = dose_share(room, rungs.rung) < 1.0
    alone = np.minimum(doses.own, work.most)
    limits = np.stack([ladder.most_by_time, doses.own, np.where(untested, work.most, np.inf)])
    codes = np.array([Reason.TIME, Reason.OWN, Reason.UNTESTED])
    reason = codes[limits.argmin(0)]
    easy_day = (reason == Reason.OWN) & (at_hard >= ladder.dose) & (headroom > method.hard)
    reason = np.where(easy_day, Reason.DAY, reason)
    cut = (doses.together < alone) & (called < step_below(alone, ladder.is_metres, ladder.step))
    others = _strongest_other(work, doses)
    reason = np.where(cut & (others >= 0), Reason.TOGETHER, reason)
    reason = np.where(whole, Reason.AS_WRITTEN, reason)
    fewer = rounds < work.rounds
    reason = np.where(fewer, Reason.UNACCUSTOMED, reason)
    newcomer = (room.week > 0)[:, None] & (fewer | (reason == Reason.OWN))
    reason = np.where(newcomer, Reason.NEWCOMER, reason)
    reason = np.where(rungs.rung == REST, Reason.REST, reason)
    if room.no_target is not None:
        reason = np.where(room.no_target[:, None], Reason.NO_TARGET, reason)
    reason = np.where(room.pinned, Reason.BY_HAND, reason)
    return np.asarray(reason, np.int64), np.where(reason == Reason.TOGETHER, others, -1)


def _strongest_other(work: Work, doses: Doses) -> IntArray:
    """The other station (n, S) that shares most with each one, either way; −1 where nothing is shared."""
    fraction = work.fraction(doses.called, np.zeros((len(work.present), 1)))
    taken = work.demand * fraction[:, None, :]
    shared = taken + np.swapaxes(taken, 1, 2)
    shared[:, range(shared.shape[1]), range(shared.shape[1])] = 0.0
    return np.where(shared.max(-1) > 0, shared.argmax(-1), -1)


@dataclass(frozen=True, eq=False)
class Settled:
    """What is settled of n athletes: the numbers of their rungs, doses and rounds (n, S), and what is said of them."""

    ladder: Ladder
    ability: Ability
    rungs: Rungs
    doses: Doses
    rounds: IntArray
    prescribed: IntArray  # (n,) most rounds as prescribed
    reason: IntArray
    reason_station: IntArray


def targets_of(circuit: Circuit, room: Room, settled: Settled, real_rounds: int) -> Targets:
    """The `Targets` of what is `settled`, with what is predicted for the last round; the circuit has `real_rounds`."""
    ladder, ability, rung, dose = settled.ladder, settled.ability, settled.rungs.rung, settled.doses.called
    present = rung != REST
    demand = demand_of(circuit, ability, rung, np.maximum(settled.rounds, 1))
    intensity = ladder.intensity(dose)
    cost = np.where(present, intensity * ability.per, 0.0)
    free = np.where(present, ability.free * ability.per, 0.0)
    headroom = headroom_left(demand, cost, free, present)
    at_pace, seconds = ladder.pace_s > 0, seconds_at_pace(room, ladder, rung)
    window_s = ladder.setup_s + np.where(ladder.is_steady, ladder.work_s, dose * ladder.seconds_per_unit)
    return Targets(
        rung=rung,
        dose=np.where(at_pace & present, seconds, dose),
        rounds=np.asarray(settled.rounds, np.int64),
        hold=np.where(present & ladder.is_steady, intensity, np.nan),
        finish_by_s=np.where(present, window_s, 0.0),
        headroom=headroom,
        probability=chance_to_hold(demand, cost, free, ability.doubt, present),
        own_dose=np.where(present, np.where(at_pace, seconds, settled.doses.own), 0.0),
        written=np.where(present, np.where(at_pace, ladder.pace_s, ladder.dose), 0.0),
        least=np.where(present, np.where(at_pace, ladder.pace_s, ladder.least), 0.0),
        sd_log=np.where(present, ability.sd, 0.0),
        expected_rpe=expected_rpe(headroom, present),
        reason=settled.reason,
        reason_station=settled.reason_station,
        swap=settled.rungs.swap,
        demand=demand,
        cost=cost,
        free=free,
        rounds_as_prescribed=np.asarray(settled.prescribed, np.int64),
        open_last=open_last(circuit, room, settled, real_rounds),
        expected=np.full((len(rung), 3), np.nan),
    )


def seconds_at_pace(room: Room, ladder: Ladder, rung: IntArray) -> Array:
    """How long a pace is held, (n, S), where the dose is one: somebody's hand may have changed that, never the pace."""
    if room.pinned_dose is None:
        return ladder.pace_s
    return np.where(room.pinned & (rung != REST), room.pinned_dose, ladder.pace_s)


def open_last(circuit: Circuit, room: Room, settled: Settled, real_rounds: int) -> BoolArray:
    """Where the last round is done as far as it goes, (n, S): by who does the circuit's last, and without a caution."""
    careful = np.isin(settled.reason, (Reason.UNTESTED, Reason.UNACCUSTOMED, Reason.NO_TARGET))
    plain = (room.week == 0)[:, None] & ~careful & (settled.rungs.rung != REST) & (settled.ladder.pace_s == 0)
    return np.asarray(plain & circuit.open_last & (settled.rounds == real_rounds), bool)
