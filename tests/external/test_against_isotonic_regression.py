"""Pooled readings of a machine against an independent routine: scipy.optimize.isotonic_regression."""

import numpy as np
from scipy.optimize import isotonic_regression

from athletes.capacity.drag import lever_for, pool_adjacent_violators


def test_the_pooled_values():
    rng = np.random.default_rng(1)
    for _ in range(300):
        size = int(rng.integers(1, 15))
        values, weights = 0.3 * np.arange(size) + rng.normal(size=size), rng.uniform(0.05, 3.0, size)
        values[rng.random(size) < 0.2] = 1.0  # ties
        np.testing.assert_allclose(
            pool_adjacent_violators(values, weights), isotonic_regression(values, weights=weights).x, atol=1e-12
        )


def test_levers_of_noisy_machines_invert_the_fitted_curve():
    rng = np.random.default_rng(2)
    levers = np.arange(1.0, 11.0)
    for _ in range(100):
        drags = 70.0 * np.exp(0.10 * levers + 0.08 * rng.normal(size=10))
        fitted = isotonic_regression(np.log(drags)).x
        for level in np.unique(fitted):
            lever, _ = lever_for(np.exp(level), levers, drags, 1.2, 1.2)
            assert abs(lever - levers[np.isclose(fitted, level)].mean()) < 1e-6
