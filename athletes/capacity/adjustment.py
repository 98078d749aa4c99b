"""How far logged sessions have moved an athlete's number since the last benchmark: a bounded sum that is forgotten.

One number per athlete and engine or movement, added to the log of the capacity (of an engine and a paced movement: to
log CP and log W' alike). Each session brings a step (`sessions.scaling.logged`); this only keeps the account. It can be
worked out again at any time from the logs alone. *Working model* (design: tried in a simulation of 400 athletes).
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array

MOST = 0.35  # in all, up or down: more is no adjustment but another athlete (ours)
HALF_LIFE_DAYS = 56.0  # after eight weeks without sessions half of it is forgotten (ours)
# So long a gap is still training; the forgetting after it is quicker, so that half is gone after HALF_LIFE_DAYS in all.
PAUSE_DAYS = 14.0


def accumulate(steps: ArrayLike, days: ArrayLike, today: float, benchmark_day: ArrayLike = np.nan) -> Array:
    """The adjustments (n,) as of a day, from n athletes' (or athletes' subjects') logged sessions.

    `steps` (n, m): the step of the log capacity that each session brought, 0 where it changed nothing; NaN where there
    are fewer than m. `days` (n, m): when, as ordinals, in any order. Give every logged session of the athlete, also
    those without this subject (step 0): forgetting is for who does not train. `benchmark_day` (n,) or a scalar, NaN for
    none: steps up to and on that day are taken over by the benchmark. Steps after `today` do not count yet.
    ValueError for a session with a step and no day.
    """
    given, when = np.broadcast_arrays(np.asarray(steps, float), np.asarray(days, float))
    if (~np.isnan(given) & np.isnan(when)).any():
        raise ValueError("Every session needs the day it was done.")
    counts = ~np.isnan(given) & (when <= today) & ~(when <= np.asarray(benchmark_day, float).reshape(-1, 1))
    order = np.argsort(np.where(counts, when, np.inf), axis=1, kind="stable")
    given, when, counts = (np.take_along_axis(array, order, 1) for array in (given, when, counts))
    total, last = np.zeros(len(given)), np.full(len(given), np.nan)
    for m in range(given.shape[1]):
        here = counts[:, m]
        kept = total * _remembered(when[:, m] - last)
        total = np.where(here, np.clip(kept + given[:, m], -MOST, MOST), total)
        last = np.where(here, when[:, m], last)
    return total * _remembered(today - last)


def _remembered(gap_days: Array) -> Array:
    """The share that is left after days without a session; 1 where there was none before."""
    beyond = np.maximum(np.nan_to_num(gap_days) - PAUSE_DAYS, 0.0)
    share: Array = 0.5 ** (beyond / (HALF_LIFE_DAYS - PAUSE_DAYS))
    return share
