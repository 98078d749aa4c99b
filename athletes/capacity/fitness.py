"""At which percentile of the room an athlete stands: general fitness, sex, mass and age *not* taken out.

It answers one question of the scaling method: a movement on which nobody was ever tested is taken to be just right, as
the coach wrote it, for the athlete at the 80th percentile; where do the others stand?
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES
from athletes.capacity.estimate import Estimates
from athletes.capacity.power_duration import log_power

REFERENCE_S = 240.0  # curves are compared at what can be held for four minutes (ours)
# What counts how much in a room's order (ours): engines most, lifts least, for a circuit is mostly breath.
WEIGHT = {"engines": 0.35, "paced": 0.20, "repetitions": 0.25, "hold": 0.05, "loaded": 0.15}
LEAST_SPREAD = 0.10  # of the logarithm: a gym of twins is no reason to magnify hairs (ours)
FEWEST_ATHLETES = 10  # with fewer tested, the spread of a usual gym is taken (ours)
USUAL_SPREAD = 0.35  # of the logarithm of a best between members (common practice)


@dataclass(frozen=True, eq=False)
class Reference:
    """The gym that athletes are compared with: centre and spread (j,) of each quantity, and `spread_of_all`, by which
    the weighted mean is brought to SDs."""

    centre: Array
    spread: Array
    spread_of_all: float


def quantities(estimates: Estimates) -> tuple[Array, Array]:
    """What athletes are compared by: logs (n, j) and their weights (j,), which add up to 1."""
    library = estimates.library
    kinds = [
        *("engines" if subject in ENGINES else "paced" for subject in library.curves),
        *(library.movements[g].kind for g in library.bests),
    ]
    weight = np.array([WEIGHT[kind] / kinds.count(kind) for kind in kinds])
    values = np.concatenate([log_power(REFERENCE_S, estimates.curve_mean), estimates.best_mean], 1)
    return values, weight / weight.sum()


def reference(values: Array, weight: Array, tested: int) -> Reference:
    """The `Reference` that a gym's athletes make, from `quantities` of all of them, of whom `tested` have results.

    First guesses are alike, and say nothing of how far athletes are apart: measured by them, whoever is tested first
    would stand far beyond everybody.
    """
    if tested < FEWEST_ATHLETES:
        centre = np.median(values, axis=0) if len(values) else np.zeros(values.shape[1])
        return Reference(centre, np.full(values.shape[1], USUAL_SPREAD), 1.0)
    centre, spread = np.median(values, axis=0), np.maximum(values.std(0), LEAST_SPREAD)
    together = ((values - centre) / spread) @ weight
    return Reference(centre, spread, max(float(together.std()), LEAST_SPREAD))


def general_fitness(values: Array, weight: Array, gym: Reference) -> Array:
    """z-scores (n,): 0 in the middle of the gym, 1 an SD of its athletes above; arrays as `quantities` gives them.

    Who was never tested stands where the first guess by sex, mass and age puts them.
    """
    z: Array = ((values - gym.centre) / gym.spread) @ weight / gym.spread_of_all
    return z
