"""What is believed about an athlete before any benchmark: wide, and meant to be overruled by the first effort.

No published table fits a mixed gym, so the centres are common practice, chosen so that a 2000 m row takes about
8:00, a ski pace over 1000 m is about 3 s/500 m slower than the same athlete's row, and the two agree over 10 to
15 kcal sprints.
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import ENGINES
from athletes.capacity.kinship import joint_covariance

# Centre of (critical power [W], W' [J], ramp [s]); for running (critical speed [m/s], D' [m], ramp [s]).
# Rowing W': Cheng et al. 2012 (18 trained rowers, 13.2 ± 3.0 kJ). Running: a 5 km of about 26 minutes, below the mean
# critical speed of recreational racers, 3.74 m/s (Smyth & Muniz-Pumares 2020). The rest: common practice.
ENGINE_CENTRE = {
    "row": (177.0, 13_000.0, 22.0),
    "ski": (160.0, 13_000.0, 19.0),
    "bike": (185.0, 16_000.0, 12.0),
    "run": (3.1, 150.0, 30.0),
}

# SD of the logarithms, for an athlete whose sex and body mass are known. Powers: common practice, 0.30 to 0.35 in all.
# Running: finishers of a ten-mile race spread by 0.15 to 0.18, walkers of a community 5 km by more.
# W' and the ramp: retests of W' scatter far more than those of CP (Galbraith et al. 2014), so wide.
ENGINE_LOG_SD = {
    "row": (0.28, 0.40, 0.50),
    "ski": (0.28, 0.40, 0.50),
    "bike": (0.28, 0.40, 0.50),
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
REFERENCE_MASS_KG = {"male": 82.0, "female": 68.0, "": 75.0}  # common practice
MASS_LOG_SD = 0.16  # spread of body mass within a sex (common practice)


@dataclass(frozen=True, eq=False)
class Centre:
    """Where athletes of known sex and average mass lie, and how they spread: logarithms, an engine a row, (4, 3)."""

    log_mean: np.ndarray
    log_sd: np.ndarray


PUBLISHED = Centre(
    np.log([ENGINE_CENTRE[engine] for engine in ENGINES]), np.array([ENGINE_LOG_SD[engine] for engine in ENGINES])
)


def engines_prior(sex, body_mass, centre=PUBLISHED):
    """Joint prior of (log CP, log W', log k) of each of `ENGINES` in turn, for n athletes.

    `sex` (n,) holds "male", "female" or "" (not stated), `body_mass` (n,) kilograms or NaN. Returns means (n, 12) and
    covariances (n, 12, 12). What is not known about an athlete widens the prior instead of moving it, in all engines
    at once: a row that tells of a heavy man tells it for the bike too.
    ValueError for an unknown sex, or a mass that is not above zero.
    """
    sex, body_mass = np.broadcast_arrays(np.asarray(sex, str), np.asarray(body_mass, float))
    if not np.isin(sex, list(REFERENCE_MASS_KG)).all():
        raise ValueError('Sex is "male", "female" or empty.')
    if (body_mass <= 0).any():
        raise ValueError("Body mass is in kilograms and above zero, or left out.")
    side = np.select([sex == "male", sex == "female"], [1.0, -1.0], 0.0)[:, None]
    reference = np.select([sex == s for s in REFERENCE_MASS_KG], list(REFERENCE_MASS_KG.values()))
    relative = np.nan_to_num(np.log(body_mass / reference))[:, None]
    by_sex, by_mass = (np.ravel([table[e] for e in ENGINES]) for table in (SEX_HALF_DIFFERENCE, MASS_EXPONENT))
    mean = centre.log_mean.ravel() + side * by_sex + relative * by_mass
    known = joint_covariance(centre.log_sd)
    of_sex, of_mass = np.outer(by_sex, by_sex), MASS_LOG_SD**2 * np.outer(by_mass, by_mass)
    by_knowledge = np.array([[known, known + of_mass], [known + of_sex, known + of_sex + of_mass]])
    return mean, by_knowledge[(sex == "").astype(int), np.isnan(body_mass).astype(int)]


def alike(sex, body_mass):
    """Row numbers of athletes of whom the same is known, group by group: in a group all prior covariances are equal."""
    known = np.stack([np.asarray(sex, str) != "", ~np.isnan(np.asarray(body_mass, float))], 1)
    _, group = np.unique(known, axis=0, return_inverse=True)
    return [np.flatnonzero(group == g) for g in range(group.max(initial=-1) + 1)]


def engine_prior(engine, sex, body_mass, centre=PUBLISHED):
    """Prior of one engine alone: means (n, 3) and covariances (n, 3, 3); the rest as in `engines_prior`.

    ValueError for an unknown engine too.
    """
    if engine not in ENGINES:
        raise ValueError(f"Unknown engine {engine!r}: use one of {', '.join(ENGINES)}.")
    mean, covariance = engines_prior(sex, body_mass, centre)
    first = 3 * ENGINES.index(engine)
    return mean[:, first : first + 3], covariance[:, first : first + 3, first : first + 3]


def movement_prior(median, log_sd, n):
    """Prior of a movement's log maximum for n athletes: means (n,) and SDs (n,) from a median and a log SD, both > 0.

    ValueError where either is not above zero.
    """
    median, log_sd = np.asarray(median, float), np.asarray(log_sd, float)
    if not ((median > 0).all() and (log_sd > 0).all()):
        raise ValueError("A movement's prior needs a median and a spread above zero.")
    return np.broadcast_to(np.log(median), (n,)).copy(), np.broadcast_to(log_sd, (n,)).copy()
