"""Most probable parameters of a smooth model under a normal prior, for many athletes at once.

An athlete has g subjects (engines, or movements) of p parameters each. An effort belongs to one subject, and the prior
joins them: where it says that two subjects go together, an effort on one informs the other.

The cost of one athlete is  ½·(θ − μ)ᵀ Σ⁻¹ (θ − μ) + Σ ρ(r),  r the residual of an effort in SDs of its trial noise.
ρ(r) = ½·r² up to a = `FULL_WEIGHT_SD`, so ordinary efforts give plain least squares; beyond it ρ(r) = a² − ½·a⁴/r²
levels off (the weight falls as 1/r⁴), so that one mistyped effort can hardly move an estimate.

A result of zero says only that the athlete is *below* a value (one repetition): its loss is log(1 + e^−r), the logistic
form of a censored result (Tobin 1958 with a logistic error; from memory). Its pull never exceeds 1/SD, so a movement
that someone cannot do for want of skill does not drag everything else down.

"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray, IntArray
from athletes.capacity.constants import FULL_WEIGHT_SD

# Predictions, their derivatives, and their second derivatives (see `Problem`).
Model = Callable[[Array, Array], tuple[Array, Sequence[Array], Sequence[Array]]]
Expansion = tuple[Array, ...]  # cost, gradient, what efforts add to the curvature, what Gauss–Newton leaves out

MOST_STEPS = 80  # a fit takes 5 to 8; the rest is for odd data
CAREFUL_STEPS = 2  # by Gauss–Newton: far from the bottom the full curvature mostly has none
LAST_STEP = 3e-4  # in log units: so near to the bottom a step is taken unseen, is the last, and leaves about its square
STILL_MOVING = 0.9  # the share of fits below which it pays to copy them out and leave the finished ones alone
AT_ONCE = 1_000_000  # entries of all curvatures that stand in memory together, 8 MB


@dataclass(frozen=True, eq=False)
class Problem:
    """n fits of g subjects with p parameters and up to m efforts each.

    `model(theta, given)` takes parameters (n, g, p) and what is given of each effort (n, g, m). It returns predictions
    (n, g, m), a list of their p derivatives, and a list of the second derivatives (a, b), b <= a, row by row; that one
    is empty where they are all 0. `observed` and `inverse_sd` have shape (n, g, m); an inverse SD of 0 is no effort.
    `below` (n, g, m) is True where a result says only that the prediction is below what was observed; None for nowhere.
    `prior_mean` has shape (n, g, p), `precision`, the inverse prior covariance, (n, g·p, g·p).
    """

    model: Model
    given: Array
    observed: Array
    inverse_sd: Array
    prior_mean: Array
    precision: Array
    below: BoolArray | None = None

    def __len__(self) -> int:
        return len(self.prior_mean)

    def take(self, index: IntArray | BoolArray | slice) -> "Problem":
        """The same problem for some of its fits: a slice, or row numbers."""
        below = None if self.below is None else self.below[index]
        arrays = (self.given, self.observed, self.inverse_sd, self.prior_mean, self.precision)
        given, observed, inverse_sd, prior_mean, precision = (array[index] for array in arrays)
        return Problem(self.model, given, observed, inverse_sd, prior_mean, precision, below)

    def far_off(self, theta: Array) -> BoolArray:
        """Which efforts (n, g, m) are further from the fit than ordinary ones; a result of zero never is."""
        residual = (self.observed - self.model(theta, self.given)[0]) * self.inverse_sd
        far: BoolArray = np.abs(residual) > FULL_WEIGHT_SD
        return far if self.below is None else far & ~self.below

    def expand(self, theta: Array, robust: bool) -> Expansion:
        """The cost around `theta` (n, g, p).

        Returns the cost (n,), its gradient (n, g·p), and what the efforts add to the prior's curvature (n, g, p, p): by
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
        away = (theta - self.prior_mean).reshape(len(theta), -1)
        pull = (self.precision @ away[..., None])[..., 0]
        efforts = np.stack([_over_efforts(push, slope) for slope in slopes], -1).reshape(pull.shape)
        added = _squares(information, slopes)
        bent = _symmetric([_over_efforts(push, bend) for bend in bends]) if bends else np.zeros(added.shape)
        if robust:  # beyond its limit the loss curves by −3 times the weight, not by the weight
            bent -= _squares(beyond, slopes)
        return 0.5 * (away * pull).sum(-1) + loss.sum((1, 2)), pull + efforts, added, bent


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

    As in `Problem`, but `sd` (n, g, m) is not inverted, `observed` is NaN where there is no effort, and `precision` may
    be (1, g·p, g·p) where all share it. The covariance is the inverse Gauss–Newton curvature. Not `robust`: every
    effort counts fully, however far off.
    """
    n, g, p = prior_mean.shape
    if not prior_mean.size:
        return prior_mean, np.zeros((n, g * p, g * p))
    seen = ~np.isnan(observed)
    results, inverse_sd = np.where(seen, observed, 0.0), np.where(seen, 1.0 / sd, 0.0)
    shared = np.broadcast_to(precision, (n, g * p, g * p))
    some_below = None if below is None or not below.any() else below
    return solve(Problem(model, given, results, inverse_sd, prior_mean, shared, some_below), robust)


def solve(problem: Problem, robust: bool = True) -> tuple[Array, Array]:
    """Most probable parameters (n, g, p) and their joint covariance (n, g·p, g·p)."""
    theta = _by_blocks(problem, problem.prior_mean, robust=False)
    odd = np.flatnonzero(problem.far_off(theta).any((1, 2)))
    if robust and odd.size:
        theta[odd] = _solve_robustly(problem.take(odd), theta[odd])
    covariance = np.empty(problem.precision.shape)
    for block in _blocks(problem):
        part = problem.take(block)
        _, _, added, _ = part.expand(theta[block], robust)
        covariance[block] = np.linalg.inv(_curvature(part.precision, added))
    return theta, covariance


def minimise(problem: Problem, start: Array, robust: bool) -> Array:
    """The nearest valley from `start` (n, g, p), by Newton; a step that would raise a fit's cost is halved."""
    theta, here, part = np.array(start, float), np.array(start, float), problem
    rows, length = np.arange(len(theta)), np.ones(len(theta))
    state = part.expand(here, robust)
    for taken in range(MOST_STEPS):
        step = length[:, None] * _step(part.precision, state[1], state[2], state[3], careful=taken < CAREFUL_STEPS)
        moving = np.abs(step).max(-1, initial=0.0) > LAST_STEP
        if moving.mean() < STILL_MOVING:
            theta[rows] = here + step.reshape(here.shape)
            if not moving.any():
                return theta
            rows, part, step, length = rows[moving], part.take(moving), step[moving], length[moving]
            here, state = here[moving], tuple(values[moving] for values in state)
        trial = here + step.reshape(here.shape)
        with np.errstate(over="ignore", invalid="ignore"):
            new = part.expand(trial, robust)
        better = new[0] <= state[0]  # False for a cost that is not a number
        length = np.where(better, np.minimum(1.0, 2.0 * length), 0.5 * length)
        here[better] = trial[better]
        for before, after in zip(state, new, strict=True):
            before[better] = after[better]
    theta[rows] = here
    return theta


def _step(precision: Array, gradient: Array, added: Array, bent: Array, careful: bool) -> Array:
    """The step (n, g·p) to the bottom of the expanded cost: by Gauss–Newton where the full curvature has no bottom."""
    curvature = _curvature(precision, added)
    if not careful:
        full = _curvature(precision, added + bent)
        has_bottom = _positive_definite(full)
        curvature[has_bottom] = full[has_bottom]
    return -np.asarray(np.linalg.solve(curvature, gradient[..., None]), float)[..., 0]


def _positive_definite(matrices: Array) -> BoolArray:
    """Which of the matrices (n, p, p) are, (n,)."""
    try:
        np.linalg.cholesky(matrices)
    except np.linalg.LinAlgError:  # at least one is not; which, their eigenvalues say, at ten times the cost
        return np.linalg.eigvalsh(matrices)[:, 0] > 0
    return np.ones(len(matrices), bool)


def _curvature(precision: Array, added: Array) -> Array:
    """The prior's precision (n, g·p, g·p) and, on each subject's own block, what its efforts add (n, g, p, p)."""
    curvature = precision.copy()
    n, g, p, _ = added.shape
    blocks = np.einsum("ngagb->ngab", curvature.reshape(n, g, p, g, p))  # a view
    blocks += added
    return curvature


def _blocks(problem: Problem) -> list[slice]:
    """Slices that cut the fits into parts whose curvatures stand in memory together."""
    size = max(1, AT_ONCE // problem.precision.shape[1] ** 2)
    return [slice(start, start + size) for start in range(0, len(problem), size)]


def _by_blocks(problem: Problem, start: Array, robust: bool) -> Array:
    """`minimise`, a block of fits at a time."""
    theta = np.empty(start.shape)
    for block in _blocks(problem):
        theta[block] = minimise(problem.take(block), start[block], robust)
    return theta


def _solve_robustly(problem: Problem, plain: Array) -> Array:
    """Parameters (n, g, p) under the robust loss, from the best of several starts.

    The loss has more than one valley. Beside the plain fit the starts are fits that leave one effort out each, of the
    subjects that the plain fit does not describe: one of them has never seen a single bad effort, however well the
    plain fit hides it.
    """
    suspect = problem.far_off(plain).any(-1, keepdims=True) & (problem.inverse_sd > 0)
    if problem.below is not None:
        suspect &= ~problem.below
    row, subject, effort = np.nonzero(suspect)
    trusting = problem.take(row)
    trusting.inverse_sd[np.arange(row.size), subject, effort] = 0.0
    without = _by_blocks(trusting, plain[row], robust=False)
    rows = np.concatenate([np.arange(len(plain)), row])
    tried = problem.take(rows)
    found = _by_blocks(tried, np.concatenate([plain, without]), robust=True)
    order = np.lexsort((tried.expand(found, robust=True)[0], rows))
    best = order[np.unique(rows[order], return_index=True)[1]]
    return found[best]


def _over_efforts(one: Array, other: Array) -> Array:
    """The sum over the efforts of a subject: (n, g, m) twice → (n, g)."""
    total: Array = (one * other).sum(-1)
    return total


def _squares(information: Array, slopes: Sequence[Array]) -> Array:
    """Sums of the products of two derivatives each, weighted by `information` (n, g, m): → (n, g, p, p)."""
    weighted = [information * slope for slope in slopes]
    return _symmetric([_over_efforts(weighted[a], slopes[b]) for a in range(len(slopes)) for b in range(a + 1)])


def _symmetric(triangle: Sequence[Array]) -> Array:
    """Matrices (n, g, p, p) from their p·(p + 1)/2 entries up to the diagonal, row by row, (n, g) each."""
    order = int(np.sqrt(2 * len(triangle)))
    matrix = np.empty((*triangle[0].shape, order, order))
    entries = iter(triangle)
    for a in range(order):
        for b in range(a + 1):
            matrix[..., a, b] = matrix[..., b, a] = next(entries)
    return matrix
