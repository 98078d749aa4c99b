"""From a sequence and the athletes' capacities to an even pace: the one call for sequences.

Even effort: every leg is done at one common level e of an all-out effort of its own length, the same in every repeat,
and e is the largest level that holds to the end. The level counts what lies above CP: so legs are equally hard whatever
the engine, though powers and speeds have unlike shares above CP.

At level e a leg is done at P = (1 − h)·(CP + e·(best − CP)), best the best even power for the time it takes and h the
headroom: divided by 1 − h it can just be held. That asks x = (P / (1 − h) − CP)·t / W' of its own engine and c·x of
every other one. At its end the load of its engine is what is left of all that has been asked so far, and (k / t)·x
more, which must be left to hold P at the end: so alone it is e.

Nothing recovers during a leg, on any engine (working model): what one engine takes from heart and lungs the others
lack. The mean demand of other stations in a circuit, `OTHER_WORK_SHARE`, is for mixed minutes; in hard legs it would
let so much come back that 800 m run and 750 m row, four times without rest, came out faster than 2,000 m run alone. In
rest all fades as in `fade`, with each engine's own constant.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray
from athletes.capacity.best import RANGE_S, best_power, best_time_for_distance, best_time_for_kcal, outside_range
from athletes.capacity.ergometer import pace_from_watts
from sessions.scaling.constants import COUPLING, REFILL, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.engine import fast_tau
from sessions.scaling.sequence import Leg, Sequence

MOST_STEPS = 100  # towards the level: 5 to 20 are usual, more where legs of seconds meet long ramps
LAST_STEP = 1e-10  # of the level
METRES_PER_KM = 1000.0
# Of two engines (working model). Hard arm-cranking beforehand leaves CP on the bike as it is and 11.8 of 17.3 kJ of W'
# (Johnson et al. 2014, Med Sci Sports Exerc 46:802–808): as the coupling has it in full, few as the shared muscles are.
ENGINE_OVERLAP = 1.0


@dataclass(frozen=True, eq=False)
class Pacing:
    """Even effort of n athletes through N legs, repeats counted; arrays are (n, N) unless said otherwise."""

    level: Array  # (n,) e, the share of what an all-out effort of each leg would take out of W'; above 0, at most 1
    hold: Array  # power to hold [W], running: speed [m/s]
    of_best: Array  # that as a share of the best even power for the time the leg takes
    pace_s: Array  # s per 500 m on row and ski, s per km on the run; NaN on the bike, which has no metres
    seconds: Array  # of each leg
    ends_s: Array  # when each leg ends, rests counted
    total_s: Array  # (n,) when the last one ends
    sd_log: Array  # (n,) SD of the logarithm of `total_s`; 0 where no covariance was given
    rough: BoolArray  # (n,) a leg, or a stretch of legs without rest, is outside the range that the curve describes


def pace_sequence(
    sequence: Sequence,
    engine_mean: Mapping[str, Array],
    engine_cov: Mapping[str, Array] | None = None,
    refill: ArrayLike = REFILL,
) -> Pacing:
    """The `Pacing` of n athletes through a `Sequence`.

    `engine_mean[engine]` (n, 3) holds log CP, log W', log k as in a `Room`, `engine_cov[engine]` (n, 3, 3) the
    covariance; `refill` is ρ of the fatigue, one number or (n,). ValueError, with a plain sentence, for a sequence that
    cannot be paced or a missing estimate.
    """
    sequence.validate()
    engines = tuple(dict.fromkeys(leg.engine for leg in sequence.legs))
    theta = np.stack([_known(engine_mean, engine) for engine in engines])
    level, hold, seconds = _solve(sequence, engines, theta, refill)
    own = [engines.index(leg.engine) for leg in sequence.legs]
    best = best_power(seconds, theta[own])
    pace_s = [_pace(leg.engine, power) for leg, power in zip(sequence.legs, hold, strict=True)]
    hold, of_best, pace, seconds = (
        np.tile(np.transpose(values), sequence.times) for values in (hold, hold / best, np.stack(pace_s), seconds)
    )
    rest_s = np.tile([leg.rest_s for leg in sequence.legs], sequence.times)
    ends_s = np.cumsum(seconds + rest_s, -1) - rest_s
    return Pacing(
        level=level,
        hold=hold,
        of_best=of_best,
        pace_s=pace,
        seconds=seconds,
        ends_s=ends_s,
        total_s=ends_s[:, -1],
        sd_log=np.zeros(level.shape) if engine_cov is None else _log_sd(sequence, engines, theta, engine_cov, refill),
        rough=np.asarray(outside_range(seconds).any(-1) | (_stretches(seconds, rest_s) > RANGE_S[1]).any(-1), bool),
    )


def _known(by_engine: Mapping[str, Array], engine: str) -> Array:
    """The arrays of one engine; ValueError where they are missing."""
    if engine not in by_engine or not np.isfinite(by_engine[engine]).all():
        raise ValueError(f"There is no estimate of an athlete's {engine}: enter a benchmark or leave the leg out.")
    return np.asarray(by_engine[engine], float)


def _solve(sequence: Sequence, engines: tuple[str, ...], theta: Array, refill: ArrayLike) -> tuple[Array, Array, Array]:
    """The level (...), and power and seconds (L, ...) of each leg at it; `theta` (E, ..., 3).

    The load is the level times what hardly depends on it: a harder leg is a little shorter, and asks a little less than
    in proportion. So dividing by the load comes nearer with every step, from above.
    """
    level = np.ones(theta.shape[1:-1])
    for _ in range(MOST_STEPS):
        power, seconds = efforts(sequence, engines, theta, level)
        lower = level / peak_load(sequence, engines, theta, power / (1.0 - sequence.headroom), seconds, refill)
        moved = np.abs(lower / level - 1.0)
        level = lower
        if (moved < LAST_STEP).all():
            break
    power, seconds = efforts(sequence, engines, theta, level)
    return level, power, seconds


def _log_sd(
    sequence: Sequence, engines: tuple[str, ...], theta: Array, engine_cov: Mapping[str, Array], refill: ArrayLike
) -> Array:
    """SD (n,) of the log of the total time, from one SD either way along each axis of each engine's estimate.

    The engines' SDs are added, as if all estimates were off to the same side: they share a prior, so they mostly are.
    """
    points = []
    for e, engine in enumerate(engines):
        variance, axes = np.linalg.eigh(_known(engine_cov, engine))
        along = np.moveaxis(axes * np.sqrt(np.maximum(variance, 0.0))[:, None, :], -1, 0)
        for step in (*along, *-along):
            moved = theta.copy()
            moved[e] += step
            points.append(moved)
    _, _, seconds = _solve(sequence, engines, np.stack(points, 1), refill)
    rest_s = sequence.times * sum(leg.rest_s for leg in sequence.legs) - sequence.legs[-1].rest_s
    log_total = np.log(sequence.times * seconds.sum(0) + rest_s).reshape(len(engines), 2, 3, -1)
    return np.asarray(np.sqrt(((0.5 * (log_total[:, 0] - log_total[:, 1])) ** 2).sum(1)).sum(0), float)


def _pace(engine: str, hold: Array) -> Array:
    """Pace in the engine's own unit, NaN on the bike."""
    if engine == "run":
        return np.asarray(METRES_PER_KM / hold, float)
    return np.asarray(np.full(hold.shape, np.nan) if engine == "bike" else pace_from_watts(hold), float)


def _stretches(seconds: Array, rest_s: Array) -> Array:
    """Seconds (n, N) worked at the end of each leg since the last rest."""
    worked, stretches = np.zeros(len(seconds)), []
    for leg, rested in enumerate(rest_s > 0.0):
        worked = worked + seconds[:, leg]
        stretches.append(worked)
        worked = worked * ~rested
    return np.stack(stretches, -1)


def efforts(sequence: Sequence, engines: tuple[str, ...], theta: Array, level: Array) -> tuple[Array, Array]:
    """Power [W] (running: speed) and seconds of each leg, two arrays (L, ...), at a level (...), 0 < e <= 1.

    `theta` (E, ..., 3) holds log CP, log W' and log k of each of `engines`. At level e and with headroom an athlete is
    one with 1 − h times the CP and e·(1 − h) times the W'.
    """
    kept = np.log(1.0 - sequence.headroom)
    reduced = theta + kept * np.array([1.0, 1.0, 0.0]) + np.log(level)[..., None] * np.array([0.0, 1.0, 0.0])
    done: dict[Leg, tuple[Array, Array]] = {}
    for leg in map(_without_rest, sequence.legs):
        if leg not in done:  # equal legs are worked out once
            own = reduced[engines.index(leg.engine)]
            seconds = np.broadcast_to(_seconds(leg, own), own.shape[:-1])
            done[leg] = best_power(seconds, own), seconds
    legs = [done[_without_rest(leg)] for leg in sequence.legs]
    return np.stack([power for power, _ in legs]), np.stack([seconds for _, seconds in legs])


def peak_load(
    sequence: Sequence,
    engines: tuple[str, ...],
    theta: Array,
    power: Array,
    seconds: Array,
    refill: ArrayLike = REFILL,
) -> Array:
    """Highest load (...) at the end of any leg, as a share of the capacity; arguments as in and from `efforts`;
    `refill` is ρ."""
    critical_power, w_prime, ramp_s = np.exp(np.moveaxis(theta, -1, 0))
    tau_s = np.stack(np.broadcast_arrays(fast_tau(critical_power, w_prime, 0.0, refill), SLOW_TAU_S))
    # Both (2, E, ...), fast and slow: the fatigue of a round, and what is left of that from before it
    fatigue, left = np.zeros(tau_s.shape), np.ones(tau_s.shape)
    ends = []
    for leg, watts, worked_s in zip(sequence.legs, power, seconds, strict=True):
        own = engines.index(leg.engine)
        asked = (watts - critical_power[own]) * worked_s / w_prime[own]
        fatigue = fatigue + _divided(asked, own, len(engines))
        ends.append((own, fatigue[:, own], left[:, own], ramp_s[own] / worked_s * asked))
        rested = np.exp(-leg.rest_s / tau_s)
        fatigue, left = fatigue * rested, left * rested
    before = np.zeros(fatigue.shape)
    for _ in range(sequence.times - 1):
        before = before * left + fatigue
    # No earlier round asks more than the last one
    return np.asarray(
        np.max([(new + old * before[:, own]).sum(0) + ramp for own, new, old, ramp in ends], axis=0), float
    )


def _without_rest(leg: Leg) -> Leg:
    return replace(leg, rest_s=0.0)


def _seconds(leg: Leg, theta: Array) -> Array:
    """Shortest time [s] for a leg."""
    if leg.kind == "metres":
        return np.asarray(best_time_for_distance(leg.engine, leg.amount, theta), float)
    if leg.kind == "kcal":
        return np.asarray(best_time_for_kcal(leg.amount, theta, leg.kcal_base, leg.kcal_slope), float)
    return np.asarray(leg.amount, float)


def _divided(asked: Array, own: int, engines: int) -> Array:
    """What a leg adds to the fatigue of every engine, (2, E, ...): the part that fades fast, and the slow one."""
    share = np.full(engines, COUPLING * ENGINE_OVERLAP)
    share[own] = 1.0
    return np.asarray(np.multiply.outer(np.outer([1.0 - SLOW_SHARE, SLOW_SHARE], share), asked), float)
