"""Is this result right? Asked while it is typed in; nothing is ever refused or deleted for being surprising."""

from enum import IntEnum

import numpy as np

from athletes.capacity.constants import (
    ONE_REP_MAX_BOUNDS_KG,
    POWER_BOUNDS_W,
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


def surprise(observed, expected_log, expected_sd, trial_sd):
    """How many SDs of its own prediction a result is above (+) or below (−) the expected one; broadcasts.

    `observed` > 0 in any unit, `expected_log` the log of the expectation in the same unit, `expected_sd` and
    `trial_sd` the SDs of the estimate and of a trial, in the logarithm.
    """
    return (np.log(observed) - expected_log) / np.hypot(expected_sd, trial_sd)


def effort_surprise(power_w, duration_s, trial_sd, theta, covariance):
    """`surprise` of an average power (running: speed) over a duration [s], against an engine's estimate."""
    return surprise(power_w, log_power(duration_s, theta), log_power_sd(duration_s, theta, covariance), trial_sd)


def doubt_effort(engine, power_w, duration_s, surprise_sd=0.0):
    """The `Doubt` codes of efforts on an engine: power [W] (running: speed, m/s) over a duration [s]; broadcasts."""
    bounds = RUN_SPEED_BOUNDS_M_PER_S if engine == "run" else POWER_BOUNDS_W
    doubt = _doubt(power_w, bounds, surprise_sd)
    return np.where((doubt != Doubt.IMPOSSIBLE) & (np.asarray(duration_s) < SHORTEST_EFFORT_S), Doubt.TOO_SHORT, doubt)


def doubt_repetitions(repetitions, surprise_sd=0.0):
    """The `Doubt` codes of unbroken repetitions; broadcasts."""
    return _doubt(repetitions, REPETITIONS_BOUNDS, surprise_sd)


def doubt_one_rep_max(one_rep_max_kg, surprise_sd=0.0):
    """The `Doubt` codes of one-repetition maxima [kg]; broadcasts."""
    return _doubt(one_rep_max_kg, ONE_REP_MAX_BOUNDS_KG, surprise_sd)


def sentence(doubt):
    """What to ask the person who typed the result; empty where nothing is odd."""
    return SENTENCES[Doubt(int(doubt))]


def _doubt(value, bounds, surprise_sd):
    value, surprise_sd = np.asarray(value, float), np.asarray(surprise_sd, float)
    low, high = bounds
    possible = (value >= low) & (value <= high)
    return np.select(
        [~possible, surprise_sd > SURPRISE_SD, surprise_sd < -SURPRISE_SD],
        [Doubt.IMPOSSIBLE, Doubt.FAR_ABOVE, Doubt.FAR_BELOW],
        Doubt.NONE,
    )
