"""What is not on the clock: stations in order without intervals, for time or for as many rounds as fit.

Rungs, loads, cautions and first times are judged as in a circuit of the same stations whose rounds take as long as this
one's usually do (`usual`). What changes is the dose: on an engine, and in a movement that breath limits, all of it is
done, and the pace gives way (the even effort of `pacing`: nothing recovers while something is done). Other repetitions
may be broken into sets: a dose of `BROKEN` times what could be held unbroken in every round, with a short break for
each further set (working model).
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from athletes.capacity.best import best_power, best_time_for_distance, best_time_for_kcal
from sessions.scaling.ability import Ability, Ladder, ability_of, ladder_of
from sessions.scaling.cautions import rounds_share, rounds_within
from sessions.scaling.circuit import Circuit, Option
from sessions.scaling.constants import LEAST_SHARE, REST, ROTATION_BOUNDS, UNTESTED_SHARE
from sessions.scaling.doses import as_near_prescription
from sessions.scaling.pacing import LAST_STEP, MOST_STEPS, peak_load
from sessions.scaling.prediction import expected_rpe, normal_cdf
from sessions.scaling.room import Room
from sessions.scaling.rungs import Rungs, rungs_by
from sessions.scaling.sequence import Leg, Sequence
from sessions.scaling.steps import nearest_step
from sessions.scaling.targets import Reason, Targets

BROKEN = 2.0  # times the set that could be held unbroken in every round: a dose is done in two of them (working model)
SUSTAINED = 1.25  # times the bare seconds of a repetition, where many of them are done tired (common practice)
WAY_S = 4.0  # at least, from one station to the next, s (common practice)
BREAK_S = 12.0  # between two sets of one dose, s (common practice: five breaths to a quarter of a minute)
PIECE_MODEL_SD = 0.04  # of the log of a total: ways between stations, chalk, a first leg too fast (working model)
BAND_SD = 1.2816  # SDs either way that hold four fifths of the probability
CAP_SHARES = np.linspace(1.0, LEAST_SHARE, 11)  # of the doses, until the piece fits under its cap
ROUNDS_TRIED = (1, 2, 3, 4, 6, 8, 12, 16, 24, 40, 64)
# What usually passes at a station, for the recovery between two sets of a movement (common practice)
USUAL_S = {"kcal": 4.0, "metres": 0.26, "run": 0.33}  # a calorie, a metre, a metre run
USUAL_BREAKS = 1.3  # times the bare seconds of a movement
SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True, eq=False)
class _Work:
    """What n athletes do at S stations: (n, S); `rounds` (n,)."""

    ladder: Ladder
    rung: IntArray
    dose: Array
    rounds: IntArray
    unbroken: Array  # repetitions or seconds in one set, held in every round with the day's headroom
    headroom: Array  # (n,)

    def take(self, rows: IntArray) -> "_Work":
        """The same work with some of its athletes."""
        return _Work(
            self.ladder.take(rows),
            self.rung[rows],
            self.dose[rows],
            self.rounds[rows],
            self.unbroken[rows],
            self.headroom[rows],
        )


@dataclass(frozen=True, eq=False)
class _Pace:
    """How it goes: `hold` and `seconds` of each leg (n, S), `round_s` (n,) of a round."""

    hold: Array
    seconds: Array

    @property
    def round_s(self) -> Array:
        return np.asarray(self.seconds.sum(-1), float)


def usual(circuit: Circuit) -> Circuit:
    """A circuit on the clock whose rounds take as long as this one's usually do."""
    seconds = [_usual_s(station.options[0]) for station in circuit.stations]
    interval_s = max(sum(seconds) / len(seconds), max(o.setup_s for s in circuit.stations for o in s.options) + 5.0)
    rounds = circuit.rotations
    if circuit.format == "as_many":
        rounds = int(np.clip(round((circuit.limit_s or 0.0) / (interval_s * len(seconds))), 1, ROTATION_BOUNDS[1]))
    stations = tuple(replace(station, work_window_s=interval_s) for station in circuit.stations)
    return replace(circuit, stations=stations, rotations=rounds, interval_s=interval_s, format="every", limit_s=None)


def _usual_s(option: Option) -> float:
    if option.engine:
        kind = "run" if option.engine == "run" else option.dose_kind
        return option.setup_s + option.dose * USUAL_S[kind]
    return option.setup_s + USUAL_BREAKS * option.dose * option.seconds_per_unit


def scale_piece(
    circuit: Circuit,
    room: Room,
    headroom: float,
    *,
    hard: float,
    steady: float,
    engine_model_sd: float,
    repetitions_model_sd: float,
) -> Targets:
    """`Targets` of a valid room for a valid circuit off the clock; `expected` is its time [s], or its rounds."""
    on_clock = usual(circuit)
    ladder = ladder_of(on_clock)
    ability = ability_of(on_clock, room, engine_model_sd, repetitions_model_sd, hard)
    day = np.where(room.week > 0, max(headroom, steady), headroom)
    paced = _paced(circuit, room)
    rungs = rungs_by(_most_dose(circuit, ladder, ability, paced, on_clock.rotations, hard), ladder, room,
                     on_clock.rotations)  # fmt: skip
    rung = rungs.rung
    own, chosen, present = ladder.at(rung), ability.at(rung), rung != REST
    most = _at(_most_dose(circuit, ladder, ability, paced, on_clock.rotations, day[:, None, None]), rung)
    dose, untested = _doses(own, rung, most, room)
    share = np.where(room.week > 0, rounds_share(room.week), 1.0)
    rounds = np.maximum(np.floor(circuit.rotations * share + 0.5).astype(np.int64), 1)
    unbroken = chosen.own(on_clock.rotations, day[:, None])
    work = _Work(own, rung, dose, rounds, np.maximum(unbroken, 1.0), day)
    if circuit.format == "as_many":
        fitting = _rounds_in(circuit, room, work, paced, circuit.limit_s or 0.0)
        done = np.minimum(fitting * share, _by_volume(room, work, fitting))
        work = replace(work, rounds=np.maximum(np.ceil(done - 1e-9), 1).astype(np.int64))
        capped = np.zeros(len(room), bool)
        pace = _pace(circuit, room, work, paced)
        middle = done
    else:
        work = replace(work, rounds=np.minimum(work.rounds, _whole(_by_volume(room, work, work.rounds))))
        work, capped = _under_the_cap(circuit, room, work, paced)
        pace = _pace(circuit, room, work, paced)
        middle = work.rounds * pace.round_s
    sd = _log_sd(circuit, work, pace, chosen, paced)
    expected = np.stack([middle, middle * np.exp(-BAND_SD * sd), middle * np.exp(BAND_SD * sd)], -1)
    if circuit.format == "for_time":
        expected = np.where(expected > 0, expected, np.nan)
    left = _headroom(work, chosen, paced, on_clock.rotations)
    shape = rung.shape
    whole_rounds = np.where(present, work.rounds[:, None], 0)
    if circuit.format == "as_many":
        whole_rounds = np.where(present, np.maximum(np.floor(middle + 1e-9), 1)[:, None], 0)
    reason = _reasons(room, rungs, own, work, untested, capped, circuit)
    as_written = ((rung == 0) & (work.dose >= own.dose)).all(-1) & (work.rounds >= circuit.rotations)
    return Targets(
        rung=rung,
        dose=np.where(present, work.dose, 0.0),
        rounds=np.asarray(whole_rounds, np.int64),
        hold=np.where(present, pace.hold, np.nan),
        finish_by_s=np.where(present, pace.seconds, 0.0),
        headroom=np.where(present, left, 1.0),
        probability=np.where(present, normal_cdf(-np.log(np.maximum(1.0 - left, 1e-6)) / chosen.doubt), 1.0),
        own_dose=np.where(present, np.minimum(most, 10.0 * own.dose), 0.0),
        written=np.where(present, own.dose, 0.0),
        least=np.where(present, own.least, 0.0),
        sd_log=np.where(present, chosen.sd, 0.0),
        expected_rpe=expected_rpe(left, present),
        reason=reason,
        reason_station=np.full(shape, -1),
        swap=rungs.swap,
        demand=np.zeros((*shape, shape[1])),
        cost=np.zeros(shape),
        free=np.zeros(shape),
        rounds_as_prescribed=np.where(as_written, circuit.rotations, 0),
        open_last=np.zeros(shape, bool),
        expected=np.where(present.any(-1)[:, None], expected, np.nan),
    )


# --- Doses ---


def _paced(circuit: Circuit, room: Room) -> BoolArray:
    """Where a pace is held, (n, S, L): on an engine, and in a paced movement whose rate is known."""
    found = np.zeros(room.allowed.shape, bool)
    for s, rung, option in _options(circuit):
        if option.engine:
            found[:, s, rung] = True
        elif option.paced and room.paced_mean is not None:
            known = np.isfinite(room.paced_mean[:, s, rung]).all(-1)
            found[:, s, rung] = known & ~room.flags("unknown")[:, s, rung]
    return found


def _most_dose(
    circuit: Circuit, ladder: Ladder, ability: Ability, paced: BoolArray, rounds: int, headroom: Array | float
) -> Array:
    """The most of every rung (n, S, L) that a round may ask: where a pace is held there is no most."""
    in_window = np.ones(paced.shape)
    for s, rung, option in _options(circuit):
        if option.paced:  # a rate that nobody measured: as repetitions
            in_window[:, s, rung] = ladder.work_s[s, rung] / SECONDS_PER_MINUTE
    return np.where(paced, np.inf, BROKEN * ability.own(rounds, headroom) * in_window)


def _doses(own: Ladder, rung: IntArray, most: Array, room: Room) -> tuple[Array, BoolArray]:
    """Doses (n, S) in numbers a coach can call, and where a first time took off."""
    untested = np.take_along_axis(room.flags("untested"), np.maximum(rung, 0)[..., None], 2)[..., 0]
    first = nearest_step(own.dose * UNTESTED_SHARE, own.is_metres, own.step)
    written = np.where(untested, np.minimum(first, own.dose), own.dose)
    ideal = np.minimum(most, written)
    called = np.minimum(nearest_step(ideal, own.is_metres, own.step), written)
    called = np.where(~untested, np.maximum(called, as_near_prescription(own, ideal)), called)
    called = np.where(rung == REST, 0.0, called)
    if room.pinned_dose is not None:
        called = np.where(room.pinned, room.pinned_dose, called)
    return np.asarray(called, float), untested & (written < own.dose) & ~room.pinned


def _by_volume(room: Room, work: _Work, rounds: Array | IntArray) -> Array:
    """Rounds (n,) that unaccustomed volume allows."""
    wanted = np.broadcast_to(np.asarray(rounds, float), (len(room),))
    if room.most_in_session is None:
        return wanted
    most = np.take_along_axis(room.most_in_session, np.maximum(work.rung, 0)[..., None], 2)[..., 0]
    counts = work.ladder.makes_sore & (work.rung != REST) & ~room.pinned
    whole = np.maximum(np.ceil(wanted), 1).astype(np.int64)[:, None]
    allowed = np.where(counts, rounds_within(most, work.dose, np.broadcast_to(whole, counts.shape)), whole)
    return np.asarray(np.minimum(wanted, allowed.min(-1)), float)


def _whole(rounds: Array) -> IntArray:
    return np.asarray(np.maximum(np.floor(rounds + 1e-9), 1), np.int64)


def _under_the_cap(circuit: Circuit, room: Room, work: _Work, paced: BoolArray) -> tuple[_Work, BoolArray]:
    """Doses cut in one proportion, by half at most, until the piece is expected to end under its cap; whose were."""
    limit, written = circuit.limit_s or np.inf, work.dose
    late, capped = np.arange(len(room)), np.zeros(len(room), bool)
    for share in CAP_SHARES[1:]:
        here = work.take(late)
        late = late[here.rounds * _pace(circuit, room.take(late), here, paced[late]).round_s > limit]
        if not late.size:
            break
        capped[late] = True
        cut = np.minimum(nearest_step(written * share, work.ladder.is_metres, work.ladder.step), written)
        cut = np.where((work.rung == REST) | room.pinned, written, cut)
        dose = work.dose.copy()
        dose[late] = cut[late]
        work = replace(work, dose=dose)
    return work, capped


def _rounds_in(circuit: Circuit, room: Room, work: _Work, paced: BoolArray, limit_s: float) -> Array:
    """Rounds (n,), and parts of one, that fit into `limit_s` at an even effort."""
    totals = np.stack(
        [
            count * _pace(circuit, room, replace(work, rounds=np.full(len(room), count)), paced).round_s
            for count in ROUNDS_TRIED
        ],
        -1,
    )
    tried = np.array(ROUNDS_TRIED, float)
    found = np.array([np.interp(limit_s, total, tried) for total in totals]) if len(room) else np.zeros(0)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.where(limit_s < totals[:, 0], limit_s / totals[:, 0], found)
        found = np.where(limit_s > totals[:, -1], tried[-1] * limit_s / totals[:, -1], found)
    return np.where(totals[:, 0] > 0, found, 0.0)


# --- Pace ---


def _pace(circuit: Circuit, room: Room, work: _Work, paced: BoolArray) -> _Pace:
    """Even effort through all rounds; athletes on the same rungs for the same rounds are worked out together."""
    hold, seconds = np.full(work.rung.shape, np.nan), np.zeros(work.rung.shape)
    here = _at(paced, work.rung) & (work.rung != REST)
    for rows in _alike(np.column_stack([work.rung, work.rounds, here])):
        for array, values in zip((hold, seconds), _even_effort(circuit, room, work, here[rows[0]], rows), strict=True):
            array[rows] = values
    ladder = work.ladder
    sets = np.maximum(work.dose / work.unbroken - 1.0, 0.0)
    holds = np.where(_is_hold(circuit, work.rung), 1.0, SUSTAINED)  # a second of a hold is a second
    bare = work.dose * np.where(ladder.seconds_per_unit > 0, ladder.seconds_per_unit, 1.0) * holds
    broken = bare + BREAK_S * sets
    seconds = np.where(here, np.maximum(seconds, work.dose * ladder.seconds_per_unit), broken)
    rate = SECONDS_PER_MINUTE * work.dose / np.maximum(seconds, 1e-9)
    hold = np.where(here & (ladder.seconds_per_unit > 0), rate, hold)  # of a paced movement
    return _Pace(hold, np.where(work.rung == REST, 0.0, seconds + np.maximum(ladder.setup_s, WAY_S)))


def _even_effort(circuit: Circuit, room: Room, work: _Work, here: BoolArray, rows: IntArray) -> tuple[Array, Array]:
    """Power and seconds, (n, S) each, of athletes on the same rungs: the level that holds to the end (see `pacing`)."""
    rung, dose = work.rung[rows[0]], work.dose[rows]
    places = np.flatnonzero(here)
    hold, seconds = np.full(dose.shape, np.nan), np.zeros(dose.shape)
    if not places.size:
        return hold, seconds
    options = [circuit.stations[s].options[rung[s]] for s in places]
    names = [option.engine or f"station {s}" for s, option in zip(places, options, strict=True)]
    engines = tuple(dict.fromkeys(names))
    known = {name: _theta(room, int(s), int(rung[s]), option, rows)
             for name, s, option in zip(names, places, options, strict=True)}  # fmt: skip
    theta = np.stack([known[name] for name in engines])
    sequence = Sequence(tuple(Leg(name, "seconds", 1.0) for name in names), int(work.rounds[rows[0]]))
    left = 1.0 - work.headroom[rows]
    reduced = theta + np.log(left)[:, None] * np.array([1.0, 1.0, 0.0])
    level, legs = np.ones(len(rows)), (np.zeros(0), np.zeros(0))
    for _ in range(MOST_STEPS):
        at_level = reduced + np.log(level)[:, None] * np.array([0.0, 1.0, 0.0])
        legs = _legs(options, names, engines, at_level, dose[:, places])
        lower = level / peak_load(sequence, engines, theta, legs[0] / left, legs[1], room.athlete_refill[rows])
        moved = np.abs(lower / level - 1.0)
        level = lower
        if (moved < LAST_STEP).all():
            break
    hold[:, places], seconds[:, places] = legs[0].T, legs[1].T
    return hold, seconds


def _legs(
    options: list[Option], names: list[str], engines: tuple[str, ...], theta: Array, dose: Array
) -> tuple[Array, Array]:
    """Power and seconds of each leg, (L, n), from the curves (E, n, 3) and the doses (n, L)."""
    power, seconds = [], []
    for leg, (option, name) in enumerate(zip(options, names, strict=True)):
        own, amount = theta[engines.index(name)], dose[:, leg]
        if option.engine and option.dose_kind == "kcal":
            lasts = best_time_for_kcal(amount, own, option.kcal_base, option.kcal_slope)
        elif option.engine:
            lasts = best_time_for_distance(option.engine, amount, own)
        else:  # repetitions at a rate [repetitions a minute], as metres at a speed
            lasts = best_time_for_distance("run", SECONDS_PER_MINUTE * amount, own)
        seconds.append(np.asarray(lasts, float))
        power.append(best_power(lasts, own))
    return np.stack(power), np.stack(seconds)


def _theta(room: Room, s: int, rung: int, option: Option, rows: IntArray) -> Array:
    """The curve (n, 3) of an engine, or of a paced movement."""
    if option.engine:
        return np.asarray(room.engine_mean[option.engine][rows], float)
    assert room.paced_mean is not None, "only a rate that is known is paced"
    return np.asarray(room.paced_mean[rows, s, rung], float)


# --- What is said of it ---


def _log_sd(circuit: Circuit, work: _Work, pace: _Pace, chosen: Ability, paced: BoolArray) -> Array:
    """SD (n,) of the log of the total, as if all estimates were off to the same side."""
    share = np.ones(work.rung.shape)  # relative change of a leg's time with what can be held
    for s, rung, option in _options(circuit):
        if option.engine in ("row", "ski") and option.dose_kind == "metres":
            share[:, s] = np.where(work.rung[:, s] == rung, 1.0 / 3.0, share[:, s])
        elif option.engine and option.dose_kind == "kcal":
            watts = option.kcal_slope * np.nan_to_num(pace.hold[:, s])
            share[:, s] = np.where(
                work.rung[:, s] == rung, watts / np.maximum(watts + option.kcal_base, 1.0), share[:, s]
            )
    breaks = BREAK_S * work.dose / work.unbroken * (work.dose > work.unbroken)
    here = _at(paced, work.rung)
    moved = np.where(here, share * pace.seconds, breaks) * chosen.doubt * (work.rung != REST)
    return np.asarray(np.hypot(moved.sum(-1) / np.maximum(pace.round_s, 1.0), PIECE_MODEL_SD), float)


def _headroom(work: _Work, chosen: Ability, paced: BoolArray, rounds: int) -> Array:
    """What is left at the end, (n, S): where a pace is held that of the day; of repetitions what a set has to spare."""
    day = np.broadcast_to(work.headroom[:, None], work.rung.shape)
    broken = 1.0 - work.dose / (BROKEN * np.maximum(chosen.most(rounds), 1e-6))
    return np.where(_at(paced, work.rung), day, np.maximum(broken, -1.0))


def _reasons(
    room: Room, rungs: Rungs, own: Ladder, work: _Work, untested: BoolArray, capped: BoolArray, circuit: Circuit
) -> IntArray:
    reason = np.where(work.dose < own.dose, Reason.OWN, Reason.AS_WRITTEN)
    reason = np.where(capped[:, None] & (reason == Reason.OWN), Reason.TIME, reason)
    reason = np.where(untested & (work.dose < own.dose), Reason.UNTESTED, reason)
    fewer = (work.rounds < circuit.rotations) & (circuit.format == "for_time")
    reason = np.where(fewer[:, None], Reason.UNACCUSTOMED, reason)
    reason = np.where((fewer & (room.week > 0))[:, None], Reason.NEWCOMER, reason)
    reason = np.where(rungs.rung == REST, Reason.REST, reason)
    if room.no_target is not None:
        reason = np.where(room.no_target[:, None], Reason.NO_TARGET, reason)
    return np.asarray(np.where(room.pinned, Reason.BY_HAND, reason), np.int64)


def _options(circuit: Circuit) -> Iterator[tuple[int, int, Option]]:
    for s, station in enumerate(circuit.stations):
        for rung, option in enumerate(station.options):
            yield s, rung, option


def _is_hold(circuit: Circuit, rung: IntArray) -> BoolArray:
    """Where seconds of a movement are held, (n, S)."""
    found = np.zeros(rung.shape, bool)
    for s, place, option in _options(circuit):
        found[:, s] |= (rung[:, s] == place) & (option.engine is None) & (option.dose_kind == "seconds")
    return found


def _at(values: Any, rung: IntArray) -> Any:
    """Values (n, S, L) at the chosen rungs."""
    return np.take_along_axis(values, np.maximum(rung, 0)[..., None], 2)[..., 0]


def _alike(table: IntArray) -> Iterator[IntArray]:
    """Rows that are the same, by their numbers."""
    _, group = np.unique(table, axis=0, return_inverse=True)
    group = group.reshape(-1)
    for number in range(group.max() + 1 if len(group) else 0):
        yield np.flatnonzero(group == number)
