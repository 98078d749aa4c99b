"""All engines of all athletes in one call: the door through which the app asks for estimates."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity import power_duration
from athletes.capacity.priors import engine_prior


@dataclass(frozen=True, eq=False)
class Efforts:
    """Efforts on one engine: arrays (n, m), NaN where there are fewer. Running has speeds [m/s] as `power_w`."""

    power_w: np.ndarray
    duration_s: np.ndarray
    sd_log: np.ndarray


def estimate_engines(efforts, sex, body_mass):
    """Estimates for n athletes from `efforts`, a dict of engine → `Efforts` with the engines that are wanted.

    `sex` (n,) and `body_mass` (n,) as in `priors.engine_prior`. Returns two dicts by engine: means (n, 3) of
    (log CP, log W', log k) and covariances (n, 3, 3). Each engine rests on its own efforts and its prior.
    """
    means, covariances = {}, {}
    for engine, own in efforts.items():
        prior_mean, prior_cov = engine_prior(engine, sex, body_mass)
        means[engine], covariances[engine] = power_duration.estimate(
            own.power_w, own.duration_s, own.sd_log, prior_mean, prior_cov
        )
    return means, covariances
