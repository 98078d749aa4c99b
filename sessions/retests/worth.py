"""By how much the doses of a session could move, were one engine or movement known better: all of them in one go.

Every athlete stands in the room once more for each step up and down, because the method is quick for many athletes and
slow for many calls. The tests hold it against the plain way, one change after the other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from athletes.capacity.arrays import Array, BoolArray
from sessions.scaling.circuit import Circuit
from sessions.scaling.room import Room
from sessions.scaling.scale import asked

AXES = 3  # of an engine's estimate


def changes(
    circuit: Circuit, room: Room, engines: Sequence[str], movements: Sequence[BoolArray], **options: Any
) -> tuple[list[Array], list[Array]]:
    """Mean relative change of every dose, (n, S), for each engine, and for each movement by the rungs (S, L) where it
    stands; 1 where the movement would change. Who was never tested there is asked for less as a first time: a test
    takes that away too. `options` go to `asked`.
    """
    moved = [step for engine in engines for step in _engine_steps(_tested(room, _rungs(circuit, room, engine)), engine)]
    moved += [step for where in movements for step in _movement_steps(_tested(room, where), where)]
    now = replace(room, untested=room.flags("untested"), unknown=room.flags("unknown"))
    shape = (1 + len(moved), *room.allowed.shape[:2])
    rung, _, dose = (found.reshape(shape) for found in asked(circuit, _stacked([now, *moved]), **options))
    before = dose[0]
    relative = np.abs(dose[1:] - before) / np.where(before > 0, before, 1.0)
    each = np.where(rung[1:] != rung[0], 1.0, np.minimum(relative, 1.0)) * (before > 0)
    pairs = each.reshape(-1, 2, *shape[1:]).mean(1)  # up and down
    of_engines = pairs[: AXES * len(engines)].reshape(-1, AXES, *shape[1:])
    return list(np.sqrt((of_engines**2).sum(1))), list(pairs[AXES * len(engines) :])


def _rungs(circuit: Circuit, room: Room, engine: str) -> BoolArray:
    """Where an engine stands, (S, L)."""
    where = np.zeros(room.allowed.shape[1:], bool)
    for s, station in enumerate(circuit.stations):
        for rung, option in enumerate(station.options):
            where[s, rung] = option.engine == engine
    return where


def _tested(room: Room, where: BoolArray) -> Room:
    """The room after a test: at these rungs (S, L) it is nobody's first time, and no coach's dose stands in for it."""
    return replace(room, untested=room.flags("untested") & ~where, unknown=room.flags("unknown") & ~where)


def _engine_steps(room: Room, engine: str) -> list[Room]:
    """One SD down and up along each axis of the estimate's covariance."""
    variance, axes = np.linalg.eigh(room.engine_cov[engine])
    steps = axes * np.sqrt(np.maximum(variance, 0.0))[:, None, :]
    return [
        replace(room, engine_mean={**room.engine_mean, engine: room.engine_mean[engine] + sign * steps[:, :, axis]})
        for axis in range(AXES)
        for sign in (-1.0, 1.0)
    ]


def _movement_steps(room: Room, where: BoolArray) -> list[Room]:
    """One SD down and up; of a paced movement critical rate and W' together, by the critical rate's SD."""
    step = np.where(where, np.nan_to_num(room.repetitions_sd), 0.0)
    moved = []
    for sign in (-1.0, 1.0):
        other = replace(room, repetitions_mean=room.repetitions_mean + sign * step)
        if room.paced_mean is not None and room.paced_cov is not None:
            spread = np.sqrt(np.maximum(np.nan_to_num(room.paced_cov[..., 0, 0]), 0.0)) * where
            other = replace(other, paced_mean=room.paced_mean + sign * spread[..., None] * np.array([1.0, 1.0, 0.0]))
        moved.append(other)
    return moved


def _stacked(rooms: list[Room]) -> Room:
    """The athletes of all rooms, one room after the other."""
    return Room(**{field.name: _joined([getattr(room, field.name) for room in rooms]) for field in fields(Room)})


def _joined(values: list[Any]) -> Any:
    if isinstance(values[0], Mapping):
        return {name: np.concatenate([value[name] for value in values]) for name in values[0]}
    return values[0] if values[0] is None or isinstance(values[0], float) else np.concatenate(values)
