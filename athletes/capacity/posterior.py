"""Most probable parameters of a smooth model under a normal prior, for many athletes at once.

The cost of one athlete is  ½·(θ − μ)ᵀ Σ⁻¹ (θ − μ) + Σ ρ(r),  r the residual of an effort in SDs of its trial noise.
ρ(r) = ½·r² up to a = `FULL_WEIGHT_SD`, so ordinary efforts give plain least squares; beyond it ρ(r) = a² − ½·a⁴/r²
levels off (the weight falls as 1/r⁴), so that one mistyped effort can hardly move an estimate.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import FULL_WEIGHT_SD

MOST_STEPS = 80  # a fit takes 5 to 15; the rest is for odd data
SMALLEST_STEP = 1e-8  # in log units: far below anything shown


@dataclass(frozen=True, eq=False)
class Problem:
    """n fits with p parameters and up to m observations each.

    `model(theta, rows)` takes parameters (q, p) and the rows (q,) they belong to, and returns predictions (q, m) and
    their derivatives (q, m, p). `observed` and `inverse_sd` have shape (n, m); an inverse SD of 0 is no observation.
    `prior_mean` has shape (n, p), `prior_precision` (n, p, p). `rows` (n,) are the row numbers the model knows.
    """

    model: Callable
    observed: np.ndarray
    inverse_sd: np.ndarray
    prior_mean: np.ndarray
    prior_precision: np.ndarray
    rows: np.ndarray

    def take(self, index):
        """The same problem for some of its rows."""
        arrays = (self.observed, self.inverse_sd, self.prior_mean, self.prior_precision, self.rows)
        return Problem(self.model, *(a[index] for a in arrays))

    def without(self, column):
        """The same problem with one column of observations left out."""
        inverse_sd = self.inverse_sd.copy()
        inverse_sd[:, column] = 0.0
        return Problem(self.model, self.observed, inverse_sd, self.prior_mean, self.prior_precision, self.rows)

    def residuals(self, theta):
        """Residuals in SDs (n, m), and their derivatives (n, m, p)."""
        predicted, slopes = self.model(theta, self.rows)
        return (self.observed - predicted) * self.inverse_sd, -slopes * self.inverse_sd[..., None]

    def expand(self, theta, robust):
        """Cost (n,), gradient (n, p) and Gauss–Newton curvature (n, p, p) at `theta` (n, p)."""
        residual, slopes = self.residuals(theta)
        away = theta - self.prior_mean
        pull = (self.prior_precision @ away[..., None])[..., 0]
        weight = robust_weight(residual) if robust else np.ones_like(residual)
        loss = robust_loss(residual) if robust else 0.5 * residual**2
        weighted = slopes * weight[..., None]
        cost = 0.5 * (away * pull).sum(-1) + loss.sum(-1)
        gradient = pull + (weighted * residual[..., None]).sum(-2)
        curvature = self.prior_precision + np.swapaxes(weighted, -1, -2) @ slopes
        return cost, gradient, curvature


def robust_weight(residual):
    """Weight of an effort: 1 up to a = `FULL_WEIGHT_SD`, then a⁴/r⁴. `residual` in SDs, any shape."""
    return (FULL_WEIGHT_SD / np.maximum(np.abs(residual), FULL_WEIGHT_SD)) ** 4


def robust_loss(residual):
    """Loss whose slope is `robust_weight(r)·r`: ½·r² up to a = `FULL_WEIGHT_SD`, a² − ½·a⁴/r² beyond."""
    within = np.minimum(np.abs(residual), FULL_WEIGHT_SD)
    beyond = FULL_WEIGHT_SD**2 * (1.0 - robust_weight(residual) ** 0.5)
    return 0.5 * (within**2 + beyond)


def solve(problem):
    """Most probable parameters (n, p) and their covariances (n, p, p); the covariance is the inverse curvature."""
    theta = minimise(problem, problem.prior_mean, robust=False)
    odd = np.flatnonzero((np.abs(problem.residuals(theta)[0]) > FULL_WEIGHT_SD).any(-1))
    if odd.size:
        theta[odd] = _solve_robustly(problem.take(odd), theta[odd])
    curvature = problem.expand(theta, robust=True)[2]
    return theta, np.linalg.inv(curvature)


def _solve_robustly(problem, plain):
    """Parameters under the robust loss, from the best of several starts.

    The loss has more than one valley. Beside the plain fit the starts are fits that leave one observation out each:
    one of them has never seen a single bad effort, however well the plain fit hides it.
    """
    best = minimise(problem, plain, robust=True)
    best_cost = problem.expand(best, robust=True)[0]
    for column in range(problem.observed.shape[1]):
        start = minimise(problem.without(column), problem.prior_mean, robust=False)
        start = minimise(problem, start, robust=True)
        cost = problem.expand(start, robust=True)[0]
        better = cost < best_cost
        best, best_cost = np.where(better[:, None], start, best), np.where(better, cost, best_cost)
    return best


def minimise(problem, start, robust):
    """Gauss–Newton from `start` (n, p); a step that would raise a row's cost is halved. Returns (n, p)."""
    theta = np.array(start, float)
    open_rows, part, length = np.arange(len(theta)), problem, np.ones(len(theta))
    cost, gradient, curvature = problem.expand(theta, robust)
    for _ in range(MOST_STEPS):
        step = -np.linalg.solve(curvature, gradient[..., None])[..., 0] * length[:, None]
        moving = np.abs(step).max(-1) > SMALLEST_STEP
        if not moving.all():
            open_rows, step, length = open_rows[moving], step[moving], length[moving]
            part, cost = problem.take(open_rows), cost[moving]
            gradient, curvature = gradient[moving], curvature[moving]
        if not open_rows.size:
            break
        trial = theta[open_rows] + step
        with np.errstate(over="ignore", invalid="ignore"):
            new_cost, new_gradient, new_curvature = part.expand(trial, robust)
        better = new_cost <= cost  # False for a cost that is not a number
        theta[open_rows[better]] = trial[better]
        cost, gradient = np.where(better, new_cost, cost), np.where(better[:, None], new_gradient, gradient)
        curvature = np.where(better[:, None, None], new_curvature, curvature)
        length = np.where(better, np.minimum(1.0, 2.0 * length), 0.5 * length)
    return theta
