"""The load of a station for each athlete: what can be lifted, so often, round after round. Never up.

A lift's capacity is the log of the one-repetition maximum, with its SD. The load rests on its cautious quantile.
"""

from statistics import NormalDist

import numpy as np

from athletes.capacity.constants import REPETITION_LIMIT, REPETITIONS_AT_LOAD_CAP, TARGET_QUANTILE
from athletes.capacity.loading import heaviest_at_most
from athletes.capacity.strength import load_for_repetitions, repetitions_at_load
from sessions.scaling.constants import REPETITIONS_TAU_S
from sessions.scaling.fade import fade_sum

# A load above the maximum still gets a number, far below one repetition, so that logarithms stay finite.
LEAST_REPETITIONS = 0.2
# How many times faster than the maximum the repetitions at a load may change with it: bounds the spread of heavy loads.
STEEPNESS_BOUNDS = (1.0, 10.0)
NUDGE = 0.01  # of the log maximum, to see how fast they change
LOAD_STEP_KG = 2.5  # between loads where the gym has not said what it owns (common practice: the smallest usual pair)


def load_for(
    prescribed_kg,
    repetitions,
    log_mean,
    log_sd,
    owned,
    *,
    rotations,
    rotation_s,
    headroom,
    intent=1.0,
    quantile=TARGET_QUANTILE,
):
    """Load [kg] of each athlete at a loaded option; NaN where even the lightest owned is too heavy.

    `prescribed_kg` for `repetitions` (whole, >= 1) in each of `rotations` rounds, `rotation_s` [s] apart; `log_mean`
    and `log_sd` of the one-repetition maximum [log kg]; all broadcast. `owned` holds the loads [kg, (m,)] that the gym
    can make; None where it has not said: then what was prescribed, or below it steps of `LOAD_STEP_KG`.
    `headroom` is the share left in the last round; an `intent` above 1 changes nothing; `quantile` is the probability
    that the athlete's maximum is below the one the load is set for.
    ValueError for a prescription that is not above zero, and for repetitions that are not whole.
    """
    prescribed_kg = np.asarray(prescribed_kg, float)
    if not (prescribed_kg > 0).all():
        raise ValueError("Give a load above zero.")
    maximum = cautious_maximum(log_mean, log_sd, quantile)
    most = load_limits(
        maximum, repetitions, rotations=rotations, rotation_s=rotation_s, headroom=headroom, intent=intent
    )
    load = np.minimum(prescribed_kg, most.min(0))
    if owned is None:
        step = LOAD_STEP_KG * np.floor(load / LOAD_STEP_KG + 1e-9)
        return np.where(load < prescribed_kg, np.where(step > 0, step, np.nan), load)
    return heaviest_at_most(load, owned)


def cautious_maximum(log_mean, log_sd, quantile=TARGET_QUANTILE):
    """One-repetition maximum [kg] that the athlete's own exceeds with probability 1 − `quantile`: log-normal."""
    return np.exp(np.asarray(log_mean, float) + NormalDist().inv_cdf(quantile) * np.asarray(log_sd, float))


def load_limits(maximum_kg, repetitions, *, rotations, rotation_s, headroom, intent=1.0):
    """The two loads [kg] that bound a set of `repetitions`, stacked on a first axis of 2; everything broadcasts.

    First what the repetition table gives for one set, lowered by intent and headroom. Second what can be lifted so
    often in the last round too: n repetitions then take n·G of the unbroken ones, G the fatigue summed over the rounds,
    so M = n·G / (1 − headroom) unbroken repetitions are needed, and Epley's equation has a load for M. It says nothing
    beyond `REPETITIONS_AT_LOAD_CAP`, where the load ends and the number of repetitions has to give.
    """
    repetitions = np.asarray(repetitions, float)
    one_set = maximum_kg * share_for_set(repetitions) * np.minimum(intent, 1.0) * (1.0 - headroom)
    fatigue = fade_sum(0.0, rotation_s, rotations, REPETITIONS_TAU_S)
    needed = np.minimum(repetitions * fatigue / (1.0 - headroom), REPETITIONS_AT_LOAD_CAP)
    return np.stack(np.broadcast_arrays(one_set, maximum_kg * _epley_share(needed)))


def share_for_set(repetitions):
    """Share of the maximum for one set of whole repetitions >= 1: the repetition table up to `REPETITION_LIMIT`.

    Beyond it published copies of the table disagree (70 or 73 % for 11, 67 or 70 % for 12), so no row is taken from
    them: the smaller of its last row and the inverse of Epley's equation, which meet at 10. ValueError as the table's.
    """
    repetitions = np.asarray(repetitions, float)
    if not (repetitions == np.floor(repetitions)).all():
        raise ValueError("Repetitions of a load come in whole numbers.")
    table = load_for_repetitions(1.0, np.minimum(repetitions, REPETITION_LIMIT))
    return np.where(repetitions > REPETITION_LIMIT, np.minimum(table, _epley_share(repetitions)), table)


def most_repetitions(log_mean, log_sd, load_kg):
    """Log of the most unbroken repetitions at a load [kg, > 0], and its SD, from those of the one-repetition maximum.

    Everything broadcasts; a load of NaN gives NaN. The SD grows with how fast the repetitions change with the maximum,
    within `STEEPNESS_BOUNDS`.
    """
    log_mean = np.asarray(log_mean, float)
    most, nudged = (
        np.maximum(repetitions_at_load(np.exp(log_mean + step), load_kg), LEAST_REPETITIONS) for step in (0.0, NUDGE)
    )
    steepness = np.clip(np.log(nudged / most) / NUDGE, *STEEPNESS_BOUNDS)
    return np.log(most), log_sd * steepness


def _epley_share(repetitions):
    """Share of the maximum by the inverse of Epley's equation; a single repetition is the maximum itself."""
    return np.where(repetitions <= 1.0, 1.0, 30.0 / (30.0 + repetitions))
