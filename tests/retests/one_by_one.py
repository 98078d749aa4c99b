"""What a retest is worth: how the doses of a circuit change once one capacity is known better."""

from dataclasses import replace

import numpy as np

from athletes.capacity.arrays import Array, BoolArray
from sessions.scaling.circuit import Circuit
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from sessions.scaling.targets import Targets


def change_by_engine(circuit: Circuit, room: Room, engine: str, intent: str | None = None) -> Array:
    """Mean absolute relative change of every dose, (n, S), when what an engine can do is one SD higher or lower.

    One SD along each axis of the estimate's covariance in turn; the axes are added as squares. Where the rung changes
    with it, that counts as a whole dose.
    """
    now, mean = scale(circuit, room, intent), room.engine_mean[engine]
    variance, axes = np.linalg.eigh(room.engine_cov[engine])
    squares = np.zeros(now.dose.shape)
    for axis in range(3):
        step = axes[:, :, axis] * np.sqrt(np.maximum(variance[:, axis], 0.0))[:, None]
        moved = [replace(room, engine_mean={**room.engine_mean, engine: mean + sign * step}) for sign in (-1.0, 1.0)]
        squares += _change(now, [scale(circuit, other, intent) for other in moved]) ** 2
    return np.sqrt(squares)


def change_by_movement(circuit: Circuit, room: Room, where: BoolArray, intent: str | None = None) -> Array:
    """The same, (n, S), for a movement that stands at the rungs `where` (S, L): its repetitions one SD up or down.

    Of a paced movement the critical rate and W' rise and fall together by the critical rate's SD.
    """
    step = np.where(where, np.nan_to_num(room.repetitions_sd), 0.0)
    moved = []
    for sign in (-1.0, 1.0):
        other = replace(room, repetitions_mean=room.repetitions_mean + sign * step)
        if room.paced_mean is not None and room.paced_cov is not None:
            spread = np.sqrt(np.maximum(np.nan_to_num(room.paced_cov[..., 0, 0]), 0.0)) * where
            other = replace(other, paced_mean=room.paced_mean + sign * spread[..., None] * np.array([1.0, 1.0, 0.0]))
        moved.append(scale(circuit, other, intent))
    return _change(scale(circuit, room, intent), moved)


def _change(now: Targets, moved: list[Targets]) -> Array:
    """Mean absolute relative change of doses; 1 where the rung changes, 0 where nothing is asked."""
    changes = []
    for other in moved:
        relative = np.abs(other.dose - now.dose) / np.where(now.dose > 0, now.dose, 1.0)
        changes.append(np.where(other.rung != now.rung, 1.0, np.minimum(relative, 1.0)) * (now.dose > 0))
    return np.asarray(np.mean(changes, axis=0), float)
