"""Is this result right? Asked while it is typed in; nothing is ever refused or deleted for being surprising."""

from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, IntArray
from athletes.capacity.constants import (
    ONE_REP_MAX_BOUNDS_KG,
    POWER_BOUNDS_W,
    RATE_BOUNDS_PER_MIN,
    REPETITIONS_BOUNDS,
    RUN_SPEED_BOUNDS_M_PER_S,
    SHORTEST_EFFORT_S,
    SURPRISE_SD,
)
from athletes.capacity.power_duration import log_power, log_power_sd


class Doubt(IntEnum):
    """What is odd about a result."""

    NONE = 0
    IMPOSSIBLE = 1  # outside what people can do
    FAR_ABOVE = 2  # of what this athlete's other results let one expect
    FAR_BELOW = 3
    TOO_SHORT = 4  # for an average to mean anything


SENTENCES = {
    Doubt.NONE: "",
    Doubt.IMPOSSIBLE: "This cannot be right as it stands. Check the number and its unit.",
    Doubt.FAR_ABOVE: "This is far better than expected for this athlete. Is it right?",
    Doubt.FAR_BELOW: "This is far below what is expected for this athlete. Is it right?",
    Doubt.TOO_SHORT: "An effort this short says little. Check the time.",
}

JUST_BELOW_ONE = 0.9


def surprise(observed: ArrayLike, expected_log: ArrayLike, expected_sd: ArrayLike, trial_sd: ArrayLike) -> Array:
    """How many SDs of its own prediction a result is above (+) or below (−) the expected one; broadcasts.

    `observed` >= 0 in any unit (0, none at all, counts as just below one), `expected_log` the log of the expectation in
    the same unit, `expected_sd` and `trial_sd` the SDs of the estimate and of a trial, in the logarithm.
    """
    shown = np.asarray(observed, float)
    log_shown = np.log(np.where(shown == 0, JUST_BELOW_ONE, shown))
    away: Array = (log_shown - np.asarray(expected_log, float)) / np.hypot(expected_sd, trial_sd)
    return away


def nearest(away: ArrayLike) -> Array:
    """Of surprises (..., 3) of a result and of the next ones below and above it that are shown, the one nearest
    to what is expected; 0 where that lies between them."""
    away = np.asarray(away, float)
    between = (away.min(-1) <= 0) & (away.max(-1) >= 0)
    at = np.abs(away).argmin(-1)
    found: Array = np.where(between, 0.0, np.take_along_axis(away, at[..., None], -1)[..., 0])
    return found


def effort_surprise(
    power_w: ArrayLike, duration_s: ArrayLike, trial_sd: ArrayLike, theta: ArrayLike, covariance: Array
) -> Array:
    """`surprise` of an average power (running: speed) over a duration [s], against an engine's estimate."""
    return surprise(power_w, log_power(duration_s, theta), log_power_sd(duration_s, theta, covariance), trial_sd)


def doubt_effort(engine: str, power_w: ArrayLike, duration_s: ArrayLike, surprise_sd: ArrayLike = 0.0) -> IntArray:
    """The `Doubt` codes of efforts on an engine: power [W] (running: speed, m/s) over a duration [s]; broadcasts."""
    doubt = _doubt(power_w, effort_bounds(engine), surprise_sd)
    return np.where((doubt != Doubt.IMPOSSIBLE) & (np.asarray(duration_s) < SHORTEST_EFFORT_S), Doubt.TOO_SHORT, doubt)


def effort_bounds(engine: str) -> tuple[float, float]:
    """What people can do on an engine, from and to: power [W], running speed [m/s]."""
    return RUN_SPEED_BOUNDS_M_PER_S if engine == "run" else POWER_BOUNDS_W


def doubt_repetitions(repetitions: ArrayLike, surprise_sd: ArrayLike = 0.0) -> IntArray:
    """The `Doubt` codes of unbroken repetitions; broadcasts."""
    return _doubt(repetitions, REPETITIONS_BOUNDS, surprise_sd)


def doubt_rate(repetitions_per_min: ArrayLike, surprise_sd: ArrayLike = 0.0) -> IntArray:
    """The `Doubt` codes of the average rate of a paced movement [rep/min]; broadcasts."""
    return _doubt(repetitions_per_min, RATE_BOUNDS_PER_MIN, surprise_sd)


def doubt_one_rep_max(one_rep_max_kg: ArrayLike, surprise_sd: ArrayLike = 0.0) -> IntArray:
    """The `Doubt` codes of one-repetition maxima [kg]; broadcasts."""
    return _doubt(one_rep_max_kg, ONE_REP_MAX_BOUNDS_KG, surprise_sd)


def sentence(doubt: int) -> str:
    """What to ask the person who typed the result; empty where nothing is odd."""
    return SENTENCES[Doubt(int(doubt))]


def _doubt(value: ArrayLike, bounds: tuple[float, float], surprise_sd: ArrayLike) -> IntArray:
    value, surprise_sd = np.asarray(value, float), np.asarray(surprise_sd, float)
    low, high = bounds
    possible = (value >= low) & (value <= high)
    return np.select(
        [~possible, surprise_sd > SURPRISE_SD, surprise_sd < -SURPRISE_SD],
        [Doubt.IMPOSSIBLE, Doubt.FAR_ABOVE, Doubt.FAR_BELOW],
        Doubt.NONE,
    )
