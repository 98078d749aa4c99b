"""The swap ladder: who has to leave a movement, and where they go."""

import numpy as np

from sessions.scaling.constants import REST
from sessions.scaling.plan import whole_steps


def next_allowed(rung, allowed):
    """The first allowed rung at or below each given one on the ladder, `REST` where there is none.

    `rung` (n, S) from 0 to L, `allowed` (n, S, L). Returns (n, S).
    """
    open_rungs = allowed & (np.arange(allowed.shape[-1]) >= rung[..., None])
    return np.where(open_rungs.any(-1), open_rungs.argmax(-1), REST)


def least_useful(plan):
    """Least dose that keeps a movement (n, S): the coach's, or the whole of the wanted dose on an easier day; > 0."""
    asked = whole_steps(plan.asked_dose, plan.chosen)
    return np.maximum(np.minimum(plan.chosen.least_dose, asked), plan.chosen.step)


def stations_to_leave(plan):
    """Stations (n, S) at which an athlete goes one step down the ladder.

    First all whose own capacity leaves too little. Otherwise, where sharing leaves too little, only the worst station
    of the athlete: stepping down there may give the others enough. What is set by hand stays.
    """
    least = least_useful(plan)
    free = plan.chosen.present & ~plan.pinned
    alone = free & (plan.alone_dose < least)
    short = free & (plan.dose < least)
    worst = np.where(short, plan.dose / least, np.inf).argmin(-1)
    only_worst = short & (np.arange(short.shape[-1]) == worst[:, None])
    return np.where(alone.any(-1, keepdims=True), alone, only_worst)
