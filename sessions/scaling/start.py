"""Rungs that are out of the question from the start.

What a movement's own cap allows depends on nothing else, and as long as a station's own cap leaves too little, sharing
is not looked at. So of athletes none of whose engines can be the one with too small an own cap, however busy the rest
of the rotation, the movements with too small an own cap can be struck at once, and the outcome is the same.
"""

import numpy as np

from sessions.scaling.asking import least_useful, most_of
from sessions.scaling.options import whole_steps


def usable_rungs(task, crowd):
    """Rungs (S, L, n) that an athlete may be on: allowed, and not out of the question."""
    usable = crowd.allowed & task.ladder.exists[..., None]
    too_little, engine = np.zeros(usable.shape, bool), np.zeros((*usable.shape[:2], 1), bool)
    for s, rung, asked, work in task.options:
        most, _ = most_of(crowd, asked.wanted, lambda array, option=(s, rung): array[option])
        most_steps = whole_steps(most, asked.step)
        cap = (_lowest_engine_cap if asked.is_engine else _movement_cap)(task, crowd, s, rung, work)
        dose = np.minimum(whole_steps(cap, asked.step), most_steps)
        too_little[s, rung], engine[s, rung] = dose < least_useful(asked, most_steps), asked.is_engine
    if crowd.pinned is not None:
        too_little &= ~crowd.pinned[:, None]
    sure = ~(too_little & engine & usable).any((0, 1))
    return usable & ~(too_little & ~engine & sure)


def _movement_cap(task, crowd, s, rung, work):
    """Dose (n,) that time and own capacity alone allow of a movement."""
    most = np.exp(crowd.repetitions_mean[s, rung] - task.caution * crowd.repetitions_sd[s, rung])
    return np.minimum(most * (task.limit / task.movement_sets[s, s]), work.most_by_time)


def _lowest_engine_cap(task, crowd, s, rung, work):
    """Less (n,) than an engine's own cap in any rotation: what the critical power gives, at its own cautious end."""
    log_cp, variance = crowd.mean[0, work.engine], crowd.cov[0, 0, work.engine]
    return work.dose_at(np.exp(log_cp - abs(task.caution) * np.sqrt(np.maximum(variance, 0.0))))
