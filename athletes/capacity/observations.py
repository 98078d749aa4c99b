"""From a benchmark effort as it was performed to what the estimates rest on: an average power over a duration."""

import numpy as np

from athletes.capacity import ergometer
from athletes.capacity.constants import AGE_DOUBLING_DAYS, KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H


def power_from_distance(engine, metres, seconds):
    """Average power [W] of metres [m] in seconds [s]; for "run" the average speed [m/s].

    Scalars or arrays, NaN passes through. ValueError for a bike, whose metres mean something else on every machine,
    and for a distance or time that is not above zero.
    """
    _require_above_zero(metres=metres, seconds=seconds)
    if engine in ("row", "ski"):
        return ergometer.watts_for_metres(metres, seconds)
    if engine == "run":
        return np.asarray(metres, float) / seconds
    raise ValueError("Metres on a bike do not convert to power: enter its calories instead.")


def power_from_kcal(engine, kcal, seconds, base=KCAL_BASE_PER_H, slope=KCAL_SLOPE_PER_W_H):
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


def effort_sd(base_sd, age_days):
    """SD of the log of an effort of a given age [days]: it doubles every `AGE_DOUBLING_DAYS`.

    An effort dated later than the day of the estimate counts as fresh.
    """
    return base_sd * 2.0 ** (np.maximum(age_days, 0.0) / AGE_DOUBLING_DAYS)


def _require_above_zero(**values):
    for name, value in values.items():
        if (np.asarray(value, float) <= 0).any():
            raise ValueError(f"An effort needs {name} above zero.")
