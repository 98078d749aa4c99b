"""From a sequence and the athletes' capacities to an even pace: the one call for sequences.

Even effort: every leg is done at one common level e of an all-out effort of its own length, the same in every repeat,
and e is the largest level that holds to the end. The level counts what lies above CP (see `sequence_load`): so legs
are equally hard whatever the engine, though powers and speeds have unlike shares above CP.
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.best import RANGE_S, best_power, outside_range
from athletes.capacity.ergometer import pace_from_watts
from sessions.scaling.sequence_load import efforts, peak_load

MOST_STEPS = 100  # towards the level: 5 to 20 are usual, more where legs of seconds meet long ramps
LAST_STEP = 1e-10  # of the level
METRES_PER_KM = 1000.0


@dataclass(frozen=True, eq=False)
class Pacing:
    """Even effort of n athletes through N legs, repeats counted; arrays are (n, N) unless said otherwise."""

    level: np.ndarray  # (n,) e, the share of what an all-out effort of each leg would take out of W', 0 to 1
    hold: np.ndarray  # power to hold [W], running: speed [m/s]
    of_best: np.ndarray  # that as a share of the best even power for the time the leg takes
    pace_s: np.ndarray  # s per 500 m on row and ski, s per km on the run; NaN on the bike, which has no metres
    seconds: np.ndarray  # of each leg
    ends_s: np.ndarray  # when each leg ends, rests counted
    total_s: np.ndarray  # (n,) when the last one ends
    sd_log: np.ndarray  # (n,) SD of the logarithm of `total_s`; 0 where no covariance was given
    rough: np.ndarray  # (n,) a leg, or a stretch of legs without rest, is outside the range that the curve describes


def pace_sequence(sequence, engine_mean, engine_cov=None):
    """The `Pacing` of n athletes through a `Sequence`.

    `engine_mean[engine]` (n, 3) holds log CP, log W', log k as in a `Room`, `engine_cov[engine]` (n, 3, 3) the
    covariance. ValueError, with a plain sentence, for a sequence that cannot be paced or a missing estimate.
    """
    sequence.validate()
    engines = tuple(dict.fromkeys(leg.engine for leg in sequence.legs))
    theta = np.stack([_known(engine_mean, engine) for engine in engines])
    level, hold, seconds = _solve(sequence, engines, theta)
    own = [engines.index(leg.engine) for leg in sequence.legs]
    best = best_power(seconds, theta[own])
    pace_s = [_pace(leg.engine, power) for leg, power in zip(sequence.legs, hold, strict=True)]
    hold, of_best, pace_s, seconds = (
        np.tile(np.transpose(values), sequence.times) for values in (hold, hold / best, pace_s, seconds)
    )
    rest_s = np.tile([leg.rest_s for leg in sequence.legs], sequence.times)
    ends_s = np.cumsum(seconds + rest_s, -1) - rest_s
    return Pacing(
        level=level,
        hold=hold,
        of_best=of_best,
        pace_s=pace_s,
        seconds=seconds,
        ends_s=ends_s,
        total_s=ends_s[:, -1],
        sd_log=np.zeros(level.shape) if engine_cov is None else _log_sd(sequence, engines, theta, engine_cov),
        rough=outside_range(seconds).any(-1) | (_stretches(seconds, rest_s) > RANGE_S[1]).any(-1),
    )


def _known(by_engine, engine):
    """The arrays of one engine; ValueError where they are missing."""
    if engine not in by_engine or not np.isfinite(by_engine[engine]).all():
        raise ValueError(f"There is no estimate of an athlete's {engine}: enter a benchmark or leave the leg out.")
    return np.asarray(by_engine[engine], float)


def _solve(sequence, engines, theta):
    """The level (...), and power and seconds (L, ...) of each leg at it; `theta` (E, ..., 3).

    The load is the level times what hardly depends on it: a harder leg is a little shorter, and asks a little less than
    in proportion. So dividing by the load comes nearer with every step, from above.
    """
    level = np.ones(theta.shape[1:-1])
    for _ in range(MOST_STEPS):
        power, seconds = efforts(sequence, engines, theta, level)
        lower = level * (1.0 - sequence.headroom) / peak_load(sequence, engines, theta, power, seconds)
        moved = np.abs(lower / level - 1.0)
        level = lower
        if (moved < LAST_STEP).all():
            break
    return level, *efforts(sequence, engines, theta, level)


def _log_sd(sequence, engines, theta, engine_cov):
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
    _, _, seconds = _solve(sequence, engines, np.stack(points, 1))
    rest_s = sequence.times * sum(leg.rest_s for leg in sequence.legs) - sequence.legs[-1].rest_s
    log_total = np.log(sequence.times * seconds.sum(0) + rest_s).reshape(len(engines), 2, 3, -1)
    return np.sqrt(((0.5 * (log_total[:, 0] - log_total[:, 1])) ** 2).sum(1)).sum(0)


def _pace(engine, hold):
    """Pace in the engine's own unit, NaN on the bike."""
    if engine == "run":
        return METRES_PER_KM / hold
    return np.full(hold.shape, np.nan) if engine == "bike" else pace_from_watts(hold)


def _stretches(seconds, rest_s):
    """Seconds (n, N) worked at the end of each leg since the last rest."""
    worked, stretches = np.zeros(len(seconds)), []
    for leg, rested in enumerate(rest_s > 0.0):
        worked = worked + seconds[:, leg]
        stretches.append(worked)
        worked = worked * ~rested
    return np.stack(stretches, -1)
