"""The most unbroken repetitions of a movement, the longest hold, or the maximum of a lift, from trials."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import posterior
from athletes.capacity.arrays import Array

LOG_ONE = 0.0  # who has a zero is below one repetition (one second, one kilogram)
ZERO_SD = 0.10  # of that limit, in the logarithm: a repetition just not finished is nearly one (ours)
LEAST_LOG = np.log(0.9)  # who has nothing but zeros is estimated here at most: one whole repetition would be a promise


def estimate(observed: ArrayLike, sd_log: ArrayLike, prior_mean: ArrayLike, prior_sd: ArrayLike) -> tuple[Array, Array]:
    """Most probable log of one quantity for n athletes, and its SD: normal in the logarithm, so conjugate.

    `observed` (n, m) holds repetitions, seconds of a hold, or one-repetition maxima in kg; NaN where there are fewer
    than m trials, 0 where none could be done. `sd_log`, the SD of the log of a trial, broadcasts to (n, m);
    `prior_mean` and `prior_sd`, both of the logarithm, broadcast to (n,). Returns two arrays (n,). Without a trial the
    prior comes back. A trial far from the others loses its weight (see `posterior`). ValueError for a value below zero
    or an SD not above zero.
    """
    trials = np.asarray(observed, float)
    sd = np.broadcast_to(np.asarray(prior_sd, float), trials.shape[:1])
    spread = np.broadcast_to(np.asarray(sd_log, float), trials.shape)
    mean = np.broadcast_to(np.asarray(prior_mean, float), trials.shape[:1])[:, None]
    precision = 1.0 / sd[:, None, None] ** 2
    means, covariances = _estimate(trials[:, None], spread[:, None], mean, precision, robust=True)
    return means[:, 0], np.sqrt(covariances[:, 0, 0])


def estimate_together(observed: Array, sd_log: Array, prior_mean: Array, precision: Array) -> tuple[Array, Array]:
    """Most probable logs of g quantities that inform each other, for n athletes, and how sure they are.

    `observed` and `sd_log` are (n, g, m), `prior_mean` broadcasts to (n, g), `precision` is the inverse of its
    covariance, (n, g, g), or (1, g, g) where all share it. Returns means (n, g) and joint covariances (n, g, g). The
    rest as in `estimate`. Whether a trial is far off, the others of the same quantity decide and not its kin: what
    someone has shown stands, however little the ladder would have expected it.
    """
    n, groups, m = observed.shape
    mean = np.broadcast_to(prior_mean, (n, groups))
    own_sd = np.sqrt(np.diagonal(np.linalg.inv(precision), axis1=1, axis2=2))
    own_mean, _ = estimate(
        observed.reshape(n * groups, m),
        sd_log.reshape(n * groups, m),
        mean.ravel(),
        np.broadcast_to(own_sd, (n, groups)).ravel(),
    )
    shown = observed > 0
    away = np.where(shown, np.log(np.where(shown, observed, 1.0)) - own_mean.reshape(n, groups, 1), 0.0) / sd_log
    weight = np.where(shown, posterior.robust_weight(away), 1.0)
    return _estimate(observed, sd_log / np.sqrt(weight), mean, precision, robust=False)


def _estimate(observed: Array, sd_log: Array, prior_mean: Array, precision: Array, robust: bool) -> tuple[Array, Array]:
    seen = ~np.isnan(observed)
    if not np.all((observed[seen] >= 0) & np.isfinite(observed[seen])):
        raise ValueError("Every trial needs a result, zero or above.")
    if not np.all((sd_log[seen] > 0) & np.isfinite(sd_log[seen])):
        raise ValueError("Every trial needs a trial SD above zero.")
    zero = seen & (observed == 0)
    log_observed = np.where(zero, LOG_ONE, np.log(np.where(zero, 1.0, observed)))
    spread = np.where(zero, np.maximum(sd_log, ZERO_SD), sd_log)
    mean, covariance = posterior.estimate(
        _model, log_observed, log_observed, spread, prior_mean[..., None], precision, zero, robust
    )
    nothing_but_zeros = zero.any(-1) & (zero == seen).all(-1)
    return np.where(nothing_but_zeros, np.minimum(mean[..., 0], LEAST_LOG), mean[..., 0]), covariance


def _model(theta: Array, given: Array) -> tuple[Array, Sequence[Array], Sequence[Array]]:
    """A trial shows the quantity itself: for `posterior`."""
    return np.broadcast_to(theta, given.shape), (np.ones(given.shape),), ()
