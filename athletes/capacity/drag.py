"""Which lever gives a target drag on one machine, in today's air.

A machine's readings say which drag factor its monitor showed at which lever. The drag of a fan at a fixed lever is
proportional to the density of the air (turbulent drag, any text on fluid mechanics), so every reading is first scaled
to today's density. Dust and cleaning move a machine between readings; the curve through them still has to rise.
"""

from collections.abc import Iterable
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, IntArray

LEVER_BOUNDS = (1.0, 10.0)  # marks on the usual fan housing
LEVER_STEP = 0.5  # as fine as a lever can be set by eye
MIDDLE_LEVER = 6.25  # where most people end up: 6 to 6.5 (common practice)
# Drag grows by about a tenth a lever: three levers of one clean machine read 89, 136 and 223 at 1, 5 and 10, which is
# 0.10 and 0.10 of the logarithm (readings published by an owner; common practice).
LOG_DRAG_PER_LEVER = 0.10
HALVING_DAYS = 30.0  # an older reading counts half: dust gathers and fans are cleaned within weeks (ours)
MOST_HALVINGS = 20.0  # beyond it a reading is not made lighter, so that weights stay numbers
SLACK = 1e-9  # of a log drag: forgives the floating point


class Reach(IntEnum):
    """What a machine's readings say about a target drag."""

    WITHIN = 0
    BELOW = 1  # the lowest lever that was read still gives more: that lever is returned
    ABOVE = 2  # the highest lever that was read gives less: that lever is returned
    ROUGH = 3  # all that was read comes down to one lever: by the typical slope


def lever_for(
    target_drag: ArrayLike,
    levers: ArrayLike,
    drags: ArrayLike,
    densities: ArrayLike,
    density_now: float,
    age_days: ArrayLike = 0.0,
) -> tuple[Array, IntArray] | None:
    """Levers (n,) that give the target drag factors (n,) on one machine, and the `Reach` of each, (n,) of int.

    A machine's readings: `levers`, `drags` (drag factors as the monitor shows them), `densities` of the air at the time
    [kg/m³] and `age_days`, each a scalar or (m,). `density_now` [kg/m³] is today's. None without any reading.

    Between the readings: the inverse of a rising curve, straight in the logarithm of drag, through the levels that
    pooling of adjacent violators leaves (`pool_adjacent_violators`); readings of one lever are averaged first, the
    newer ones counting for more. Outside them nothing is made up: the outermost lever that was read, and a `Reach` that
    says so. One lever gives no slope, so the typical one is taken and the answer marked ROUGH.
    ValueError for a drag, density or target that is not above zero.
    """
    readings = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, float)) for a in (levers, drags, densities, age_days)))
    levers, drags, densities, age_days = readings
    if levers.size == 0:
        return None
    target_drag = np.asarray(target_drag, float)
    _require_above_zero(target_drag, "target drag")
    for values, name in ((levers, "lever"), (drags, "drag factor"), (densities, "density"), (density_now, "density")):
        _require_above_zero(values, name)
    weights = 0.5 ** np.clip(age_days / HALVING_DAYS, 0.0, MOST_HALVINGS)
    at, log_drag = _rising(levers, np.log(drags * density_now / densities), weights)
    wanted = np.log(target_drag)
    if len(at) == 1:
        rough = at[0] + (wanted - log_drag[0]) / LOG_DRAG_PER_LEVER
        return np.clip(rough, *LEVER_BOUNDS), np.full(wanted.shape, Reach.ROUGH, int)
    below, above = wanted < log_drag[0] - SLACK, wanted > log_drag[-1] + SLACK
    lever = np.select([below, above], [levers.min(), levers.max()], np.interp(wanted, log_drag, at))
    return lever, np.select([below, above], [Reach.BELOW, Reach.ABOVE], Reach.WITHIN)


def to_step(lever: ArrayLike) -> Array:
    """A lever rounded to the nearest `LEVER_STEP`, halves up; NaN passes."""
    return np.floor(np.asarray(lever, float) / LEVER_STEP + 0.5) * LEVER_STEP


def pool_adjacent_violators(values: Iterable[float], weights: Iterable[float]) -> Array:
    """The non-decreasing values (m,) nearest to `values` (m,) by weighted squares, `weights` (m,) > 0.

    Ayer et al. 1955, Ann Math Stat 26:641–647 (from memory): neighbours that fall are replaced by their common mean.
    """
    blocks: list[tuple[float, float, int]] = []  # mean, weight, count
    for value, weight in zip(values, weights, strict=True):
        blocks.append((value, weight, 1))
        while len(blocks) > 1 and blocks[-2][0] >= blocks[-1][0]:
            (one, one_weight, one_count), (other, other_weight, other_count) = blocks[-2:]
            total = one_weight + other_weight
            blocks[-2:] = [((one * one_weight + other * other_weight) / total, total, one_count + other_count)]
    return np.repeat([mean for mean, _, _ in blocks], [count for _, _, count in blocks])


def _rising(levers: Array, log_drags: Array, weights: Array) -> tuple[Array, Array]:
    """The levers and log drags of a strictly rising curve: a pooled block stands at its own mean lever."""
    lever, which = np.unique(levers, return_inverse=True)
    weight = np.bincount(which, weights)
    level = pool_adjacent_violators(np.bincount(which, weights * log_drags) / weight, weight)
    level, block = np.unique(level, return_inverse=True)
    return np.bincount(block, weight * lever) / np.bincount(block, weight), level


def _require_above_zero(values: ArrayLike, name: str) -> None:
    if not ((np.asarray(values, float) > 0) & np.isfinite(values)).all():
        raise ValueError(f"Every {name} must be a number above zero.")
