"""What the athletes can do at their chosen stations: most probable, and on the cautious side."""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from athletes.capacity.constants import ENGINES

SMALLEST_SD = 1e-12  # below it an estimate counts as exact


@dataclass(frozen=True, eq=False)
class Ability:
    """Capacities (n, S) at the chosen rungs: `critical_power`, `w_prime`, `ramp_s` of engines (running: m/s, m, s) and
    `most` repetitions or seconds of movements. Where one does not apply it holds 1.
    """

    critical_power: np.ndarray
    w_prime: np.ndarray
    ramp_s: np.ndarray
    most: np.ndarray


@dataclass(frozen=True, eq=False)
class Belief:
    """Estimates at the chosen rungs: engines as a flat list of K cells, movements as arrays.

    `cells` are the index arrays of the engine cells in (n, S); `mean` (K, 3) and `cov` (K, 3, 3) their estimates.
    `log_most` and `log_most_sd` (n, S) are those of movements, 0 elsewhere.
    """

    cells: tuple[np.ndarray, np.ndarray]
    mean: np.ndarray
    cov: np.ndarray
    log_most: np.ndarray
    log_most_sd: np.ndarray


def belief_of(room, chosen, rung):
    """The `Belief` of a room about the rungs chosen, (n, S)."""
    cells = np.nonzero(chosen.is_engine)
    mean, cov = np.zeros((len(cells[0]), 3)), np.zeros((len(cells[0]), 3, 3))
    for engine, engine_mean in room.engine_mean.items():
        here = chosen.engine[cells] == ENGINES.index(engine)
        mean[here], cov[here] = engine_mean[cells[0][here]], room.engine_cov[engine][cells[0][here]]
    athlete, station = np.arange(rung.shape[0])[:, None], np.arange(rung.shape[1])
    movement = chosen.present & ~chosen.is_engine
    at = np.maximum(rung, 0)
    return Belief(
        cells=cells,
        mean=mean,
        cov=cov,
        log_most=np.where(movement, room.repetitions_mean[athlete, station, at], 0.0),
        log_most_sd=np.where(movement, room.repetitions_sd[athlete, station, at], 0.0),
    )


def expected(belief):
    """The most probable ability."""
    return _ability(belief, belief.mean, belief.log_most)


def cautious(belief, gradient, quantile):
    """The ability that most probably puts each station's target at a quantile of its distribution.

    For an engine with gradient g (K, 3) of the log of the power held, the most probable such point is
    θ = m − z·C·g / √(gᵀ·C·g) (first order); for a movement log M − z·sd.
    """
    z = NormalDist().inv_cdf(1.0 - quantile)
    along = (belief.cov @ gradient[..., None])[..., 0]
    sd = np.sqrt(np.maximum((gradient * along).sum(-1), 0.0))
    theta = belief.mean - z * along / np.maximum(sd, SMALLEST_SD)[:, None]
    return _ability(belief, theta, belief.log_most - z * belief.log_most_sd)


def log_sd(belief, gradient):
    """SD (n, S) of the log of the predicted target, from the gradient (K, 3) at the engines: the delta method."""
    sd = belief.log_most_sd.copy()
    along = (belief.cov @ gradient[..., None])[..., 0]
    sd[belief.cells] = np.sqrt(np.maximum((gradient * along).sum(-1), 0.0))
    return sd


def _ability(belief, theta, log_most):
    grids = np.ones((3, *log_most.shape))
    grids[:, belief.cells[0], belief.cells[1]] = np.exp(theta).T
    return Ability(*grids, most=np.exp(log_most))
