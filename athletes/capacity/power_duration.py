"""The power–duration curve of one engine, and its estimate from efforts.

P(t) = CP + W' / (t + k). CP critical power [W], W' the work above it [J], k a ramp constant [s];
k = W' / (Pmax − CP): Morton 1996, "A 3-parameter critical power model", Ergonomics 39:611–619 (pages from memory);
k = 0 is the 2-parameter model of Monod & Scherrer 1965, Ergonomics 8:329–338.
For running the same curve holds with speeds [m/s] in place of powers and D' [m] in place of W'.
"""

import numpy as np

from athletes.capacity import posterior


def power(duration_s, critical_power_w, w_prime_j, ramp_s):
    """Best even power [W] for a duration [s, > 0, or >= 0 where the ramp is > 0]; everything broadcasts."""
    return critical_power_w + w_prime_j / (np.asarray(duration_s, float) + ramp_s)


def log_power(duration_s, theta):
    """Logarithm of the best even power; `theta` (..., 3) holds log CP, log W', log k, and `duration_s` is (...)."""
    critical_power_w, w_prime_j, ramp_s = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    return np.log(power(duration_s, critical_power_w, w_prime_j, ramp_s))


def log_power_gradient(duration_s, theta):
    """Derivatives (..., 3) of `log_power` by log CP, log W' and log k; shapes as there."""
    parameters = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    return np.stack(np.broadcast_arrays(*_expanded(np.asarray(duration_s, float), *parameters)[1]), -1)


def log_power_sd(duration_s, theta, covariance):
    """SD of the predicted log power by the delta method; `covariance` (..., 3, 3), the rest as in `log_power`."""
    gradient = log_power_gradient(duration_s, theta)
    variance = (gradient[..., None, :] @ covariance @ gradient[..., :, None])[..., 0, 0]
    return np.sqrt(np.maximum(variance, 0.0))


def estimate(power_w, duration_s, sd_log, prior_mean, prior_cov):
    """Most probable (log CP, log W', log k) of one engine for n athletes, and how sure they are.

    `power_w` and `duration_s` are (n, m), NaN where an athlete has fewer than m efforts; `sd_log`, the SD of the log
    power of a trial, broadcasts to (n, m). `prior_mean` is (3,) or (n, 3), `prior_cov` (3, 3) or (n, 3, 3).
    Returns means (n, 3) and covariances (n, 3, 3). An athlete without efforts keeps the prior.
    Maximum a posteriori in log space; an effort within `FULL_WEIGHT_SD` SDs of the fit counts fully, one far off
    hardly at all (see `posterior`). ValueError for a power, duration or SD that is not above zero.
    """
    power_w, duration_s = np.broadcast_arrays(np.asarray(power_w, float), np.asarray(duration_s, float))
    n = len(power_w)
    mean, covariance = np.broadcast_to(prior_mean, (n, 3)), np.broadcast_to(prior_cov, (n, 3, 3))
    alone = (array[:, None] for array in (power_w, duration_s, np.broadcast_to(sd_log, power_w.shape)))
    means, covariances = estimate_together(*alone, mean, covariance)
    return means[:, 0], covariances[:, 0]


def estimate_together(power_w, duration_s, sd_log, prior_mean, prior_cov):
    """Most probable (log CP, log W', log k) of g engines that inform each other, for n athletes, and how sure they are.

    `power_w`, `duration_s` and `sd_log` are (n, g, m), NaN where there are fewer efforts; `prior_mean` is (n, 3·g), the
    parameters of each engine in turn, and `prior_cov` (n, 3·g, 3·g). Returns means (n, g, 3) and the covariances of
    each engine's own, (n, g, 3, 3). The rest as in `estimate`.
    """
    seen = ~(np.isnan(power_w) | np.isnan(duration_s))
    for values, name in ((power_w, "power"), (duration_s, "duration"), (sd_log, "trial SD")):
        if not np.all((values[seen] > 0) & np.isfinite(values[seen])):
            raise ValueError(f"Every effort needs a {name} above zero.")
    seconds, observed = np.where(seen, duration_s, 1.0), np.log(np.where(seen, power_w, np.nan))
    prior_mean = np.reshape(prior_mean, (*power_w.shape[:2], 3))
    return posterior.estimate(_model, seconds, observed, sd_log, prior_mean, np.asarray(prior_cov, float))


def _model(theta, seconds):
    """`log_power` (g, m, n), its derivatives and its second derivatives: the model of `posterior`.

    `theta` is (g, 3, n), `seconds` (g, m, n).
    """
    log_total, slopes, fade = _expanded(seconds, *np.exp(np.moveaxis(theta, 1, 0))[:, :, None])
    mixed = slopes[0] * slopes[1]
    by_ramp = mixed * fade
    bends = (mixed, -mixed, mixed, by_ramp, -by_ramp, by_ramp * fade + slopes[2] * (1.0 - fade))
    return log_total, slopes, bends


def _expanded(duration_s, critical_power_w, w_prime_j, ramp_s):
    """Log of the best even power, its derivatives by the logs of the three parameters, and k / (t + k); broadcasts."""
    seconds = duration_s + ramp_s
    fade = ramp_s / seconds
    total = critical_power_w + w_prime_j / seconds
    by_critical_power = critical_power_w / total
    by_work = 1.0 - by_critical_power
    return np.log(total), (by_critical_power, by_work, -by_work * fade), fade
