"""What is known of all subjects of an athlete together: the whole posterior covariance, not each subject's own alone.

Stored estimates keep each engine's own 3 × 3. What one engine would say of another stands in the blocks between them,
so it is worked out again here, at the estimate, from the same efforts and the same prior.
"""

import numpy as np

from athletes.capacity.posterior import robust_weight
from athletes.capacity.power_duration import log_power, log_power_gradient


def engines_covariance(power_w, duration_s, sd_log, theta, prior_cov):
    """Joint covariance (n, 3·g, 3·g) of (log CP, log W', log k) of g engines in turn.

    `power_w`, `duration_s` and `sd_log` are (n, g, m), NaN where there are fewer efforts, `theta` (n, g, 3) the
    estimate and `prior_cov` (n, 3·g, 3·g), all as in `power_duration.estimate_together`, whose covariances are the
    blocks on the diagonal.
    """
    seconds = np.where(np.isnan(duration_s), 1.0, duration_s)
    away = (np.log(power_w) - log_power(seconds, theta[:, :, None])) / sd_log
    return _joint(log_power_gradient(seconds, theta[:, :, None]), away, sd_log, prior_cov)


def quantities_covariance(observed, sd_log, log_best, prior_cov):
    """Joint covariance (n, g, g) of the logs of g quantities; arrays as in `repetitions.estimate_together`.

    `log_best` (n, g) is the estimate, `prior_cov` (n, g, g) or (1, g, g).
    """
    away = (np.log(observed) - log_best[..., None]) / sd_log
    return _joint(np.ones((*away.shape, 1)), away, sd_log, prior_cov)


def _joint(slopes, away, sd_log, prior_cov):
    """Inverse of the prior's precision and the information of the efforts: slopes (n, g, m, p), residuals (n, g, m)."""
    n, groups, _, parameters = slopes.shape
    seen = ~np.isnan(away)
    weight = robust_weight(np.where(seen, away, 0.0))
    information = np.where(seen, weight / np.where(seen, sd_log, 1.0) ** 2, 0.0)
    added = np.einsum("ngm,ngma,ngmb->ngab", information, slopes, slopes)
    curvature = np.broadcast_to(np.linalg.inv(prior_cov), (n, groups * parameters, groups * parameters)).copy()
    for g in range(groups):
        own = slice(g * parameters, (g + 1) * parameters)
        curvature[:, own, own] += added[:, g]
    return np.linalg.inv(curvature)
