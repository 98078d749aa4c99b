"""Estimates against scipy's trust-region least squares, one athlete at a time, from the same prior and efforts."""

import numpy as np
from scipy.optimize import least_squares

from athletes.capacity.constants import ENGINES, MISFIT_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.people import People
from athletes.capacity.power_duration import estimate, log_power
from athletes.capacity.priors import engines_prior

ATHLETES = 200
TRIAL_SD = 0.03
WITHIN = 2e-3  # of a logarithm


def random_athletes(seed, engines=ENGINES):
    """Efforts (n, g, m) on some engines, with gaps, and the prior (n, 3·g)."""
    rng = np.random.default_rng(seed)
    sex, mass = rng.choice(["male", "female", ""], ATHLETES), rng.normal(75.0, 12.0, ATHLETES)
    people = People.of(sex, mass, rng.uniform(20.0, 60.0, ATHLETES))
    mean, cov = engines_prior(people)
    theta = mean + np.einsum("nab,nb->na", np.linalg.cholesky(cov), rng.normal(size=mean.shape))
    own = np.concatenate([3 * ENGINES.index(engine) + np.arange(3) for engine in engines])
    mean, cov, theta = mean[:, own], cov[:, own[:, None], own], theta[:, own].reshape(ATHLETES, -1, 1, 3)
    seconds = np.exp(rng.uniform(np.log(30.0), np.log(1200.0), (ATHLETES, len(engines), 4)))
    power = np.exp(log_power(seconds, theta) + TRIAL_SD * rng.normal(size=seconds.shape))
    power[rng.random(power.shape) < 0.3] = np.nan
    return power, seconds, mean, cov, people


def least_squares_fit(power, seconds, mean, cov, sd=TRIAL_SD):
    """Of one athlete: parameters (3·g,) and their covariance."""
    seen = ~np.isnan(power)
    root = np.linalg.cholesky(np.linalg.inv(cov)).T

    def residuals(theta):
        fit = (np.log(power) - log_power(seconds, theta.reshape(-1, 1, 3))) / sd
        return np.append(fit[seen], root @ (theta - mean))

    solution = least_squares(residuals, mean, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    return solution.x, np.linalg.inv(solution.jac.T @ solution.jac)


def test_the_most_probable_parameters_of_one_engine_and_their_covariance():
    for seed, engine in enumerate(("row", "run")):
        power, seconds, mean, cov, _ = random_athletes(seed, [engine])
        theta, covariance = estimate(power[:, 0], seconds[:, 0], TRIAL_SD, mean, cov)
        for i in range(ATHLETES):
            expected, spread = least_squares_fit(power[i], seconds[i], mean[i], cov[i])
            np.testing.assert_allclose(theta[i], expected, atol=WITHIN)
            np.testing.assert_allclose(covariance[i], spread, atol=WITHIN)


def test_the_most_probable_parameters_of_all_engines_together():
    power, seconds, mean, cov, people = random_athletes(seed=7)
    efforts = {
        engine: Efforts(power[:, e], seconds[:, e], np.full(power[:, e].shape, TRIAL_SD))
        for e, engine in enumerate(ENGINES)
    }
    theta, covariance = estimate_engines(efforts, people)
    for i in range(ATHLETES):
        expected, spread = least_squares_fit(power[i], seconds[i], mean[i], cov[i], np.hypot(TRIAL_SD, MISFIT_SD))
        for e, engine in enumerate(ENGINES):
            own = slice(3 * e, 3 * e + 3)
            np.testing.assert_allclose(theta[engine][i], expected[own], atol=WITHIN)
            shared = MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE)
            np.testing.assert_allclose(covariance[engine][i], spread[own, own] + shared, atol=WITHIN)
