import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.allocate import fair_share, progressive_filling

SEEDS = st.integers(0, 2**32 - 1)


def instances(seed, n=5):
    rng = np.random.default_rng(seed)
    size = int(rng.integers(1, 7))
    demand = rng.uniform(0.0, 1.0, (n, size, size)) * (rng.random((n, size, size)) < 0.5)
    return demand + np.eye(size), rng.uniform(0.0, 2.0, (n, size)) * (rng.random((n, size)) < 0.8)


def test_everything_fits():
    np.testing.assert_array_equal(fair_share(np.eye(3)[None], np.full((1, 3), 0.5), 0.85), np.ones((1, 3)))


def test_two_stations_that_tire_each_other_give_way_alike_and_a_third_does_not():
    demand = np.array([[[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]]])
    share, stopped_by = progressive_filling(demand, np.array([[1.0, 1.0, 0.5]]), 0.75)
    np.testing.assert_allclose(share, [[0.5, 0.5, 1.0]])
    assert stopped_by.tolist() == [[0, 0, -1]]


def test_the_rest_go_on_when_some_are_stopped():
    demand = np.array([[[1.0, 0.0], [0.2, 1.0]]])
    np.testing.assert_allclose(fair_share(demand, np.array([[2.0, 1.0]]), 1.0), [[0.5, 0.8]])


def test_who_wants_nothing_has_all_of_it():
    np.testing.assert_allclose(fair_share(np.ones((1, 2, 2)), np.array([[0.0, 4.0]]), 1.0), [[1.0, 0.25]])


@pytest.mark.parametrize("limit", [0.0, -1.0])
def test_without_any_room_nothing_is_left(limit):
    assert fair_share(np.ones((1, 2, 2)), np.ones((1, 2)), limit).tolist() == [[0.0, 0.0]]


def test_limits_of_each_row_and_each_athlete():
    demand, wanted = np.tile(np.eye(2), (3, 1, 1)), np.ones((3, 2))
    np.testing.assert_allclose(fair_share(demand, wanted, np.array([0.2, 0.4])), [[0.2, 0.4]] * 3)
    np.testing.assert_allclose(fair_share(demand, wanted, np.array([[0.2], [0.4], [2.0]]))[:, 0], [0.2, 0.4, 1.0])


def test_one_athlete_without_a_leading_axis():
    assert fair_share(np.eye(2), np.ones(2), 0.5).tolist() == [0.5, 0.5]


@given(SEEDS, st.floats(0.05, 1.0))
def test_shares_fit_and_stay_between_nothing_and_all(seed, limit):
    demand, wanted = instances(seed)
    share = fair_share(demand, wanted, limit)
    assert ((share >= 0.0) & (share <= 1.0)).all()
    assert ((demand @ (share * wanted)[..., None])[..., 0] <= limit + 1e-9).all()


@given(SEEDS, st.floats(0.1, 1.0), st.floats(0.0, 1.0))
def test_less_room_or_more_demand_never_raises_the_least_share(seed, limit, part):
    # Only the least: when one row gets tighter, a station in it stops earlier and may leave more to others.
    demand, wanted = instances(seed)
    least = fair_share(demand, wanted, limit).min(-1) + 1e-9
    assert (fair_share(demand, wanted, limit * part).min(-1) <= least).all()
    assert (fair_share(demand * (1.0 + part), wanted, limit).min(-1) <= least).all()


@pytest.mark.parametrize(
    ("demand", "wanted", "limit"),
    [(-np.eye(2), np.ones(2), 1.0), (np.eye(2), np.array([np.nan, 1.0]), 1.0), (np.eye(2), np.ones(2), np.nan)],
)
def test_broken_numbers_are_refused(demand, wanted, limit):
    with pytest.raises(ValueError, match="Sharing needs"):
        fair_share(demand, wanted, limit)
