"""How targets move with what is known of the athletes."""

import numpy as np

from athletes.capacity.constants import TARGET_QUANTILE
from sessions.scaling.ability import abilities_of
from sessions.scaling.asking import asking_of
from sessions.scaling.chosen import Chosen
from sessions.scaling.crowd import crowd_of
from sessions.scaling.effort import lean_of
from sessions.scaling.plan import recovery_of
from sessions.scaling.task import task_of


def own_cap_gradient(circuit, room, rung, intent=1.0):
    """Derivatives (n, S, 3) of the log of the power that an engine's own cap allows, by log CP, log W' and log k.

    `rung` (n, S) says where on the ladders each athlete of the `Room` is; else as for `scale`. 0 for movements, which
    move with the log of the most repetitions one to one, and at rest.
    """
    circuit.validate()
    room.validate(circuit)
    task = task_of(circuit, intent, TARGET_QUANTILE)
    crowd = crowd_of(room, circuit, task.ladder.engine_names)
    chosen = Chosen(task.ladder, np.ascontiguousarray(rung.T))
    expected, *_ = abilities_of(task, crowd, chosen, recovery_of(task, chosen, asking_of(crowd, chosen)))
    _, share_above = expected.effort.power(task.limit)
    work = chosen.engines
    gradient = share_above * lean_of(expected.effort, expected.rate, work.window_s, work.rest_s, task.rotations)
    gradient[0] += 1.0
    whole = np.zeros((3, *chosen.rung.shape))
    whole[:, task.ladder.engine_rows] = gradient
    return np.moveaxis(whole * (chosen.present & chosen.asked.is_engine), 0, -1).swapaxes(0, 1)
