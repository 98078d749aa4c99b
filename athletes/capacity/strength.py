"""One-repetition maxima and loads.

The equations predict a maximum from a set to failure, and are valid up to `REPETITION_LIMIT` repetitions
(Reynolds et al. 2006, J Strength Cond Res 20:584–592); beyond it the caller says so to the user.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from athletes.capacity.constants import REPETITION_TABLE, REPETITIONS_AT_LOAD_CAP

# One-repetition maximum as a multiple of the load, from repetitions r. Epley 1985; Brzycki 1993, JOPERD 64:88–90;
# Lombardi 1989; Mayhew et al. 1992; O'Conner et al. 1989; Wathan 1994; Lander 1985 (details from memory).
EQUATIONS: dict[str, Callable[[Array], Array]] = {
    "epley": lambda r: 1.0 + r / 30.0,
    "brzycki": lambda r: 36.0 / (37.0 - r),
    "lombardi": lambda r: r**0.10,
    "mayhew": lambda r: 100.0 / (52.2 + 41.9 * np.exp(-0.055 * r)),
    "oconner": lambda r: 1.0 + 0.025 * r,
    "wathan": lambda r: 100.0 / (48.8 + 53.8 * np.exp(-0.075 * r)),
    "lander": lambda r: 100.0 / (101.3 - 2.67123 * r),
}


def one_rep_max(load_kg: ArrayLike, repetitions: ArrayLike, equation: str = "epley") -> Array:
    """One-repetition maximum [kg] from a load [kg] lifted for `repetitions` >= 1; everything broadcasts, NaN passes.

    A single repetition is its own maximum: most equations miss that. ValueError for an unknown equation, fewer
    repetitions than one, or more than the equation reaches (Brzycki and Lander have a pole near 37).
    """
    if equation not in EQUATIONS:
        raise ValueError(f"Unknown equation {equation!r}: use one of {', '.join(EQUATIONS)}.")
    repetitions = np.asarray(repetitions, float)
    if (repetitions < 1).any():
        raise ValueError("A maximum needs at least one repetition.")
    with np.errstate(divide="ignore"):
        multiple = np.where(repetitions == 1, 1.0, EQUATIONS[equation](repetitions))
    if not (np.isnan(multiple) | ((multiple > 0) & np.isfinite(multiple))).all():
        raise ValueError("This equation does not reach so many repetitions: use a heavier set.")
    return np.asarray(load_kg, float) * multiple


def load_for_repetitions(one_rep_max_kg: ArrayLike, repetitions: ArrayLike) -> Array:
    """Load [kg] for 1 to 10 whole repetitions, by the repetition table; everything broadcasts.

    ValueError outside the table, which is not interpolated or continued: published copies disagree beyond 10.
    """
    repetitions = np.asarray(repetitions, float)
    last = len(REPETITION_TABLE)
    if not ((repetitions >= 1) & (repetitions <= last) & (repetitions == np.floor(repetitions))).all():
        raise ValueError(f"The repetition table has 1 to {last} whole repetitions: choose longer sets' loads by hand.")
    load: Array = np.asarray(one_rep_max_kg, float) * np.array(REPETITION_TABLE)[repetitions.astype(int) - 1]
    return load


def repetitions_at_load(one_rep_max_kg: ArrayLike, load_kg: ArrayLike) -> Array:
    """Most repetitions at a load [kg, > 0]: the inverse of Epley's equation, at most `REPETITIONS_AT_LOAD_CAP`.

    1 at the maximum itself and a little below, where the equation says less; 0 above it. Broadcasts, NaN passes.
    """
    ratio = np.asarray(one_rep_max_kg, float) / np.asarray(load_kg, float)
    repetitions = np.clip(30.0 * (ratio - 1.0), 1.0, REPETITIONS_AT_LOAD_CAP)
    return np.where(ratio < 1.0, 0.0, repetitions)
