"""What is predicted for the doses that are asked: headroom and chance in the last round, RPE."""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray
from sessions.scaling.constants import RPE_AT_THE_LIMIT, RPE_PER_HEADROOM

LEAST_MARGIN = 1e-6  # of the capacity: what is left counts as nothing below it
RPE_BOUNDS = (1.0, 10.0)


def largest_factor(weight: Array, cost: Array, free: Array, limit: ArrayLike = 1.0) -> Array:
    """The factor q (...) at which Σ weight·max(q·cost − free, 0) = limit, over the last axis; inf where nothing counts.

    The left side rises and is convex, so Newton's steps from above, where every term counts, come down to the answer.
    """
    limit = np.asarray(limit, float)
    slope = (weight * cost).sum(-1)
    counts = slope > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(counts, (limit + (weight * free).sum(-1)) / np.where(counts, slope, 1.0), np.inf)
        for _ in range(weight.shape[-1] + 1):
            above = factor[..., None] * cost > free
            slope = (weight * cost * above).sum(-1)
            found = (limit + (weight * free * above).sum(-1)) / np.where(slope > 0, slope, 1.0)
            lower = np.where(counts & (slope > 0), np.minimum(found, factor), factor)
            if np.array_equal(lower, factor):
                break
            factor = lower
    return factor


def headroom_left(demand: Array, cost: Array, free: Array, present: BoolArray) -> Array:
    """Share of the capacity left at every station in the last round, (n, S): 1 − 1/q, all that is asked times q being
    what can just be held. `cost` and `free` (n, S) as in `Targets`; 1 at rest.
    """
    columns = np.broadcast_to(cost[:, None, :], demand.shape), np.broadcast_to(free[:, None, :], demand.shape)
    factor = largest_factor(demand, *columns)
    return np.where(present, 1.0 - 1.0 / np.maximum(factor, LEAST_MARGIN), 1.0)


def chance_to_hold(demand: Array, cost: Array, free: Array, doubt: Array, present: BoolArray) -> Array:
    """Probability (n, S) that a dose is held in every round, others doing theirs; `doubt` SD of the log; 1 at rest."""
    fraction = np.maximum(cost - free, 0.0)
    own = np.diagonal(demand, axis1=1, axis2=2)
    others = np.einsum("nsj,nj->ns", demand, fraction) - own * fraction
    margin = np.maximum(1.0 - others, LEAST_MARGIN)
    can = free + margin / np.where(present, own, 1.0)
    with np.errstate(divide="ignore"):
        spare = np.log(can / np.where(present, cost, can)) / np.maximum(doubt, LEAST_MARGIN)
    return np.where(present & (cost > 0), normal_cdf(spare), 1.0)


def expected_rpe(headroom: Array, present: BoolArray) -> Array:
    """RPE (n,) expected of a session, from the least headroom (n, S) of its stations; NaN where nothing is asked."""
    least = np.where(present, headroom, 1.0).min(-1)
    rpe = np.clip(RPE_AT_THE_LIMIT - RPE_PER_HEADROOM * least, *RPE_BOUNDS)
    return np.where(present.any(-1), rpe, np.nan)


def normal_cdf(z: Array) -> Array:
    """Standard normal distribution function, within 1.5e-7: Abramowitz & Stegun, formula 7.1.26 for erf."""
    x = np.abs(z) / np.sqrt(2.0)
    t = 1.0 / (1.0 + 0.3275911 * x)
    series = np.full(np.shape(z), 1.061405429) * t
    for coefficient in (-1.453152027, 1.421413741, -0.284496736, 0.254829592):
        series = (series + coefficient) * t
    return np.asarray(0.5 + np.copysign(0.5 - 0.5 * series * np.exp(-x * x), z), float)
