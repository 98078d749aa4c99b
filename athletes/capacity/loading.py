"""Which loads a gym can make from what it owns, and the heaviest of them that is not too heavy."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from athletes.capacity.constants import ONE_REP_MAX_BOUNDS_KG

MOST_LOADS = 5000  # different ones on a bar: plates of eight sizes and ten pairs each make fewer (ours)
MOST_AT_ONCE = 1_000_000  # totals held before equal ones are merged (ours)
GRAM = 3  # decimals of a kilogram: loads that agree to the gram are one
SLACK_KG = 1e-6  # forgives the floating point, never a plate
TOO_MANY = f"These plates make more than {MOST_LOADS} different loads: leave out the smallest ones."


def bar_loads(bar_kg: float, pairs: Mapping[float, float]) -> Array:
    """Every load [kg] that a bar can carry, ascending: the empty bar, and the bar with any of the plates owned.

    `pairs` is {weight of one plate [kg]: number of pairs}; plates go on in pairs, one a side. Loads that nobody lifts
    are left out. Equal totals are merged after each size of plate, so that many plates do not multiply; ValueError
    where more than `MOST_LOADS` different ones remain, and for a weight or number that makes no sense.
    """
    if not 0 < bar_kg < np.inf:
        raise ValueError("A bar weighs more than zero kilograms.")
    loads, heaviest = np.array([float(bar_kg)]), max(bar_kg, ONE_REP_MAX_BOUNDS_KG[1])
    for plate_kg, count in pairs.items():
        if not (0 < plate_kg < np.inf and 0 <= count < np.inf and count == int(count)):
            raise ValueError("Give plates as a weight above zero and a whole number of pairs.")
        usable = min(int(count), int((heaviest - bar_kg) / (2 * plate_kg)))
        if len(loads) * (usable + 1) > MOST_AT_ONCE:
            raise ValueError(TOO_MANY)
        loads = (loads[:, None] + 2 * plate_kg * np.arange(usable + 1)).ravel()
        loads = _to_the_gram(loads[loads <= heaviest + SLACK_KG])
        if len(loads) > MOST_LOADS:
            raise ValueError(TOO_MANY)
    return loads


def heaviest_at_most(load: ArrayLike, loads: ArrayLike) -> Array:
    """The heaviest of `loads` [kg, (m,), in any order] that is not above `load` [kg, any shape].

    NaN where even the lightest is too heavy, where there are none, and where `load` is NaN.
    """
    load, loads = np.asarray(load, float), np.sort(np.asarray(loads, float).ravel())
    place = np.searchsorted(loads, load + SLACK_KG, side="right")
    # NaN sorts behind every load: it must not come out as the heaviest
    return np.where(np.isnan(load), np.nan, np.concatenate([[np.nan], loads])[place])


def _to_the_gram(loads: Array) -> Array:
    """One of each group of loads that agree to the gram, with all its digits: rounding must not add up over plates."""
    return loads[np.unique(np.round(loads, GRAM), return_index=True)[1]]
