"""Most probable parameters of a smooth model under a normal prior, for many athletes at once.

An athlete has g subjects (engines, or movements) of p parameters each. An effort belongs to one subject, and the prior
joins them: where it says that two subjects go together, an effort on one informs the other.

The cost of one athlete is  ½·(θ − μ)ᵀ Σ⁻¹ (θ − μ) + Σ ρ(r),  r the residual of an effort in SDs of its trial noise.
ρ(r) = ½·r² up to a = `FULL_WEIGHT_SD`, so ordinary efforts give plain least squares; beyond it ρ(r) = a² − ½·a⁴/r²
levels off (the weight falls as 1/r⁴), so that one mistyped effort can hardly move an estimate.

A result of zero says only that the athlete is *below* a value (one repetition): its loss is log(1 + e^−r), the logistic
form of a censored result (Tobin 1958 with a logistic error; from memory). Its pull never exceeds 1/SD, so a movement
that someone cannot do for want of skill does not drag everything else down.

Inside, the athletes stand on the last axis (see `systems`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import systems
from athletes.capacity.arrays import Array, BoolArray, IntArray
from athletes.capacity.constants import FULL_WEIGHT_SD

# Predictions, their derivatives, and their second derivatives (see `Problem`).
Model = Callable[[Array, Array], tuple[Array, Sequence[Array], Sequence[Array]]]
Expansion = tuple[Array, ...]  # cost, gradient, what efforts add to the curvature, what Gauss–Newton leaves out

MOST_STEPS = 80  # a fit takes 5 to 8; the rest is for odd data
CAREFUL_STEPS = 2  # by Gauss–Newton: far from the bottom the full curvature mostly has none
LAST_STEP = 3e-4  # in log units: so near to the bottom a step is taken unseen, is the last, and leaves about its square
STILL_MOVING = 0.9  # the share of fits below which it pays to copy them out and leave the finished ones alone


@dataclass(frozen=True, eq=False)
class Problem:
    """n fits of g subjects with p parameters and up to m efforts each.

    `model(theta, given)` takes parameters (g, p, n) and what is given of each effort (g, m, n). It returns predictions
    (g, m, n), a list of their p derivatives, and a list of the second derivatives (a, b), b <= a, row by row; that one
    is empty where they are all 0. `observed` and `inverse_sd` have shape (g, m, n); an inverse SD of 0 is no effort.
    `below` (g, m, n) is True where a result says only that the prediction is below what was observed; None for nowhere.
    `prior_mean` has shape (g, p, n), `precision`, the inverse prior covariance, (g·p, g·p, n).
    """

    model: Model
    given: Array
    observed: Array
    inverse_sd: Array
    prior_mean: Array
    precision: Array
    below: BoolArray | None = None

    def take(self, index: IntArray | BoolArray | slice) -> "Problem":
        """The same problem for some of its fits: a slice, or row numbers."""
        arrays = (self.given, self.observed, self.inverse_sd, self.prior_mean, self.precision)
        below = None if self.below is None else np.ascontiguousarray(self.below[..., index])
        given, observed, inverse_sd, prior_mean, precision = (np.ascontiguousarray(a[..., index]) for a in arrays)
        return Problem(self.model, given, observed, inverse_sd, prior_mean, precision, below)

    def far_off(self, theta: Array) -> BoolArray:
        """Which efforts (g, m, n) are further from the fit than ordinary ones; a result of zero never is."""
        residual = (self.observed - self.model(theta, self.given)[0]) * self.inverse_sd
        far: BoolArray = np.abs(residual) > FULL_WEIGHT_SD
        return far if self.below is None else far & ~self.below

    def expand(self, theta: Array, robust: bool) -> Expansion:
        """The cost around `theta` (g, p, n).

        Returns the cost (n,), its gradient (g·p, n), and what the efforts add to the prior's curvature (g, p, p, n): by
        Gauss–Newton, and in a fourth array what that leaves out, the bends of the model and of the robust loss.
        """
        predicted, slopes, bends = self.model(theta, self.given)
        residual = (self.observed - predicted) * self.inverse_sd
        weight = robust_weight(residual) if robust else np.ones(residual.shape)
        loss = robust_loss(residual) if robust else 0.5 * residual**2
        push, information = -residual * weight * self.inverse_sd, weight * self.inverse_sd**2
        beyond = 4.0 * information * (np.abs(residual) > FULL_WEIGHT_SD)
        if self.below is not None:
            above = _share_above(residual)
            loss = np.where(self.below, np.logaddexp(0.0, -residual), loss)
            push = np.where(self.below, above * self.inverse_sd, push)
            information = np.where(self.below, above * (1.0 - above) * self.inverse_sd**2, information)
            beyond = np.where(self.below, 0.0, beyond)
        away = (theta - self.prior_mean).reshape(len(self.precision), theta.shape[-1])
        pull = np.einsum("abn,bn->an", self.precision, away)
        efforts = np.stack([_over_efforts(push, slope) for slope in slopes], 1).reshape(pull.shape)
        added = _squares(information, slopes)
        bent = _symmetric([_over_efforts(push, bend) for bend in bends]) if bends else np.zeros(added.shape)
        if robust:  # beyond its limit the loss curves by −3 times the weight, not by the weight
            bent -= _squares(beyond, slopes)
        return 0.5 * (away * pull).sum(0) + loss.sum((0, 1)), pull + efforts, added, bent


def robust_weight(residual: ArrayLike) -> Array:
    """Weight of an effort: 1 up to a = `FULL_WEIGHT_SD`, then a⁴/r⁴. `residual` in SDs, any shape."""
    weight: Array = (FULL_WEIGHT_SD / np.maximum(np.abs(residual), FULL_WEIGHT_SD)) ** 4
    return weight


def robust_loss(residual: ArrayLike) -> Array:
    """Loss whose slope is `robust_weight(r)·r`: ½·r² up to a = `FULL_WEIGHT_SD`, a² − ½·a⁴/r² beyond."""
    within = np.minimum(np.abs(residual), FULL_WEIGHT_SD)
    beyond = FULL_WEIGHT_SD**2 * (1.0 - robust_weight(residual) ** 0.5)
    loss: Array = 0.5 * (within**2 + beyond)
    return loss


def _share_above(residual: Array) -> Array:
    """1 / (1 + e^r): the slope of the loss of a result that says only "below"."""
    share: Array = np.exp(-np.logaddexp(0.0, residual))
    return share


def estimate(
    model: Model,
    given: Array,
    observed: Array,
    sd: Array,
    prior_mean: Array,
    precision: Array,
    below: BoolArray | None = None,
    robust: bool = True,
) -> tuple[Array, Array]:
    """Most probable parameters (n, g, p) and their joint covariance (n, g·p, g·p).

    As in `Problem`, but with the athletes first: `given`, `observed` and `sd` are (n, g, m), NaN in `observed` where
    there is no effort; `prior_mean` is (n, g, p), `precision`, the inverse of the prior covariance, (n, g·p, g·p), or
    (1, g·p, g·p) where all share it. The covariance is the inverse Gauss–Newton curvature. Not `robust`: every effort
    counts fully, however far off.
    """
    if not prior_mean.size:
        return prior_mean, np.zeros((len(prior_mean), *precision.shape[1:]))
    seen = ~np.isnan(observed)
    arrays = (given, np.where(seen, observed, 0.0), np.where(seen, 1.0 / sd, 0.0), prior_mean)
    seconds, results, inverse_sd, mean = (np.ascontiguousarray(np.moveaxis(array, 0, -1)) for array in arrays)
    shared = np.broadcast_to(np.moveaxis(precision, 0, -1), (*precision.shape[1:], len(prior_mean)))
    some_below = None if below is None or not below.any() else np.ascontiguousarray(np.moveaxis(below, 0, -1))
    theta, covariance = solve(Problem(model, seconds, results, inverse_sd, mean, shared, some_below), robust)
    return np.moveaxis(theta, -1, 0), np.moveaxis(covariance, -1, 0)


def solve(problem: Problem, robust: bool = True) -> tuple[Array, Array]:
    """Most probable parameters (g, p, n) and their joint covariance (g·p, g·p, n)."""
    theta = _by_blocks(problem, problem.prior_mean, robust=False)
    odd = np.flatnonzero(problem.far_off(theta).any((0, 1)))
    if robust and odd.size:
        theta[..., odd] = _solve_robustly(problem.take(odd), theta[..., odd])
    covariance = np.empty(problem.precision.shape)
    for block in systems.blocks(len(covariance), theta.shape[-1]):
        part = problem.take(block)
        _, _, added, _ = part.expand(theta[..., block], robust)
        covariance[..., block] = systems.invert(_curvature(part.precision, added))
    return theta, covariance


def minimise(problem: Problem, start: Array, robust: bool) -> Array:
    """The nearest valley from `start` (g, p, n), by Newton; a step that would raise a fit's cost is halved."""
    theta, here, part = np.array(start, float), np.array(start, float), problem
    rows, length = np.arange(theta.shape[-1]), np.ones(theta.shape[-1])
    state = part.expand(here, robust)
    for taken in range(MOST_STEPS):
        step = length * _step(part.precision, state[1], state[2], state[3], careful=taken < CAREFUL_STEPS)
        moving = np.abs(step).max(0, initial=0.0) > LAST_STEP
        if moving.mean() < STILL_MOVING:
            theta[..., rows] = here + step.reshape(here.shape)
            if not moving.any():
                return theta
            rows, part, step, length = rows[moving], part.take(moving), step[:, moving], length[moving]
            here, state = here[..., moving], tuple(values[..., moving] for values in state)
        trial = here + step.reshape(here.shape)
        with np.errstate(over="ignore", invalid="ignore"):
            new = part.expand(trial, robust)
        better = new[0] <= state[0]  # False for a cost that is not a number
        length = np.where(better, np.minimum(1.0, 2.0 * length), 0.5 * length)
        if better.all():
            here, state = trial, new
        else:
            here = np.where(better, trial, here)
            state = tuple(np.where(better, after, before) for after, before in zip(new, state, strict=True))
    theta[..., rows] = here
    return theta


def _step(precision: Array, gradient: Array, added: Array, bent: Array, careful: bool) -> Array:
    """The step (g·p, n) to the bottom of the expanded cost: by Gauss–Newton where the full curvature has no bottom."""
    step, proper = systems.solve(_curvature(precision, added if careful else added + bent), gradient)
    dented = np.flatnonzero(~proper)
    if dented.size:
        step[:, dented], _ = systems.solve(_curvature(precision[..., dented], added[..., dented]), gradient[:, dented])
    return -step


def _curvature(precision: Array, added: Array) -> Array:
    """The prior's precision (g·p, g·p, n) and, on each subject's own block, what its efforts add (g, p, p, n)."""
    curvature = precision.copy()
    blocks = _diagonal_blocks(curvature, len(added))
    blocks += added
    return curvature


def _diagonal_blocks(matrix: Array, groups: int) -> Array:
    """A view (g, p, p, n) of the blocks on the diagonal of (g·p, g·p, n)."""
    order, _, n = matrix.shape
    blocks: Array = np.einsum("gagbn->gabn", matrix.reshape(groups, order // groups, groups, order // groups, n))
    return blocks


def _by_blocks(problem: Problem, start: Array, robust: bool) -> Array:
    """`minimise`, a block of fits at a time."""
    theta = np.empty(start.shape)
    for block in systems.blocks(len(problem.precision), start.shape[-1]):
        theta[..., block] = minimise(problem.take(block), start[..., block], robust)
    return theta


def _solve_robustly(problem: Problem, plain: Array) -> Array:
    """Parameters (g, p, n) under the robust loss, from the best of several starts.

    The loss has more than one valley. Beside the plain fit the starts are fits that leave one effort out each, of the
    subjects that the plain fit does not describe: one of them has never seen a single bad effort, however well the
    plain fit hides it.
    """
    suspect = problem.far_off(plain).any(1, keepdims=True) & (problem.inverse_sd > 0)
    if problem.below is not None:
        suspect &= ~problem.below
    subject, effort, row = np.nonzero(suspect)
    trusting = problem.take(row)
    trusting.inverse_sd[subject, effort, np.arange(row.size)] = 0.0
    without = _by_blocks(trusting, plain[..., row], robust=False)
    rows = np.concatenate([np.arange(plain.shape[-1]), row])
    tried = problem.take(rows)
    found = _by_blocks(tried, np.concatenate([plain, without], axis=-1), robust=True)
    order = np.lexsort((tried.expand(found, robust=True)[0], rows))
    best = order[np.unique(rows[order], return_index=True)[1]]
    return found[..., best]


def _over_efforts(one: Array, other: Array) -> Array:
    """The sum over the efforts of a subject: (g, m, n) twice → (g, n)."""
    total: Array = np.einsum("gmn,gmn->gn", one, other)
    return total


def _squares(information: Array, slopes: Sequence[Array]) -> Array:
    """Sums of the products of two derivatives each, weighted by `information` (g, m, n): → (g, p, p, n)."""
    weighted = [information * slope for slope in slopes]
    return _symmetric([_over_efforts(weighted[a], slopes[b]) for a in range(len(slopes)) for b in range(a + 1)])


def _symmetric(triangle: Sequence[Array]) -> Array:
    """Matrices (g, p, p, n) from their p·(p + 1)/2 entries up to the diagonal, row by row, (g, n) each."""
    order = int(np.sqrt(2 * len(triangle)))
    matrix = np.empty((len(triangle[0]), order, order, triangle[0].shape[-1]))
    entries = iter(triangle)
    for a in range(order):
        for b in range(a + 1):
            matrix[:, a, b] = matrix[:, b, a] = next(entries)
    return matrix
