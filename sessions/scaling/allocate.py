"""The smallest cut: when stations tire each other, shares give way where it helps, and no more than it takes."""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray

MOST_SWEEPS = 1000  # twenty are usual, more where two tight rows are nearly alike
LAST_CHANGE = 1e-8  # of a share
NEARLY = 1e-9  # of a limit, that the last sweep may lack
SLACK = 1e-12  # of a limit: forgives the floating point


def least_cut(
    demand: ArrayLike, wanted: ArrayLike, limit: ArrayLike, least: ArrayLike = 0.0, weight: ArrayLike = 1.0
) -> Array:
    """Shares (n, S) of each station's wanted fraction: as little as possible is cut.

    Minimises Σ weight·(1 − share)² with demand · (share·wanted) <= limit and least <= share <= 1. `demand` (n, S, S)
    and `wanted` (n, S) are >= 0, `limit` a scalar, (n, 1) or (n, S), inf for none; `least` (n, S) from 0 to 1 and
    `weight` > 0 broadcast, and leading axes too. A station that wants nothing has share 1. Where even the least shares
    do not fit, all of them give way in proportion, down to 0 where there is no room at all.
    Hildreth's dual ascent (1957, Naval Research Logistics Quarterly 4:79–85): row after row, each multiplier is set so
    that its row just fits. ValueError for a negative, infinite or missing number.
    """
    demand, wanted, limit = np.asarray(demand, float), np.asarray(wanted, float), np.asarray(limit, float)
    least, weight = np.asarray(least, float), np.asarray(weight, float)
    if not all((np.isfinite(a) & (a >= 0)).all() for a in (demand, wanted)) or np.isnan(limit).any():
        raise ValueError("Sharing needs demands and wanted fractions of zero or more, and a limit.")
    if not ((least >= 0) & (least <= 1)).all() or not (np.isfinite(weight) & (weight > 0)).all():
        raise ValueError("The least shares lie between 0 and 1, and weights above 0.")
    stations = demand.shape[-1]
    shape = np.broadcast_shapes(wanted.shape, demand.shape[:-1], limit.shape, least.shape, weight.shape)
    rows = np.broadcast_to(demand * wanted[..., None, :], (*shape, stations)).reshape(-1, stations, stations)
    limit, least, weight = (np.broadcast_to(a, shape).reshape(-1, stations) for a in (limit, least, weight))
    share = np.ones(limit.shape)
    over = (rows.sum(-1) > limit + SLACK).any(-1)
    share[over] = _ascent(rows[over], limit[over], _possible(rows[over], limit[over], least[over]), weight[over])
    wants = np.broadcast_to(wanted, shape).reshape(-1, stations) > 0
    return np.asarray(np.where(wants, share, 1.0).reshape(shape), float)


def _possible(rows: Array, limit: Array, least: Array) -> Array:
    """The least shares, in proportion less where they do not fit."""
    at_least = (rows * least[:, None, :]).sum(-1)
    room = np.maximum(limit, 0.0)
    part = np.where(at_least > room, room / np.where(at_least > 0, at_least, 1.0), 1.0)
    return np.asarray(least * part.min(-1, keepdims=True), float)


def _ascent(rows: Array, limit: Array, least: Array, weight: Array) -> Array:
    """Shares (n, S) for `rows` (n, S, S) of demand · wanted; `least` fits."""
    n, stations = limit.shape
    multiplier, pull = np.zeros((n, stations)), np.zeros((n, stations))  # pull = Σ multiplier · row / weight
    along = rows / weight[:, None, :]
    active = np.arange(n)
    for _ in range(MOST_SWEEPS):
        before = pull[active]
        for s in range(stations):
            # A row that fits without a multiplier needs none
            loads = np.einsum("nj,nj->n", rows[active, s], np.maximum(1.0 - pull[active], least[active]))
            here = active[(loads > limit[active, s]) | (multiplier[active, s] > 0)]
            if not here.size:
                continue
            step = along[here, s]
            rest = pull[here] - multiplier[here, s, None] * step
            found = _multiplier(rows[here, s], step, rest, limit[here, s], least[here])
            multiplier[here, s] = found
            pull[here] = rest + found[:, None] * step
        active = active[(np.abs(pull[active] - before) > LAST_CHANGE).any(-1)]
        if not active.size:
            break
    share = np.maximum(1.0 - pull, least)
    # What the last sweeps still lack, if anything, is taken from what lies above the least shares
    at_least = (rows * least[:, None, :]).sum(-1)
    above = (rows * share[:, None, :]).sum(-1) - at_least
    room = np.maximum(limit - at_least, 0.0)
    part = np.where(above > room + NEARLY, room / np.where(above > 0, above, 1.0), 1.0)
    return np.asarray(least + (share - least) * part.min(-1, keepdims=True), float)


def _multiplier(row: Array, step: Array, rest: Array, limit: Array, least: Array) -> Array:
    """The smallest multiplier (n,) >= 0 at which row · max(1 − rest − multiplier·step, least) <= limit.

    The left side falls and is convex, so Newton's steps from 0 come to the answer from below and end there.
    """
    found, falls, most = np.zeros(len(row)), row * step, 1.0 - rest
    for _ in range(row.shape[1] + 1):
        free = most - found[:, None] * step
        excess = np.einsum("nj,nj->n", row, np.maximum(free, least)) - limit
        slope = np.einsum("nj,nj->n", falls, free > least)
        further = np.where((excess > SLACK) & (slope > 0), excess / np.where(slope > 0, slope, 1.0), 0.0)
        if not further.any():
            break
        found = found + further
    return found


def fits(demand: Array, fraction: Array, limit: ArrayLike = 1.0) -> BoolArray:
    """Whether demand · fraction stays within the limit in every row, (n,)."""
    return np.asarray((np.einsum("nsj,nj->ns", demand, fraction) <= np.asarray(limit) + 1e-9).all(-1), bool)
