"""Session load, and how evenly a week's load is spread.

Foster et al. 2001, "A new approach to monitoring exercise training", J Strength Cond Res 15(1):109–115 (session load);
Foster 1998, "Monitoring training in athletes with reference to overtraining syndrome", Med Sci Sports Exerc
30(7):1164–1168 (monotony, strain). They describe what was done; they foretell no injury. The ratio of acute to chronic
load is left out on purpose: its acute week is a part of its chronic mean (Lolli et al. 2019, Br J Sports Med 53:921).
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array

DAYS = 7
EQUAL = 1e-9  # of the mean: days that differ by less are equal


def session_load(rpe: ArrayLike, minutes: ArrayLike) -> Array:
    """Load [arbitrary units] of a session: RPE on the CR-10 scale, 0 to 10, × minutes with warm-up and rests.

    Broadcasts; NaN where either is not known. ValueError for an RPE or a length that cannot be.
    """
    exertion, length = np.asarray(rpe, float), np.asarray(minutes, float)
    if np.any((exertion < 0) | (exertion > 10)):
        raise ValueError("An RPE is a number from 0 to 10.")
    if np.any(length < 0):
        raise ValueError("The minutes of a session cannot be fewer than none.")
    load: Array = exertion * length
    return load


def monotony(daily: ArrayLike) -> Array:
    """Mean over SD (n − 1) of seven daily loads (..., 7); a day of rest is 0, a day that is not known NaN.

    NaN, for “not defined”, where a day is not known, and where all days are equal: never a large number in its place.
    """
    daily = _days(daily)
    mean, sd = daily.mean(-1), daily.std(-1, ddof=1)
    spread = sd > EQUAL * np.abs(mean)
    return np.where(spread, mean / np.where(spread, sd, 1.0), np.nan)


def strain(daily: ArrayLike) -> Array:
    """Load of the week × monotony [arbitrary units], (...) of (..., 7); NaN where the monotony is."""
    total: Array = _days(daily).sum(-1)
    return total * monotony(daily)


def _days(daily: ArrayLike) -> Array:
    daily = np.asarray(daily, float)
    if daily.ndim == 0 or daily.shape[-1] != DAYS:
        raise ValueError("Monotony needs the loads of seven days.")
    return daily
