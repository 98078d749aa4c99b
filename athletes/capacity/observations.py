"""From a benchmark as it was performed to what the estimates rest on: an average power (or rate) over a duration."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import ergometer
from athletes.capacity.arrays import Array
from athletes.capacity.constants import (
    KCAL_BASE_PER_H,
    KCAL_SLOPE_PER_W_H,
    LEVELS_OFF_DAYS,
    MISFIT_SD,
)

MINUTE_S = 60.0
# SD of the log rate of an unbroken best of a paced movement: its duration is worked out from a pace that was not taken,
# and it may have ended for other reasons than breath (ours).
UNBROKEN_RATE_SD = 0.12


def power_from_distance(engine: str, metres: ArrayLike, seconds: ArrayLike) -> Array:
    """Average power [W] of metres [m] in seconds [s]; for "run" the average speed [m/s].

    Scalars or arrays, NaN passes through. ValueError for a bike, whose metres mean something else on every machine,
    and for a distance or time that is not above zero.
    """
    _require_above_zero(metres=metres, seconds=seconds)
    if engine in ("row", "ski"):
        return ergometer.watts_for_metres(metres, seconds)
    if engine == "run":
        speed: Array = np.asarray(metres, float) / np.asarray(seconds, float)
        return speed
    raise ValueError("Metres on a bike do not convert to power: enter its calories instead.")


def power_from_kcal(
    engine: str,
    kcal: ArrayLike,
    seconds: ArrayLike,
    base: float = KCAL_BASE_PER_H,
    slope: float = KCAL_SLOPE_PER_W_H,
) -> Array:
    """Average power [W] of displayed calories [kcal] in seconds [s]; `base` and `slope` are the machine's.

    Scalars or arrays, NaN passes through. ValueError for a run, for a value that is not above zero, and for calories
    that the monitor's base alone would show in that time.
    """
    if engine == "run":
        raise ValueError("A run has no calories: enter its metres instead.")
    _require_above_zero(calories=kcal, seconds=seconds)
    watts = ergometer.watts_for_kcal(kcal, seconds, base, slope)
    if (watts <= 0).any():
        raise ValueError("These calories are no more than the monitor counts at rest: check calories and time.")
    return watts


def rate_in_time(repetitions: ArrayLike, seconds: ArrayLike) -> tuple[Array, Array]:
    """Average rate [rep/min] and duration [s] of the most repetitions in a time, or of the time for repetitions.

    Broadcasts, NaN passes through. 0 repetitions are a rate of 0: the athlete cannot do one. ValueError for a time that
    is not above zero, and for fewer repetitions than none.
    """
    _require_above_zero(seconds=seconds)
    count, duration = np.broadcast_arrays(np.asarray(repetitions, float), np.asarray(seconds, float))
    if (count < 0).any():
        raise ValueError("Repetitions cannot be fewer than none.")
    return MINUTE_S * count / duration, duration


def rate_of_unbroken(repetitions: ArrayLike, seconds_per_repetition: ArrayLike) -> tuple[Array, Array]:
    """Average rate [rep/min] and duration [s] of an unbroken best of a paced movement, at the movement's usual pace.

    It lasts repetitions × seconds per repetition; its SD is `UNBROKEN_RATE_SD`. 0 repetitions are a rate of 0 over a
    minute. Broadcasts, NaN passes through. ValueError as in `rate_in_time`.
    """
    count = np.asarray(repetitions, float)
    return rate_in_time(count, np.where(count == 0, MINUTE_S, count * np.asarray(seconds_per_repetition, float)))


def effort_sd(trial_sd: ArrayLike, age_days: ArrayLike, drift_sd: float) -> Array:
    """SD of the log of an effort of a given age [days]: its trial noise, and what an athlete may have changed since.

    The variance of the change grows evenly and levels off after `LEVELS_OFF_DAYS` at `drift_sd`² (`ENGINE_DRIFT_SD` for
    engines and paced movements, `STRENGTH_DRIFT_SD` for the rest). An effort dated later than the day of the estimate
    counts as fresh.
    """
    passed = np.clip(np.asarray(age_days, float) / LEVELS_OFF_DAYS, 0.0, 1.0)
    sd: Array = np.hypot(np.asarray(trial_sd, float), drift_sd * np.sqrt(passed))
    return sd


def shared_drift_sd(trial_sd: Sequence[float], age_days: Sequence[float], drift_sd: float) -> float:
    """SD of the log by which a mean of efforts may be off beyond what their own SDs (`effort_sd`) leave, 0 for one.

    Whoever has changed since the newest effort has changed since all of them, and no number of efforts averages that
    away: as of a walk at random, two efforts share the change since the newer one. Efforts count by their precision.
    """
    passed = [min(max(age / LEVELS_OFF_DAYS, 0.0), 1.0) for age in age_days]
    variances = [sd**2 + drift_sd**2 * share + MISFIT_SD**2 for sd, share in zip(trial_sd, passed, strict=True)]
    left, shared = sum(1.0 / variance for variance in variances), 0.0
    total = left
    for share, variance in sorted(zip(passed, variances, strict=True)):  # the newest first: the others are older
        left -= 1.0 / variance
        shared += 2.0 * share * left / variance
    return drift_sd * math.sqrt(max(shared, 0.0)) / total if total else 0.0


def _require_above_zero(**values: ArrayLike) -> None:
    for name, value in values.items():
        if (np.asarray(value, float) <= 0).any():
            raise ValueError(f"An effort needs {name} above zero.")
