"""The smallest cut against an independent optimiser: scipy's SLSQP (Kraft 1988, sequential least squares programming).

It minimises Σ (1 − share)² subject to demand · (share·wanted) <= limit and least <= share <= 1.
"""

import numpy as np
from scipy.optimize import minimize

from sessions.scaling.allocate import least_cut

INSTANCES = 500


def random_instances(rng):
    """Circuits of one to six stations in which the least shares fit."""
    made = 0
    while made < INSTANCES:
        size = int(rng.integers(1, 7))
        demand = rng.uniform(0.0, 1.0, (size, size)) * (rng.random((size, size)) < 0.6)
        demand[np.diag_indices(size)] = rng.uniform(0.5, 5.0, size)
        wanted = rng.uniform(0.05, 1.5, size)
        least, limit = rng.uniform(0.0, 0.8, size) * (rng.random() < 0.5), rng.uniform(0.2, 1.0, size)
        if (demand @ (least * wanted) < limit).all():
            made += 1
            yield demand, wanted, limit, least


def test_the_shares_are_those_of_the_optimiser():
    cut = 0
    for demand, wanted, limit, least in random_instances(np.random.default_rng(1)):
        rows = demand * wanted
        result = minimize(
            lambda share: ((1.0 - share) ** 2).sum(),
            least,
            jac=lambda share: 2.0 * (share - 1.0),
            bounds=list(zip(least, np.ones(len(least)), strict=True)),
            constraints={
                "type": "ineq",
                "fun": lambda share, rows=rows, limit=limit: limit - rows @ share,
                "jac": lambda share, rows=rows: -rows,
            },
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 500},
        )
        share = least_cut(demand[None], wanted[None], limit, least)[0]
        np.testing.assert_allclose(share, result.x, atol=1e-5)
        cut += share.min() < 0.99
    assert cut > INSTANCES / 2
