"""A dose a little easier or harder, in whole steps: for a change made by hand in a running class."""

import numpy as np

from sessions.scaling.constants import METRES_STEP

PARTS = 10.0  # a change is about one part in so many (ours)


def step_of(dose_kind):
    """The least by which a dose changes, in its own unit: 5 m, and 1 kcal, repetition or second."""
    return METRES_STEP if dose_kind == "metres" else 1.0


def easier(dose, step):
    """About a tenth less, at least one `step`, and in whole steps; broadcasts.

    The dose itself where less than a step would be left. Half a step counts as one, so that a tie is the easier dose.
    """
    dose, step = np.asarray(dose, float), np.asarray(step, float)
    less = np.maximum(1.0, np.floor(dose / (PARTS * step) + 0.5))
    new = step * np.floor(dose / step - less)
    return np.where(new >= step, new, dose)


def harder(dose, step, most):
    """About a tenth more, at least one `step`, in whole steps and no more than `most`; broadcasts.

    The dose itself where `most` leaves no room. Half a step counts as none, so that a tie is the easier dose.
    """
    dose, step, most = (np.asarray(value, float) for value in (dose, step, most))
    more = np.maximum(1.0, np.ceil(dose / (PARTS * step) - 0.5))
    new = step * np.floor(np.minimum(dose + more * step, most) / step)
    return np.maximum(new, dose)
