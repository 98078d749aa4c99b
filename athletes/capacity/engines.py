"""The four engines alone: where only they are asked for, as for a curve of the past."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from athletes.capacity import power_duration
from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES, MISFIT_SD
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.people import People
from athletes.capacity.priors import PUBLISHED, Centre, engines_prior


@dataclass(frozen=True, eq=False)
class Efforts:
    """Efforts on one engine: arrays (n, m), NaN where there are fewer. Running has speeds [m/s] as `power_w`."""

    power_w: Array
    duration_s: Array
    sd_log: Array


def estimate_engines(
    efforts: Mapping[str, Efforts], people: People, centre: Centre = PUBLISHED
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Estimates of all `ENGINES` for n athletes from `efforts` by engine, with the tested ones.

    Returns two dicts by engine: means (n, 3) of (log CP, log W', log k) and covariances (n, 3, 3). An effort on one
    engine informs all, as far as they go together. The SDs of the efforts are those of the trials; the misfit of the
    model comes on top of them here (`with_misfit`).
    """
    mean, covariance = engines_prior(people, centre)
    n = len(mean)
    watts, seconds, sd_log = (_stacked(efforts, name, n) for name in ("power_w", "duration_s", "sd_log"))
    means, covariances = np.empty((n, len(ENGINES), 3)), np.empty((n, len(ENGINES), 3, 3))
    for rows in people.alike():  # they share a covariance, so it is inverted once
        precision = np.asarray(np.linalg.inv(covariance[rows[:1]]), float)
        own = (watts[rows], seconds[rows], with_misfit(sd_log[rows]), mean[rows])
        means[rows], joint = power_duration.estimate_together(*own, precision)
        covariances[rows] = blocks_of(joint, 3)
    covariances += MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE)
    return (
        {engine: means[:, e] for e, engine in enumerate(ENGINES)},
        {engine: covariances[:, e] for e, engine in enumerate(ENGINES)},
    )


def with_misfit(sd_log: Array) -> Array:
    """SD of the log of a result around the model: the trial's own, and the model's misfit."""
    spread: Array = np.sqrt(sd_log**2 + MISFIT_SD**2)
    return spread


def blocks_of(joint: Array, size: int) -> Array:
    """The blocks on the diagonal, (n, c, size, size), of (n, c·size, c·size)."""
    n, order, _ = joint.shape
    blocks: Array = np.einsum("ncacb->ncab", joint.reshape(n, order // size, size, order // size, size))
    return blocks


def _stacked(efforts: Mapping[str, Efforts], name: str, n: int) -> Array:
    """One of the arrays of `Efforts` for all engines, (n, 4, m), filled up with NaN."""
    own = {engine: getattr(given, name) for engine, given in efforts.items()}
    stacked = np.full((n, len(ENGINES), max((array.shape[1] for array in own.values()), default=0)), np.nan)
    for engine, array in own.items():
        stacked[:, ENGINES.index(engine), : array.shape[1]] = array
    return stacked
