"""Estimates against scipy's trust-region least squares, one athlete at a time, from the same prior and efforts."""

import numpy as np
from scipy.optimize import least_squares

from athletes.capacity.power_duration import estimate, log_power
from athletes.capacity.priors import engine_prior

ATHLETES = 200
TRIAL_SD = 0.03


def random_athletes(engine, seed):
    rng = np.random.default_rng(seed)
    sex, mass = rng.choice(["male", "female", ""], ATHLETES), rng.normal(75.0, 12.0, ATHLETES)
    mean, cov = engine_prior(engine, sex, mass)
    theta = mean + rng.normal(size=mean.shape) * np.sqrt(np.diagonal(cov, axis1=1, axis2=2))
    seconds = np.exp(rng.uniform(np.log(30.0), np.log(1200.0), (ATHLETES, 4)))
    power = np.exp(log_power(seconds, theta[:, None]) + TRIAL_SD * rng.normal(size=seconds.shape))
    power[rng.random(power.shape) < 0.3] = np.nan
    return power, seconds, mean, cov


def least_squares_fit(power, seconds, mean, cov):
    seen = ~np.isnan(power)
    root = np.linalg.cholesky(np.linalg.inv(cov)).T

    def residuals(theta):
        fit = (np.log(power[seen]) - log_power(seconds[seen], theta)) / TRIAL_SD
        return np.append(fit, root @ (theta - mean))

    solution = least_squares(residuals, mean, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    return solution.x, np.linalg.inv(solution.jac.T @ solution.jac)


def test_the_most_probable_parameters_and_their_covariance():
    for seed, engine in enumerate(("row", "run")):
        power, seconds, mean, cov = random_athletes(engine, seed)
        theta, covariance = estimate(power, seconds, TRIAL_SD, mean, cov)
        for i in range(ATHLETES):
            expected, spread = least_squares_fit(power[i], seconds[i], mean[i], cov[i])
            np.testing.assert_allclose(theta[i], expected, atol=2e-3)
            np.testing.assert_allclose(covariance[i], spread, atol=2e-3)
