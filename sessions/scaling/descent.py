"""Down the swap ladders: from the first usable rungs to those where every athlete has a useful dose, or rests."""

import numpy as np

from sessions.scaling.plan import plan_of
from sessions.scaling.results import put_rest, results_of
from sessions.scaling.start import usable_rungs
from sessions.scaling.swap import next_allowed, stations_to_leave


def settled(task, crowd):
    """The fields of `Targets` but `swap` for a `Crowd`, athletes last, at the rungs where it settles.

    Everybody's targets are worked out at the first rungs, and again for those who have to leave one, as long as
    somebody has.
    """
    usable = np.moveaxis(usable_rungs(task, crowd), 1, -1)
    rung = next_allowed(np.zeros(usable.shape[:2], int), usable)
    if crowd.pinned is not None:
        rung = np.where(crowd.pinned, crowd.pinned_rung, rung)
    draft = plan_of(task, crowd, rung)
    values, athletes = results_of(task, crowd, draft), np.arange(len(crowd))
    while True:
        leave = stations_to_leave(draft)
        moved = np.flatnonzero(leave.any(0))
        if not moved.size:
            return put_rest(values)
        athletes, here = athletes[moved], np.take(draft.chosen.rung, moved, axis=1)
        lower = next_allowed(here + 1, usable[:, athletes])
        some = crowd.some(athletes)
        draft = plan_of(task, some, np.where(np.take(leave, moved, axis=1), lower, here))
        for name, result in results_of(task, some, draft).items():
            _put(values[name], athletes, result)


def _put(array, athletes, values):
    """Write values (..., k) into the places `athletes` (k,) of an array (..., n), row by row, which is quicker."""
    for row in np.ndindex(array.shape[:-1]):
        array[row][athletes] = values[row]
