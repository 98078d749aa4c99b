"""A circuit on a day, prepared once for all athletes."""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from sessions.scaling.constants import REPETITIONS_TAU_S, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.demand import constant_sets
from sessions.scaling.ladder import Ladder, ladder_of
from sessions.scaling.options import Asked, EngineWork, MovementWork


@dataclass(frozen=True, eq=False)
class Task:
    """`options` are station, rung and numbers of everything on the ladders; `work_window_s` (S, 1) includes set-up.

    `limit` is 1 − headroom, `caution` by how many SDs a target lies below the median. `movement_sets` (S, S) is what
    earlier sets at every station leave at a movement, its own on the diagonal, and `slow_sets` the slow part of that.
    """

    ladder: Ladder
    options: list[tuple[int, int, Asked, EngineWork | MovementWork]]
    rotations: int
    step_s: float
    rotation_s: float
    work_window_s: np.ndarray
    limit: float
    caution: float
    slow_sets: np.ndarray
    movement_sets: np.ndarray


def task_of(circuit, intent, quantile):
    """The `Task` of a valid circuit. ValueError for an intent or a quantile that makes no sense."""
    if not intent > 0:
        raise ValueError("The intent of the day must be above zero.")
    if not 0.0 < quantile < 1.0:
        raise ValueError("The quantile must lie between 0 and 1.")
    rotation = len(circuit.stations), circuit.step_s, int(circuit.rotations)
    ladder, slow_sets = ladder_of(circuit, intent), SLOW_SHARE * constant_sets(*rotation, SLOW_TAU_S)
    return Task(
        ladder=ladder,
        options=[_option(ladder, s, rung) for s, rung in np.argwhere(ladder.exists).tolist()],
        rotations=int(circuit.rotations),
        step_s=circuit.step_s,
        rotation_s=circuit.rotation_s,
        work_window_s=np.array([[station.work_window_s] for station in circuit.stations], float),
        limit=1.0 - circuit.headroom,
        caution=NormalDist().inv_cdf(1.0 - quantile),
        slow_sets=slow_sets,
        movement_sets=(1.0 - SLOW_SHARE) * constant_sets(*rotation, REPETITIONS_TAU_S) + slow_sets,
    )


def _option(ladder, s, rung):
    asked = ladder.asked.option(s, rung)
    tables, at = (ladder.engines, ladder.engine_at) if asked.is_engine else (ladder.movements, ladder.movement_at)
    return s, rung, asked, tables.option(at.index(s), rung)
