"""All engines of all athletes in one call: the door through which the app asks for estimates."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity import power_duration
from athletes.capacity.constants import ENGINES
from athletes.capacity.priors import PUBLISHED, alike, engines_prior


@dataclass(frozen=True, eq=False)
class Efforts:
    """Efforts on one engine: arrays (n, m), NaN where there are fewer. Running has speeds [m/s] as `power_w`."""

    power_w: np.ndarray
    duration_s: np.ndarray
    sd_log: np.ndarray


def estimate_engines(efforts, sex, body_mass, centre=PUBLISHED):
    """Estimates of all `ENGINES` for n athletes from `efforts`, a dict of engine → `Efforts` with the tested ones.

    `sex` (n,) and `body_mass` (n,) as in `priors.engines_prior`. Returns two dicts by engine: means (n, 3) of
    (log CP, log W', log k) and covariances (n, 3, 3). An effort on one engine informs all, as far as they go together.
    """
    mean, covariance = engines_prior(sex, body_mass, centre)
    n = len(mean)
    arrays = [_stacked(efforts, name, n) for name in ("power_w", "duration_s", "sd_log")]
    means, covariances = np.empty((n, len(ENGINES), 3)), np.empty((n, len(ENGINES), 3, 3))
    for rows in alike(sex, body_mass):  # they share a covariance, so it is inverted once
        own = (array[rows] for array in arrays)
        means[rows], covariances[rows] = power_duration.estimate_together(*own, mean[rows], covariance[rows[:1]])
    return (
        {engine: means[:, e] for e, engine in enumerate(ENGINES)},
        {engine: covariances[:, e] for e, engine in enumerate(ENGINES)},
    )


def _stacked(efforts, name, n):
    """One of the arrays of `Efforts` for all engines, (n, 4, m), filled up with NaN."""
    own = {engine: getattr(given, name) for engine, given in efforts.items()}
    stacked = np.full((n, len(ENGINES), max((array.shape[1] for array in own.values()), default=0)), np.nan)
    for engine, array in own.items():
        stacked[:, ENGINES.index(engine), : array.shape[1]] = array
    return stacked
