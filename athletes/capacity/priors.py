"""What is believed about an athlete's engines before any benchmark: wide, and overruled by the first effort.

No published table fits a mixed gym, so the centres are common practice, for a member who was never tested: a man of 35
rows 2000 m in about 8:05, a woman in about 9:15; a ski pace over 1000 m is about 3 s/500 m slower than the same
athlete's row, and the two agree over 10 to 15 kcal sprints.
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES
from athletes.capacity.kinship import curve_correlation, joint_covariance, level_correlation
from athletes.capacity.people import People

# Centre of (critical power [W], W' [J], ramp [s]); for running (critical speed [m/s], D' [m], ramp [s]).
# Rowing W': Cheng et al. 2012 (18 trained rowers, 13.2 ± 3.0 kJ). Running: a 5 km of about 27 minutes, below the mean
# critical speed of recreational racers, 3.74 m/s (Smyth & Muniz-Pumares 2020). The rest: common practice.
ENGINE_CENTRE = {
    "row": (147.0, 11_500.0, 22.0),
    "ski": (134.0, 11_500.0, 19.0),
    "bike": (132.0, 11_500.0, 12.0),
    "run": (2.9, 150.0, 30.0),
}

# SD of the logarithms, for an athlete whose sex, body mass and age are known. Powers: common practice.
# Running: finishers of a ten-mile race spread by 0.15 to 0.18, walkers of a community 5 km by more.
# W' and the ramp: retests of W' scatter far more than those of CP (Galbraith et al. 2014), so wide.
ENGINE_LOG_SD = {
    "row": (0.32, 0.40, 0.50),
    "ski": (0.32, 0.40, 0.50),
    "bike": (0.32, 0.40, 0.50),
    "run": (0.18, 0.40, 0.50),
}

# Half the log difference between men and women of average mass: students rowing 2000 m (Scand J Med Sci Sports 2003,
# 13:317–321) differ by 0.42 in log power; ten-mile finishers by 0.11 in log time. W': common practice.
SEX_HALF_DIFFERENCE = {
    "row": (0.20, 0.20, 0.0),
    "ski": (0.20, 0.20, 0.0),
    "bike": (0.20, 0.20, 0.0),
    "run": (0.055, 0.10, 0.0),
}

# Exponent of body mass over the reference mass, kg (common practice: near 2/3 for power, slightly against on the run).
MASS_EXPONENT = {
    "row": (0.60, 0.80, 0.0),
    "ski": (0.60, 0.80, 0.0),
    "bike": (0.60, 0.80, 0.0),
    "run": (-0.20, 0.0, 0.0),
}
# Log change a year beyond 35. Maximal oxygen uptake falls by a tenth a decade (Kaminsky et al. 2015, Mayo Clin Proc
# 90:1515–1523), and power with it; age-graded running records by a little less (from memory).
AGE_RATE = {
    "row": (-0.010, -0.010, 0.0),
    "ski": (-0.010, -0.010, 0.0),
    "bike": (-0.010, -0.010, 0.0),
    "run": (-0.008, -0.008, 0.0),
}


@dataclass(frozen=True, eq=False)
class Centre:
    """Where athletes of known sex and average mass lie, and how they spread: logarithms, an engine a row, (4, 3)."""

    log_mean: Array
    log_sd: Array


PUBLISHED = Centre(
    np.log([ENGINE_CENTRE[engine] for engine in ENGINES]), np.array([ENGINE_LOG_SD[engine] for engine in ENGINES])
)


def engines_prior(people: People, centre: Centre = PUBLISHED) -> tuple[Array, Array]:
    """Joint prior of (log CP, log W', log k) of each of `ENGINES` in turn, for n athletes.

    Returns means (n, 12) and covariances (n, 12, 12). What is not known about an athlete widens the prior instead of
    moving it, in all engines at once: a row that tells of a heavy man tells it for the bike too.
    """
    effects = engine_effects()
    mean = centre.log_mean.ravel() + people.position @ effects
    level = level_correlation(())[1:, 1:]
    known = joint_covariance(centre.log_sd, curve_correlation(level, 0))
    return mean, known + spread_of_the_unknown(effects, people)


def engine_effects() -> Array:
    """Effects (3, 12) of sex, log mass and years beyond 35, as `People.position` is multiplied with."""
    tables = (SEX_HALF_DIFFERENCE, MASS_EXPONENT, AGE_RATE)
    return np.array([np.ravel([table[engine] for engine in ENGINES]) for table in tables])


def spread_of_the_unknown(effects: Array, people: People) -> Array:
    """Covariance (n, d, d) that an unknown sex, mass or age adds; `effects` (3, d)."""
    spread: Array = np.einsum("nf,fa,fb->nab", people.unknown, effects, effects)
    return spread


def engine_prior(engine: str, people: People, centre: Centre = PUBLISHED) -> tuple[Array, Array]:
    """Prior of one engine alone: means (n, 3) and covariances (n, 3, 3); the rest as in `engines_prior`.

    ValueError for an unknown engine.
    """
    if engine not in ENGINES:
        raise ValueError(f"Unknown engine {engine!r}: use one of {', '.join(ENGINES)}.")
    mean, covariance = engines_prior(people, centre)
    first = 3 * ENGINES.index(engine)
    return mean[:, first : first + 3], covariance[:, first : first + 3, first : first + 3]
