"""How much the logs of training say beside benchmark efforts: they age faster, and those of one person err together."""

import numpy as np

from athletes.capacity.strength import one_rep_max

# Logs come week by week and each rests on the estimate of its day, so a newer one may take the place of an older one
# sooner than a benchmark, which stands for itself (180 days). Ours.
AGE_DOUBLING_DAYS = 60.0  # the age at which a log counts with twice its SD
AGE_LIMIT_DAYS = 240.0  # by then its SD has grown sixteenfold: older logs can be left out

# Correlation of the errors of two logs of one person: people rate exertion and recover between sets each in their own
# way, about as far apart as one person's days (working model).
SHARED_ERROR = 0.4

EPLEY_REPETITIONS = 30.0  # repetitions that double the load (Epley 1985, from memory)
MOST_REPETITIONS = 30.0  # above them a set says nothing of the maximum (common practice; as in `repetitions_at_load`)
# Of the logarithm of a one-repetition maximum. Equations miss by 5 to 7 kg on 95 kg (Hutchins & Gearhart 2010).
LEAST_LOAD_SD = 0.06


def logged_sd(sd_log, age_days):
    """SD of the logarithm of a log of a given age [days]; a log dated later than the estimate counts as fresh."""
    return np.asarray(sd_log, float) * 2.0 ** (np.maximum(age_days, 0.0) / AGE_DOUBLING_DAYS)


def shared_bias_sd(sd_log, shared=SHARED_ERROR):
    """SDs with which logs of one subject may enter as independent ones; `sd_log` (..., m), NaN where there are fewer.

    Errors that correlate by ρ leave the mean of n equal ones the variance σ²·(1 + (n − 1)·ρ)/n, which tends to ρ·σ²
    and not to 0: each variance is raised by 1 + (n − 1)·ρ, the design effect, n = (Σ 1/σ²)² / Σ 1/σ⁴ the effective
    number where they are not equal (Kish 1965, Survey Sampling; details from memory).
    """
    sd_log = np.asarray(sd_log, float)
    weight = np.nan_to_num(sd_log**-2.0)
    squares = (weight**2).sum(-1, keepdims=True)
    number = weight.sum(-1, keepdims=True) ** 2 / np.where(squares > 0, squares, 1.0)
    return sd_log * np.sqrt(1.0 + np.maximum(number - 1.0, 0.0) * shared)


def one_rep_max_evidence(load_kg, repetitions, sd_log):
    """One-repetition maximum [kg] and its log SD from the repetitions that a log points to at a load [kg, > 0].

    Epley: load·(1 + r/30), whose logarithm changes by r/(30 + r) of that of r. Broadcasts. NaN, no evidence, above
    `MOST_REPETITIONS`, where light loads end for other reasons, below one repetition, and where NaN is given.
    """
    repetitions, sd_log = np.asarray(repetitions, float), np.asarray(sd_log, float)
    said = (repetitions >= 1.0) & (repetitions <= MOST_REPETITIONS)
    within = np.where(said, repetitions, np.nan)
    spread = sd_log * within / (EPLEY_REPETITIONS + within)
    return one_rep_max(load_kg, within), np.maximum(spread, LEAST_LOAD_SD)
