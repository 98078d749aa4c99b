"""The swap ladder: who has to leave a movement, and where they go."""

import numpy as np

from sessions.scaling.constants import REST


def next_allowed(rung, allowed):
    """The first allowed rung at or below each given one on the ladder, `REST` where there is none.

    `rung` (...) from 0 to L, `allowed` (..., L). Returns (...).
    """
    found = np.full(rung.shape, REST)
    for step in reversed(range(allowed.shape[-1])):
        found = np.where(allowed[..., step] & (rung <= step), step, found)
    return found


def stations_to_leave(plan):
    """Stations (S, n) at which an athlete goes one step down the ladder.

    First all whose own capacity leaves too little. Otherwise, where sharing leaves too little, only the worst station
    of the athlete: stepping down there may give the others enough. What is set by hand stays.
    """
    least, pinned = plan.asking.least, plan.asking.pinned
    free = plan.chosen.present if pinned is None else plan.chosen.present & ~pinned
    leave, short = free & (plan.alone_dose < least), free & (plan.dose < least)
    athletes = np.flatnonzero(short.any(0) & ~leave.any(0))
    short, dose, least = (np.take(array, athletes, axis=1) for array in (short, plan.dose, least))
    leave[np.where(short, dose / least, np.inf).argmin(0), athletes] = True
    return leave
