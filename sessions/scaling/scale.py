"""From a circuit and a room to targets: the one call of the scaling method, one step after the other."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from math import ceil

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import Ability, Ladder, ability_of, ladder_of
from sessions.scaling.allocate import fits
from sessions.scaling.cautions import rounds_share, rounds_within
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    ENGINE_MODEL_SD,
    HEADROOMS,
    NO_PIN,
    REPETITIONS_MODEL_SD,
    REST,
    ROTATION_BOUNDS,
    ROUNDING_HEADROOM,
    ROUNDING_SLACK,
    UNTESTED_SHARE,
)
from sessions.scaling.doses import Doses, Work, as_near_prescription, demand_of, doses_of
from sessions.scaling.pieces import scale_piece
from sessions.scaling.prediction import chance_to_hold, expected_rpe, headroom_left
from sessions.scaling.room import Room
from sessions.scaling.rungs import Rungs, choose_rungs
from sessions.scaling.steps import nearest_step, step_below
from sessions.scaling.targets import Reason, Swap, Targets

BLOCK = 4096  # athletes worked on together, so that memory is bounded beside their targets


@dataclass(frozen=True)
class Method:
    """The numbers of the method that a gym can set or that its logs correct.

    `headrooms` by intent, from the hardest to the easiest; SDs of the log of what can be held that the model itself
    does not know, of engines and paced movements, and of repetitions.
    """

    headrooms: Mapping[str, float]
    engine_model_sd: float
    repetitions_model_sd: float

    @property
    def hard(self) -> float:
        return self.headrooms["hard"]

    def levels(self, headroom: float) -> list[float]:
        """The headrooms of all harder days, from the hardest, and this one."""
        return sorted({level for level in self.headrooms.values() if level < headroom}) + [headroom]


def scale(
    circuit: Circuit,
    room: Room,
    intent: str | None = None,
    *,
    headrooms: Mapping[str, float] = HEADROOMS,
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> Targets:
    """`Targets` of every athlete in a `Room` for a `Circuit`.

    `intent`, "test", "hard", "steady" or "easy", says how much is left in the tank by `headrooms`, which name all four;
    None leaves it to the circuit. The model's SDs are those of the log of what can be held. ValueError, with a plain
    sentence, for a circuit or room that cannot be scaled, or an unknown intent.
    """
    circuit.validate()
    room.validate(circuit)
    if intent is not None and intent not in headrooms:
        raise ValueError(f"Unknown intent {intent!r}: use one of {', '.join(headrooms)}.")
    method = Method(headrooms, engine_model_sd, repetitions_model_sd)
    headroom = circuit.headroom if intent is None else headrooms[intent]
    by = off_the_clock if circuit.format != "every" else by_rounds if circuit.scaling == "rounds" else by_dose
    blocks = [slice(start, start + BLOCK) for start in range(0, max(len(room), 1), BLOCK)]
    parts = [by(circuit, room.take(block), headroom, method) for block in blocks]
    return Targets(**{field.name: np.concatenate([getattr(p, field.name) for p in parts]) for field in fields(Targets)})


def off_the_clock(circuit: Circuit, room: Room, headroom: float, method: Method) -> Targets:
    """`Targets` of a valid room for what has no intervals (`pieces`)."""
    return scale_piece(
        circuit,
        room,
        headroom,
        hard=method.hard,
        steady=method.headrooms["steady"],
        engine_model_sd=method.engine_model_sd,
        repetitions_model_sd=method.repetitions_model_sd,
    )


# --- Scaling by dose ---


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
    ladder = ladder_of(circuit)
    ability = ability_of(circuit, room, method.engine_model_sd, method.repetitions_model_sd, method.hard)
    if rungs is None:
        rungs = choose_rungs(ladder, ability, room, circuit.rotations, method.hard)
    work = work_of(circuit, room, ladder, ability, rungs)
    if most_dose is not None:
        work = replace(work, most=np.minimum(work.most, most_dose))
    doses = day_doses(work, room, headroom, method)
    rounds = asked_rounds(circuit, room, work, rungs, doses)
    reason, station = reasons(room, work, rungs, doses, rounds, headroom, method)
    holds = rounds_as_prescribed(circuit, room, ladder, ability, day_headroom(room, headroom, method))
    whole = (doses.called >= ladder.dose[:, 0]) | (ladder.pace_s[:, 0] > 0)
    as_written = ((rungs.rung == 0) & whole).all(-1)
    most = np.where(cautioned(room, rungs), circuit.rotations, circuit.rotations - 1)
    prescribed = np.where(as_written, circuit.rotations, np.minimum(holds, most))
    asked = Asked(work.ladder, work.ability, rungs, doses, rounds, prescribed, reason, station)
    return targets_of(circuit, room, asked, real_rounds or circuit.rotations)


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


# --- Scaling by rounds ---


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
    asked = Asked(own, chosen, kept.rungs, doses, rounds, prescribed, np.asarray(reason, np.int64), nobody)
    return targets_of(circuit, room, asked, circuit.rotations)


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


def _put(targets: Targets, rows: BoolArray, part: Targets) -> Targets:
    values = {}
    for field in fields(Targets):
        values[field.name] = getattr(targets, field.name).copy()
        values[field.name][rows] = getattr(part, field.name)
    return Targets(**values)


# --- What is said of it ---


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
class Asked:
    """What is settled of n athletes: the numbers of their rungs, doses and rounds (n, S), and what is said of them."""

    ladder: Ladder
    ability: Ability
    rungs: Rungs
    doses: Doses
    rounds: IntArray
    prescribed: IntArray  # (n,) most rounds as prescribed
    reason: IntArray
    reason_station: IntArray


def targets_of(circuit: Circuit, room: Room, asked: Asked, real_rounds: int) -> Targets:
    """The `Targets` of what is `asked`, with what is predicted for the last round; the circuit's are `real_rounds`."""
    ladder, ability, rung, dose = asked.ladder, asked.ability, asked.rungs.rung, asked.doses.called
    present = rung != REST
    demand = demand_of(circuit, ability, rung, np.maximum(asked.rounds, 1))
    intensity = ladder.intensity(dose)
    cost = np.where(present, intensity * ability.per, 0.0)
    free = np.where(present, ability.free * ability.per, 0.0)
    headroom = headroom_left(demand, cost, free, present)
    at_pace = ladder.pace_s > 0
    seconds = ladder.pace_s
    if room.pinned_dose is not None:  # somebody's hand may have changed how long, never the pace
        seconds = np.where(room.pinned & present, room.pinned_dose, seconds)
    window_s = ladder.setup_s + np.where(ladder.is_steady, ladder.work_s, dose * ladder.seconds_per_unit)
    return Targets(
        rung=rung,
        dose=np.where(at_pace & present, seconds, dose),
        rounds=np.asarray(asked.rounds, np.int64),
        hold=np.where(present & ladder.is_steady, intensity, np.nan),
        finish_by_s=np.where(present, window_s, 0.0),
        headroom=headroom,
        probability=chance_to_hold(demand, cost, free, ability.doubt, present),
        own_dose=np.where(present, np.where(at_pace, seconds, asked.doses.own), 0.0),
        written=np.where(present, np.where(at_pace, ladder.pace_s, ladder.dose), 0.0),
        least=np.where(present, np.where(at_pace, ladder.pace_s, ladder.least), 0.0),
        sd_log=np.where(present, ability.sd, 0.0),
        expected_rpe=expected_rpe(headroom, present),
        reason=asked.reason,
        reason_station=asked.reason_station,
        swap=asked.rungs.swap,
        demand=demand,
        cost=cost,
        free=free,
        rounds_as_prescribed=np.asarray(asked.prescribed, np.int64),
        open_last=open_last(circuit, room, asked, real_rounds),
        expected=np.full((len(rung), 3), np.nan),
    )


def open_last(circuit: Circuit, room: Room, asked: Asked, real_rounds: int) -> BoolArray:
    """Where the last round is done as far as it goes, (n, S): by who does the circuit's last, and without a caution."""
    careful = np.isin(asked.reason, (Reason.UNTESTED, Reason.UNACCUSTOMED, Reason.NO_TARGET))
    plain = (room.week == 0)[:, None] & ~careful & (asked.rungs.rung != REST) & (asked.ladder.pace_s == 0)
    return np.asarray(plain & circuit.open_last & (asked.rounds == real_rounds), bool)
