"""Whole steps of a dose: the numbers a coach can call, and a change made by hand in a running class."""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from sessions.scaling.constants import ROUNDING_SLACK

# (common practice) 1 kcal, 1 repetition, 5 s; 25 m, and 10 m below 100 m
METRES_STEP, SHORT_METRES_STEP, SHORT_METRES = 25.0, 10.0, 100.0
STEPS = {"kcal": 1.0, "repetitions": 1.0, "load_repetitions": 1.0, "seconds": 5.0}

PARTS = 10.0  # a change by hand is about one part in so many (ours)


def step_of(dose_kind: str, dose: ArrayLike = np.inf) -> Array:
    """The least by which a `dose` of its kind changes, in its own unit; shape of `dose`.

    ValueError for an unknown kind.
    """
    if dose_kind == "metres":
        return np.where(np.asarray(dose, float) < SHORT_METRES, SHORT_METRES_STEP, METRES_STEP)
    if dose_kind not in STEPS:
        raise ValueError(f"There is no dose in {dose_kind}.")
    return np.full(np.shape(dose), STEPS[dose_kind])


def step_below(dose: ArrayLike, is_metres: ArrayLike, step: ArrayLike) -> Array:
    """The largest number of whole steps that is not above a dose, one step at least; broadcasts.

    `step` is that of longer doses: metres below 100 m have a smaller one.
    """
    dose, step = np.asarray(dose, float), _step_at(dose, is_metres, step)
    return np.maximum(np.floor(dose / step + ROUNDING_SLACK), 1.0) * step


def nearest_step(dose: ArrayLike, is_metres: ArrayLike, step: ArrayLike) -> Array:
    """The nearest number of whole steps, one step at least; broadcasts. A tie is the easier dose."""
    dose, step = np.asarray(dose, float), _step_at(dose, is_metres, step)
    return np.maximum(np.ceil(dose / step - 0.5 - ROUNDING_SLACK), 1.0) * step


def _step_at(dose: ArrayLike, is_metres: ArrayLike, step: ArrayLike) -> Array:
    short = np.asarray(is_metres) & (np.asarray(dose, float) < SHORT_METRES)
    return np.where(short, SHORT_METRES_STEP, np.asarray(step, float))


def easier(dose: ArrayLike, step: ArrayLike) -> Array:
    """About a tenth less, at least one `step`, and in whole steps; broadcasts.

    The dose itself where less than a step would be left. Half a step counts as one, so that a tie is the easier dose.
    """
    dose, step = np.asarray(dose, float), np.asarray(step, float)
    less = np.maximum(1.0, np.floor(dose / (PARTS * step) + 0.5))
    new = step * np.floor(dose / step - less)
    return np.where(new >= step, new, dose)


def harder(dose: ArrayLike, step: ArrayLike, most: ArrayLike) -> Array:
    """About a tenth more, at least one `step`, in whole steps and no more than `most`; broadcasts.

    The dose itself where `most` leaves no room. Half a step counts as none, so that a tie is the easier dose.
    """
    dose, step, most = (np.asarray(value, float) for value in (dose, step, most))
    more = np.maximum(1.0, np.ceil(dose / (PARTS * step) - 0.5))
    new = step * np.floor(np.minimum(dose + more * step, most) / step)
    return np.asarray(np.maximum(new, dose), float)
