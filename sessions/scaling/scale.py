"""From a circuit and a room to targets: the one call of the scaling method."""

import numpy as np

from athletes.capacity.constants import TARGET_QUANTILE
from sessions.scaling.crowd import crowd_of
from sessions.scaling.descent import settled
from sessions.scaling.results import swaps_of
from sessions.scaling.targets import Targets
from sessions.scaling.task import task_of

# Athletes worked on together. Every step of the method is a call of numpy for all of them, so more make each cheaper
# until they outgrow the processor's caches; and only so many take up memory beyond their targets at any time.
BLOCK = 16_384


def scale(circuit, room, intent=1.0, quantile=TARGET_QUANTILE):
    """Targets of every athlete in a `Room` for a `Circuit`.

    `intent` > 0 is the factor of the day on the prescription; above 1 it changes nothing, for no target exceeds the
    prescription. `quantile`, between 0 and 1, is the probability that an athlete can do less than the capacity a target
    is set for. ValueError, with a plain sentence, for a circuit or room that cannot be scaled.
    """
    circuit.validate()
    room.validate(circuit)
    task = task_of(circuit, intent, quantile)
    fields = {}
    for start in range(0, max(len(room), 1), BLOCK):
        block = slice(start, start + BLOCK)
        part = _fields(task, crowd_of(room.take(block), circuit, task.ladder.engine_names))
        if len(room) <= BLOCK:
            fields = part
            break
        for name, array in part.items():
            whole = fields.setdefault(name, np.empty((*array.shape[:-1], len(room)), array.dtype))
            whole[..., block] = array
    return Targets(**{name: np.moveaxis(array, -1, 0) for name, array in fields.items()})


def _fields(task, crowd):
    """The fields of `Targets` for a `Crowd`, athletes last."""
    values = settled(task, crowd)
    return values | {"swap": swaps_of(crowd, values["rung"])}
