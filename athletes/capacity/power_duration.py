"""The power–duration curve of one engine, and its estimate from efforts.

P(t) = CP + W' / (t + k). CP critical power [W], W' the work above it [J], k a ramp constant [s];
k = W' / (Pmax − CP): Morton 1996, "A 3-parameter critical power model", Ergonomics 39:611–619 (pages from memory);
k = 0 is the 2-parameter model of Monod & Scherrer 1965, Ergonomics 8:329–338.
For running the same curve holds with speeds [m/s] in place of powers and D' [m] in place of W'.
"""

import numpy as np

from athletes.capacity.posterior import Problem, solve


def power(duration_s, critical_power_w, w_prime_j, ramp_s):
    """Best even power [W] for a duration [s, > 0, or >= 0 where the ramp is > 0]; everything broadcasts."""
    return critical_power_w + w_prime_j / (np.asarray(duration_s, float) + ramp_s)


def log_power(duration_s, theta):
    """Logarithm of the best even power; `theta` (..., 3) holds log CP, log W', log k, and `duration_s` is (...)."""
    critical_power_w, w_prime_j, ramp_s = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    return np.log(power(duration_s, critical_power_w, w_prime_j, ramp_s))


def log_power_gradient(duration_s, theta):
    """Derivatives (..., 3) of `log_power` by log CP, log W' and log k; shapes as there."""
    critical_power_w, w_prime_j, ramp_s = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    seconds = np.asarray(duration_s, float) + ramp_s
    above = w_prime_j / seconds
    total = critical_power_w + above
    return np.stack(np.broadcast_arrays(critical_power_w / total, above / total, -above / total * ramp_s / seconds), -1)


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
    sd_log = np.broadcast_to(np.asarray(sd_log, float), power_w.shape)
    seen = ~(np.isnan(power_w) | np.isnan(duration_s))
    for values, name in ((power_w, "power"), (duration_s, "duration"), (sd_log, "trial SD")):
        if not np.all((values[seen] > 0) & np.isfinite(values[seen])):
            raise ValueError(f"Every effort needs a {name} above zero.")
    n = power_w.shape[0]
    seconds = np.where(seen, duration_s, 1.0)

    def model(theta, rows):
        theta = theta[:, None, :]
        return log_power(seconds[rows], theta), log_power_gradient(seconds[rows], theta)

    precision = np.linalg.inv(np.asarray(prior_cov, float))
    problem = Problem(
        model=model,
        observed=np.log(np.where(seen, power_w, 1.0)),
        inverse_sd=np.where(seen, 1.0 / np.where(seen, sd_log, 1.0), 0.0),
        prior_mean=np.broadcast_to(np.asarray(prior_mean, float), (n, 3)),
        prior_precision=np.broadcast_to(precision, (n, 3, 3)),
        rows=np.arange(n),
    )
    return solve(problem)
