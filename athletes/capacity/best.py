"""The best that an estimate predicts: how far, how many calories, how fast, and how sure that is.

`theta` (..., 3) holds log CP, log W', log k (running: m/s, m, s) and `covariance` (..., 3, 3) belongs to it; everything
broadcasts over their leading axes. SDs are of the logarithm, by the delta method.
"""

from collections.abc import Callable
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import ergometer
from athletes.capacity.arrays import Array, BoolArray
from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from athletes.capacity.power_duration import log_power, log_power_gradient, log_power_sd

# The durations that the curve describes, s (common practice, 0.5 to 20 min); an answer outside is a rough one
RANGE_S = (30.0, 1200.0)
INTERVAL_SHARE = 0.80  # of the probability inside an interval, where nothing else is asked for (ours)

TIME_BOUNDS_S = (1e-2, 1e6)  # where a best time is looked for
START_S = 120.0  # and from where
MOST_STEPS = 90  # Newton takes about 5; halving alone would take 60
LAST_STEP = 1e-14  # in log units


def outside_range(duration_s: ArrayLike) -> BoolArray:
    """Whether a duration [s] lies outside the range that the curve describes, or is not known; broadcasts."""
    low, high = RANGE_S
    duration_s = np.asarray(duration_s, float)
    return ~((duration_s >= low) & (duration_s <= high))


def best_power(duration_s: ArrayLike, theta: ArrayLike) -> Array:
    """Best even power [W] (running: speed, m/s) for a duration [s, > 0]."""
    return np.exp(log_power(duration_s, theta))


def best_distance(engine: str, duration_s: ArrayLike, theta: ArrayLike) -> Array:
    """Most metres [m] in a duration [s, > 0] on "row", "ski" or "run"; ValueError for a bike."""
    _metres_share(engine)
    power = best_power(duration_s, theta)
    if engine != "run":
        return ergometer.metres_in(duration_s, power)
    metres: Array = power * np.asarray(duration_s, float)
    return metres


def best_distance_sd(engine: str, duration_s: ArrayLike, theta: ArrayLike, covariance: Array) -> Array:
    """SD of the log of `best_distance`."""
    return _metres_share(engine) * log_power_sd(duration_s, theta, covariance)


def best_kcal(
    duration_s: ArrayLike, theta: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H
) -> Array:
    """Most displayed calories [kcal] in a duration [s, > 0]."""
    return ergometer.kcal_in(duration_s, best_power(duration_s, theta), base, slope)


def best_kcal_sd(
    duration_s: ArrayLike,
    theta: ArrayLike,
    covariance: Array,
    base: float = KCAL_BASE_PER_H,
    slope: float = KCAL_SLOPE_PER_W_H,
) -> Array:
    """SD of the log of `best_kcal`."""
    return _kcal_share(duration_s, theta, base, slope) * log_power_sd(duration_s, theta, covariance)


def best_time_for_distance(engine: str, metres: ArrayLike, theta: ArrayLike) -> Array:
    """Shortest time [s] for metres [m, > 0] at an even power; on an ergometer the root of 2.80·(d/t)³ = P(t)."""
    share = _metres_share(engine)
    return _time_for(lambda seconds: (best_distance(engine, seconds, theta), share), metres, theta)


def best_time_for_distance_sd(engine: str, metres: ArrayLike, theta: ArrayLike, covariance: Array) -> Array:
    """SD of the log of `best_time_for_distance`."""
    return _time_sd(best_time_for_distance(engine, metres, theta), _metres_share(engine), theta, covariance)


def best_time_for_kcal(
    kcal: ArrayLike, theta: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H
) -> Array:
    """Shortest time [s] for displayed calories [kcal, > 0] at an even power."""

    def amount(seconds: Array) -> tuple[Array, Array]:
        return best_kcal(seconds, theta, base, slope), _kcal_share(seconds, theta, base, slope)

    return _time_for(amount, kcal, theta)


def best_time_for_kcal_sd(
    kcal: ArrayLike,
    theta: ArrayLike,
    covariance: Array,
    base: float = KCAL_BASE_PER_H,
    slope: float = KCAL_SLOPE_PER_W_H,
) -> Array:
    """SD of the log of `best_time_for_kcal`."""
    seconds = best_time_for_kcal(kcal, theta, base, slope)
    return _time_sd(seconds, _kcal_share(seconds, theta, base, slope), theta, covariance)


def interval(best: ArrayLike, sd_log: ArrayLike, share: float = INTERVAL_SHARE) -> tuple[Array, Array]:
    """Lower and upper end of the interval around a prediction that holds a `share` of the probability, 0 to 1."""
    reach = np.exp(NormalDist().inv_cdf(0.5 + 0.5 * share) * np.asarray(sd_log, float))
    middle = np.asarray(best, float)
    return middle / reach, middle * reach


def _metres_share(engine: str) -> float:
    """Relative rise of the metres in a given time with the power (running: speed)."""
    if engine == "run":
        return 1.0
    if engine in ("row", "ski"):
        return 1.0 / 3.0
    raise ValueError("A bike's metres do not convert: ask for calories instead.")


def _kcal_share(duration_s: ArrayLike, theta: ArrayLike, base: float, slope: float) -> Array:
    """Relative rise of the calories in a given time with the power."""
    by_work = slope * best_power(duration_s, theta)
    return by_work / (base + by_work)


def _rise_with_time(seconds: Array, share: float | Array, theta: ArrayLike) -> Array:
    """Relative rise of an amount with the time that it is worked for: above 0, for the power falls slower than 1/t."""
    gradient = log_power_gradient(seconds, theta)
    return 1.0 - share * (gradient[..., 1] + gradient[..., 2])


def _time_sd(seconds: Array, share: float | Array, theta: ArrayLike, covariance: Array) -> Array:
    """SD of a log time by the implicit function: along amount(t, θ) = constant, d log t = −share·d log P / rise."""
    return share * log_power_sd(seconds, theta, covariance) / _rise_with_time(seconds, share, theta)


def _time_for(amount: Callable[[Array], tuple[Array, float | Array]], wanted: ArrayLike, theta: ArrayLike) -> Array:
    """Time at which an amount that grows with time reaches what is wanted; NaN where an input is.

    `amount(seconds)` gives it and its `share`. Newton's method on a log scale, halving where a step leaves the bracket.
    """
    log_wanted = np.log(np.asarray(wanted, float))
    shape = np.broadcast_shapes(log_wanted.shape, np.shape(theta)[:-1])
    low, high = (np.full(shape, np.log(bound)) for bound in TIME_BOUNDS_S)
    here = np.full(shape, np.log(START_S))
    for _ in range(MOST_STEPS):
        now, share = amount(np.exp(here))
        excess = np.log(now) - log_wanted
        low, high = np.where(excess < 0, here, low), np.where(excess < 0, high, here)
        next_ = here - excess / _rise_with_time(np.exp(here), share, theta)
        next_ = np.where((next_ < low) | (next_ > high), 0.5 * (low + high), next_)
        moved = np.abs(next_ - here) > LAST_STEP
        here = next_
        if not moved.any():
            break
    seconds: Array = np.exp(here)
    return seconds
