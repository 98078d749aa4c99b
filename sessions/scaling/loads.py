"""The load of a station for each athlete: what can be lifted, so often, round after round. Never up.

A lift's capacity is the log of the one-repetition maximum. One margin only, the same as that of a dose: the headroom of
the day, or what the model itself does not know where that is more. So the load gives way first, and the written
repetitions are done well at it; what then still is too much gives way in the repetitions.
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from athletes.capacity.constants import FIRM_SD, REPETITION_LIMIT, REPETITIONS_AT_LOAD_CAP
from athletes.capacity.loading import heaviest_at_most
from athletes.capacity.strength import load_for_repetitions, repetitions_at_load
from sessions.scaling.ability import QUANTILE_SD
from sessions.scaling.constants import REPETITIONS_MODEL_SD, REPETITIONS_TAU_S
from sessions.scaling.demand import fade_sum

# A load above the maximum still gets a number, far below one repetition, so that logarithms stay finite.
LEAST_REPETITIONS = 0.2
# How many times faster than the maximum the repetitions at a load may change with it: bounds the spread of heavy loads.
STEEPNESS_BOUNDS = (1.0, 10.0)
NUDGE = 0.01  # of the log maximum, to see how fast they change
LEAST_MARGIN = float(1.0 - np.exp(-QUANTILE_SD * REPETITIONS_MODEL_SD))  # what the repetitions at a load keep anyway
LOAD_STEP_KG = 2.5  # between loads where the gym has not said what it owns (common practice: the smallest usual pair)
MOST_BARS = 3  # at one station (common practice: what can be stood side by side and changed in a class)


def load_for(
    prescribed_kg: ArrayLike | None,
    repetitions: ArrayLike,
    log_mean: ArrayLike,
    owned: ArrayLike | None,
    *,
    rotations: int,
    rotation_s: float,
    headroom: ArrayLike,
    percent: float | None = None,
    reserve: float | None = None,
    share: ArrayLike = 1.0,
    log_sd: ArrayLike = 0.0,
) -> Array:
    """Load [kg] of each athlete at a loaded option; NaN where even the lightest owned is too heavy for one repetition.

    For `repetitions` (whole, >= 1) in each of `rotations` rounds, `rotation_s` [s] apart. What is written is one of
    `prescribed_kg`, `percent` of the athlete's maximum, or repetitions in `reserve`; where several are, the lightest
    counts. `log_mean` of the one-repetition maximum [log kg] and its `log_sd`: who is not known well gets a load that
    is held all the same, so that the repetitions need not give way for that. `headroom` the share left in the last
    round, `share` of the load in a newcomer's week. Where the lightest that is owned is more than all this, but not
    more than what was written, and can be lifted once in every round, it is taken and the repetitions give way: nobody
    stands about. All broadcast. `owned` holds the loads [kg, (m,)] that the gym can make; None where it has not said:
    then what was written, or below it steps of `LOAD_STEP_KG`.
    ValueError for a prescription that is missing or not above zero, a percentage above 100, and for repetitions that
    are not whole.
    """
    maximum = np.exp(np.asarray(log_mean, float))
    written = written_load(prescribed_kg, repetitions, maximum, percent, reserve)
    margin = np.maximum(np.asarray(headroom, float), LEAST_MARGIN)
    # Beyond a firm estimate, for what the model does not know stands in the margin already
    cautious = maximum * np.exp(-QUANTILE_SD * np.maximum(np.asarray(log_sd, float) - FIRM_SD, 0.0))

    def held(maximum_kg: Array, repetitions: ArrayLike) -> Array:
        found = load_limit(maximum_kg, repetitions, rotations=rotations, rotation_s=rotation_s, headroom=margin)
        return np.minimum(written, found)

    load = np.minimum(held(maximum, repetitions) * np.asarray(share, float), held(cautious, repetitions))
    if owned is not None:
        lightest = float(np.min(np.asarray(owned, float), initial=np.inf))
        load = np.where(held(maximum, 1) >= lightest, np.maximum(load, lightest), load)
        return np.asarray(heaviest_at_most(load, owned), float)
    step = LOAD_STEP_KG * np.floor(load / LOAD_STEP_KG + 1e-9)
    by_kg = percent is None and reserve is None
    return np.where(by_kg & (load >= written), load, np.where(step > 0, step, np.nan))


def written_load(
    prescribed_kg: ArrayLike | None,
    repetitions: ArrayLike,
    maximum_kg: Array,
    percent: float | None = None,
    reserve: float | None = None,
) -> Array:
    """The load [kg] that the coach wrote, for each athlete; arguments as in `load_for`.

    Repetitions in reserve are read from the repetition table: the load for the written ones and those left.
    """
    loads = []
    if prescribed_kg is not None:
        if not (np.asarray(prescribed_kg, float) > 0).all():
            raise ValueError("Give a load above zero.")
        loads.append(np.asarray(prescribed_kg, float))
    if percent is not None:
        if not 0 < percent <= 100:
            raise ValueError("A percentage of the maximum lies above 0 and not above 100.")
        loads.append(0.01 * percent * maximum_kg)
    if reserve is not None:
        if not reserve >= 0:
            raise ValueError("Repetitions in reserve cannot be negative.")
        loads.append(maximum_kg * share_for_set(np.asarray(repetitions, float) + np.ceil(reserve)))
    if not loads:
        raise ValueError("Give a load, a percentage of the maximum or repetitions in reserve.")
    return np.asarray(np.min(np.broadcast_arrays(*loads), axis=0), float)


def load_limit(
    maximum_kg: ArrayLike, repetitions: ArrayLike, *, rotations: int, rotation_s: float, headroom: ArrayLike
) -> Array:
    """The heaviest load [kg] that can be lifted so often in the last round too, with the headroom; broadcasts.

    n repetitions then take n·G of the unbroken ones, G the fatigue summed over the rounds, so M = n·G / (1 − headroom)
    unbroken repetitions are needed, and Epley's equation has a load for M. It
    says nothing beyond `REPETITIONS_AT_LOAD_CAP`, where the load ends and the number of repetitions has to give.
    """
    repetitions = np.asarray(repetitions, float)
    if not ((repetitions == np.floor(repetitions)) & (repetitions >= 1)).all():
        raise ValueError("Repetitions of a load come in whole numbers, one at least.")
    fatigue = fade_sum(0.0, rotation_s, rotations, REPETITIONS_TAU_S)
    needed = np.minimum(repetitions * fatigue / (1.0 - np.asarray(headroom, float)), REPETITIONS_AT_LOAD_CAP)
    return np.asarray(np.asarray(maximum_kg, float) * _epley_share(needed), float)


def share_for_set(repetitions: ArrayLike) -> Array:
    """Share of the maximum for one set of whole repetitions >= 1: the repetition table up to `REPETITION_LIMIT`.

    Beyond it published copies of the table disagree (70 or 73 % for 11, 67 or 70 % for 12), so no row is taken from
    them: the smaller of its last row and the inverse of Epley's equation, which meet at 10. ValueError as the table's.
    """
    repetitions = np.asarray(repetitions, float)
    if not (repetitions == np.floor(repetitions)).all():
        raise ValueError("Repetitions of a load come in whole numbers.")
    table = load_for_repetitions(1.0, np.minimum(repetitions, REPETITION_LIMIT))
    shares = np.where(repetitions > REPETITION_LIMIT, np.minimum(table, _epley_share(repetitions)), table)
    return np.asarray(shares, float)


def most_repetitions(log_mean: ArrayLike, log_sd: ArrayLike, load_kg: ArrayLike) -> tuple[Array, Array]:
    """Log of the most unbroken repetitions at a load [kg, > 0], and its SD, from those of the one-repetition maximum.

    Everything broadcasts; a load of NaN gives NaN. The SD grows with how fast the repetitions change with the maximum,
    within `STEEPNESS_BOUNDS`.
    """
    log_mean = np.asarray(log_mean, float)
    most, nudged = (
        np.maximum(repetitions_at_load(np.exp(log_mean + step), load_kg), LEAST_REPETITIONS) for step in (0.0, NUDGE)
    )
    steepness = np.clip(np.log(nudged / most) / NUDGE, *STEEPNESS_BOUNDS)
    return np.asarray(np.log(most), float), np.asarray(np.asarray(log_sd, float) * steepness, float)


def bars_of(loads: Array, most: int) -> Array:
    """At most so many bars [kg] for a class whose own loads are `loads` (n,) [kg], NaN for nobody's.

    The heaviest stands always, for it is what the coach wrote as far as anybody lifts it. Everyone lifts the nearest
    bar below; of all choices the one that takes least weight off the class.
    """
    own = np.unique(loads[~np.isnan(loads)])
    if len(own) <= most:
        return own
    heaviest = own[-1]
    return np.append(_least_taken_off(loads[loads < heaviest], most - 1), heaviest)


def _least_taken_off(loads: Array, most: int) -> Array:
    """So many bars, or fewer, that take least weight off everyone."""
    own, counts = np.unique(loads, return_counts=True)
    if len(own) <= most or most < 1:
        return own[:0] if most < 1 else own
    people, weight = np.append(0, np.cumsum(counts)), np.append(0.0, np.cumsum(counts * own))
    # lost[i, j]: kilograms taken off when the i-th load up to the one before the j-th lift the i-th
    lost = (weight - weight[:-1, None]) - own[:, None] * (people - people[:-1, None])
    lost = np.where(np.arange(len(own) + 1) > np.arange(len(own))[:, None], lost, np.inf)
    best, begins = lost[0], []
    for _ in range(most - 1):
        total = best[:-1, None] + lost
        begins.append(total.argmin(0))
        best = total.min(0)
    end, chosen = len(own), []
    for begin in reversed(begins):
        end = int(begin[end])
        chosen.append(own[end])
    return np.array([own[0], *reversed(chosen)])


def drawn_to_bars(loads: Array, bars: ArrayLike) -> Array:
    """Loads (n,) [kg] each at the nearest of `bars` [kg] below; who lifts less than the lightest keeps the own load."""
    found = heaviest_at_most(loads, bars)
    return np.where(np.isnan(found), loads, found)


def _epley_share(repetitions: ArrayLike) -> Array:
    """Share of the maximum by the inverse of Epley's equation; a single repetition is the maximum itself."""
    repetitions = np.asarray(repetitions, float)
    return np.where(repetitions <= 1.0, 1.0, 30.0 / (30.0 + repetitions))
