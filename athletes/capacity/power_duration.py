"""The power–duration curve of one engine, and its estimate from efforts.

P(t) = CP + W' / (t + k). CP critical power [W], W' the work above it [J], k a ramp constant [s];
k = W' / (Pmax − CP): Morton 1996, "A 3-parameter critical power model", Ergonomics 39:611–619 (pages from memory);
k = 0 is the 2-parameter model of Monod & Scherrer 1965, Ergonomics 8:329–338.
For running the same curve holds with speeds [m/s] in place of powers and D' [m] in place of W'.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import posterior
from athletes.capacity.arrays import Array


def power(duration_s: ArrayLike, critical_power_w: ArrayLike, w_prime_j: ArrayLike, ramp_s: ArrayLike) -> Array:
    """Best even power [W] for a duration [s, > 0, or >= 0 where the ramp is > 0]; everything broadcasts."""
    seconds = np.asarray(duration_s, float) + np.asarray(ramp_s, float)
    best: Array = np.asarray(critical_power_w, float) + np.asarray(w_prime_j, float) / seconds
    return best


def log_power(duration_s: ArrayLike, theta: ArrayLike) -> Array:
    """Logarithm of the best even power; `theta` (..., 3) holds log CP, log W', log k, and `duration_s` is (...)."""
    critical_power_w, w_prime_j, ramp_s = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    log_best: Array = np.log(power(duration_s, critical_power_w, w_prime_j, ramp_s))
    return log_best


def log_power_gradient(duration_s: ArrayLike, theta: ArrayLike) -> Array:
    """Derivatives (..., 3) of `log_power` by log CP, log W' and log k; shapes as there."""
    parameters = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    return np.stack(np.broadcast_arrays(*_expanded(np.asarray(duration_s, float), *parameters)[1]), -1)


def log_power_sd(duration_s: ArrayLike, theta: ArrayLike, covariance: Array) -> Array:
    """SD of the predicted log power by the delta method; `covariance` (..., 3, 3), the rest as in `log_power`."""
    gradient = log_power_gradient(duration_s, theta)
    variance = (gradient[..., None, :] @ covariance @ gradient[..., :, None])[..., 0, 0]
    sd: Array = np.sqrt(np.maximum(variance, 0.0))
    return sd


def estimate(
    power_w: ArrayLike, duration_s: ArrayLike, sd_log: ArrayLike, prior_mean: ArrayLike, prior_cov: ArrayLike
) -> tuple[Array, Array]:
    """Most probable (log CP, log W', log k) of one engine for n athletes, and how sure they are.

    `power_w` and `duration_s` are (n, m), NaN where an athlete has fewer than m efforts; `sd_log`, the SD of the log
    power of a trial, broadcasts to (n, m). `prior_mean` is (3,) or (n, 3), `prior_cov` (3, 3) or (n, 3, 3).
    Returns means (n, 3) and covariances (n, 3, 3). An athlete without efforts keeps the prior.
    Maximum a posteriori in log space; an effort within `FULL_WEIGHT_SD` SDs of the fit counts fully, one far off
    hardly at all (see `posterior`). ValueError for a power, duration or SD that is not above zero.
    """
    watts, seconds = np.broadcast_arrays(np.asarray(power_w, float), np.asarray(duration_s, float))
    n = len(watts)
    mean, covariance = np.broadcast_to(prior_mean, (n, 3)), np.broadcast_to(prior_cov, (n, 3, 3))
    spread = np.broadcast_to(np.asarray(sd_log, float), watts.shape)
    precision = np.linalg.inv(covariance)
    means, covariances = estimate_together(watts[:, None], seconds[:, None], spread[:, None], mean, precision)
    return means[:, 0], covariances


def estimate_together(
    power_w: Array, duration_s: Array, sd_log: Array, prior_mean: Array, precision: Array
) -> tuple[Array, Array]:
    """Most probable (log CP, log W', log k) of c curves that inform each other, for n athletes, and how sure they are.

    `power_w`, `duration_s` and `sd_log` are (n, c, m), NaN where there are fewer efforts; `prior_mean` is (n, 3·c), the
    parameters of each curve in turn, `precision` (n, 3·c, 3·c) or (1, 3·c, 3·c) the inverse of its covariance. Returns
    means (n, c, 3) and the joint covariances (n, 3·c, 3·c). The rest as in `estimate`.
    """
    seen = ~(np.isnan(power_w) | np.isnan(duration_s))
    for values, name in ((power_w, "power"), (duration_s, "duration"), (sd_log, "trial SD")):
        if not np.all((values[seen] > 0) & np.isfinite(values[seen])):
            raise ValueError(f"Every effort needs a {name} above zero.")
    seconds, observed = np.where(seen, duration_s, 1.0), np.log(np.where(seen, power_w, np.nan))
    prior_mean = np.reshape(prior_mean, (*power_w.shape[:2], 3))
    return posterior.estimate(_model, seconds, observed, sd_log, prior_mean, precision)


def _model(theta: Array, seconds: Array) -> tuple[Array, Sequence[Array], Sequence[Array]]:
    """`log_power` (n, g, m), its derivatives and its second derivatives: the model of `posterior`.

    `theta` is (n, g, 3), `seconds` (n, g, m).
    """
    log_total, slopes, fade = _expanded(seconds, *np.exp(np.moveaxis(theta, -1, 0))[..., None])
    mixed = slopes[0] * slopes[1]
    by_ramp = mixed * fade
    bends = (mixed, -mixed, mixed, by_ramp, -by_ramp, by_ramp * fade + slopes[2] * (1.0 - fade))
    return log_total, slopes, bends


def _expanded(
    duration_s: Array, critical_power_w: Array, w_prime_j: Array, ramp_s: Array
) -> tuple[Array, tuple[Array, Array, Array], Array]:
    """Log of the best even power, its derivatives by the logs of the three parameters, and k / (t + k); broadcasts."""
    seconds = duration_s + ramp_s
    fade = ramp_s / seconds
    total = critical_power_w + w_prime_j / seconds
    by_critical_power = critical_power_w / total
    by_work = 1.0 - by_critical_power
    return np.log(total), (by_critical_power, by_work, -by_work * fade), fade
