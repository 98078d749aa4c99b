"""How well promises were kept, and what that says of the SD that the method allows for itself. Knows no model.

A chance is that of a target to be held in every round. It rests on the athlete's own uncertainty and on the method's
(`sessions.scaling.constants`: engines and what is paced by breath, and repetitions). Where fewer targets are held than
promised, the method's own SD is too small, and the other way round.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from sessions.scaling.prediction import normal_cdf

BAND_EDGES = (0.0, 0.6, 0.7, 0.8, 0.9, 1.0)
FEWEST_TARGETS = 200  # from fewer nothing is learnt
BOUNDS = (0.5, 2.0)  # times the method's own SD
STEPS = 61  # between the bounds, evenly in the logarithm
# A misfit of the same athlete and session is counted several times: so many targets are worth one (ours).
TOGETHER = 4.0
PULL = 0.35  # log SD of the method's own SD between gyms: it takes some proof to leave it (ours)
TELLING = (0.02, 0.99)  # chances beyond say hardly how large the margin was (ours)


@dataclass(frozen=True)
class Band:
    """Targets with a chance from `low` to `high`: how many there are, how many were held, and the mean chance."""

    low: float
    high: float
    promised: float
    held: int
    count: int

    @property
    def share(self) -> float:
        return self.held / self.count if self.count else 0.0


def bands(chance: ArrayLike, held: ArrayLike) -> list[Band]:
    """Targets (m,) by their chance, the lowest band first; empty ones too, with the middle of the band as promised."""
    chances, kept = np.asarray(chance, float), np.asarray(held, bool)
    place = np.clip(np.searchsorted(BAND_EDGES, chances, side="right") - 1, 0, len(BAND_EDGES) - 2)
    found = []
    for at, (low, high) in enumerate(zip(BAND_EDGES[:-1], BAND_EDGES[1:], strict=True)):
        own = place == at
        mean = float(chances[own].mean()) if own.any() else (low + high) / 2
        found.append(Band(low, high, mean, int(kept[own].sum()), int(own.sum())))
    return found


def model_sd(chance: ArrayLike, held: ArrayLike, sd_log: ArrayLike, assumed: ArrayLike, usual: float) -> float | None:
    """The SD of the method's own that makes what was held most likely, within `BOUNDS` of the `usual` one.

    For m targets: their chance as promised, whether they were held, the SD of the athlete's capacity, and the SD of the
    method's own that was `assumed` then. None from fewer than `FEWEST_TARGETS` that were not quite sure to be held.
    """
    promised = np.asarray(chance, float)
    telling = (promised >= TELLING[0]) & (promised <= TELLING[1])
    if telling.sum() < FEWEST_TARGETS:
        return None
    chances, kept = promised[telling], np.asarray(held, bool)[telling]
    known, assumed_sd = np.asarray(sd_log, float)[telling], np.asarray(assumed, float)[telling]
    margin = _normal_quantile(chances) * np.hypot(known, assumed_sd)
    steps = np.geomspace(*BOUNDS, STEPS)
    likely = np.array([_log_likelihood(margin / np.hypot(known, usual * step), kept) for step in steps])
    return float(usual * steps[np.argmax(likely / TOGETHER - 0.5 * (np.log(steps) / PULL) ** 2)])


def _log_likelihood(z: Array, held: Array) -> float:
    chance = np.clip(normal_cdf(z), 1e-6, 1 - 1e-6)
    return float(np.where(held, np.log(chance), np.log1p(-chance)).sum())


def _normal_quantile(chance: Array) -> Array:
    """Where the normal distribution reaches a chance: by halving, as its function falls nowhere."""
    low, high = np.full(np.shape(chance), -6.0), np.full(np.shape(chance), 6.0)
    for _ in range(40):
        middle = (low + high) / 2
        below = normal_cdf(middle) < chance
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2, float)
