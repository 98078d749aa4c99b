"""Fair shares against an independent optimiser: scipy's HiGHS solver.

The best least share is the optimum of  max t  subject to  t ≤ sⱼ ≤ 1  and  G·(s·x) ≤ limit.
"""

import numpy as np
from scipy.optimize import linprog

from sessions.scaling.allocate import fair_share

INSTANCES = 500


def random_instances(rng):
    for _ in range(INSTANCES):
        size = int(rng.integers(1, 7))
        demand = rng.uniform(0.0, 1.0, (size, size)) * (rng.random((size, size)) < 0.6)
        demand[np.diag_indices(size)] = rng.uniform(0.5, 5.0, size)
        wanted = rng.uniform(0.0, 1.5, size) * (rng.random(size) < 0.9)
        yield demand, wanted, rng.uniform(0.2, 1.0)


def best_least_share(demand, wanted, limit):
    size = len(wanted)
    rows = np.hstack([demand * wanted, np.zeros((size, 1))])
    floors = np.hstack([-np.eye(size), np.ones((size, 1))])
    result = linprog(
        c=np.append(np.zeros(size), -1.0),
        A_ub=np.vstack([rows, floors]),
        b_ub=np.append(np.full(size, limit), np.zeros(size)),
        bounds=[(0, 1)] * (size + 1),
    )
    assert result.success
    return -result.fun


def test_the_least_share_is_the_best_possible_one():
    for demand, wanted, limit in random_instances(np.random.default_rng(1)):
        share = fair_share(demand[None], wanted[None], limit)[0]
        assert (demand @ (share * wanted) <= limit + 1e-9).all()
        assert abs(share.min() - best_least_share(demand, wanted, limit)) < 1e-7


def test_no_share_can_rise_without_another_falling():
    for demand, wanted, limit in random_instances(np.random.default_rng(2)):
        share = fair_share(demand[None], wanted[None], limit)[0]
        for station in np.flatnonzero(share < 1.0 - 1e-9):
            better = share.copy()
            better[station] += 1e-6
            assert (demand @ (better * wanted) > limit + 1e-12).any()


def most_without_taking_from_the_smaller(station, share, demand, wanted, limit):
    """Largest share of a station when nobody with no larger a share has less than before."""
    floors = np.where(share <= share[station] + 1e-9, share, 0.0)
    result = linprog(
        c=-np.eye(len(wanted))[station],
        A_ub=demand * wanted,
        b_ub=np.full(len(wanted), limit),
        bounds=[(floor, 1.0) for floor in floors],
        options={"primal_feasibility_tolerance": 1e-10},
    )
    assert result.success
    return -result.fun


def test_a_linear_programme_finds_no_larger_share_of_any_station():
    for demand, wanted, limit in random_instances(np.random.default_rng(4)):
        share = fair_share(demand[None], wanted[None], limit)[0]
        for station in np.flatnonzero(wanted > 0):
            most = most_without_taking_from_the_smaller(station, share, demand, wanted, limit)
            assert most < share[station] + 1e-7


def test_whoever_gives_way_could_rise_only_at_the_cost_of_one_who_has_no_more():
    # The definition of max–min fairness: a station below 1 meets a tight row in which nobody has a larger share.
    for demand, wanted, limit in random_instances(np.random.default_rng(3)):
        share = fair_share(demand[None], wanted[None], limit)[0]
        load = demand * wanted
        tight = load @ share > limit - 1e-9
        for station in np.flatnonzero(share < 1.0 - 1e-9):
            rows = tight & (load[:, station] > 0)
            largest = [share[load[row] > 0].max() for row in np.flatnonzero(rows)]
            assert min(largest) <= share[station] + 1e-9
