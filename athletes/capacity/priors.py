"""What is believed about an athlete before any benchmark: wide, and meant to be overruled by the first effort.

No published table fits a mixed gym, so the centres are common practice, chosen so that a 2000 m row takes about
8:00, a ski pace over 1000 m is about 3 s/500 m slower than the same athlete's row, and the two agree over 10 to
15 kcal sprints.
"""

import numpy as np

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


def engine_prior(engine, sex, body_mass):
    """Prior of (log CP, log W', log k) of one engine for n athletes.

    `sex` (n,) holds "male", "female" or "" (not stated), `body_mass` (n,) kilograms or NaN. Returns means (n, 3) and
    covariances (n, 3, 3). What is not known about an athlete widens the prior instead of moving it.
    ValueError for an unknown engine or sex, or a mass that is not above zero.
    """
    if engine not in ENGINE_CENTRE:
        raise ValueError(f"Unknown engine {engine!r}: use one of {', '.join(ENGINE_CENTRE)}.")
    sex, body_mass = np.broadcast_arrays(np.asarray(sex, str), np.asarray(body_mass, float))
    if not np.isin(sex, list(REFERENCE_MASS_KG)).all():
        raise ValueError('Sex is "male", "female" or empty.')
    if (body_mass <= 0).any():
        raise ValueError("Body mass is in kilograms and above zero, or left out.")
    side = np.select([sex == "male", sex == "female"], [1.0, -1.0], 0.0)[:, None]
    reference = np.select([sex == s for s in REFERENCE_MASS_KG], list(REFERENCE_MASS_KG.values()))
    relative = np.nan_to_num(np.log(body_mass / reference))[:, None]
    by_sex, by_mass = np.array(SEX_HALF_DIFFERENCE[engine]), np.array(MASS_EXPONENT[engine])
    mean = np.log(ENGINE_CENTRE[engine]) + side * by_sex + relative * by_mass
    unknown_sex = (side == 0.0)[..., None] * np.outer(by_sex, by_sex)
    unknown_mass = np.isnan(body_mass)[:, None, None] * MASS_LOG_SD**2 * np.outer(by_mass, by_mass)
    return mean, np.diag(np.square(ENGINE_LOG_SD[engine])) + unknown_sex + unknown_mass


def movement_prior(median, log_sd, n):
    """Prior of a movement's log maximum for n athletes: means (n,) and SDs (n,) from a median and a log SD, both > 0.

    ValueError where either is not above zero.
    """
    median, log_sd = np.asarray(median, float), np.asarray(log_sd, float)
    if not ((median > 0).all() and (log_sd > 0).all()):
        raise ValueError("A movement's prior needs a median and a spread above zero.")
    return np.broadcast_to(np.log(median), (n,)).copy(), np.broadcast_to(log_sd, (n,)).copy()
