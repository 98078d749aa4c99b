import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.allocate import least_cut
from tests.sessions.scaling.builders import quick

SEEDS = st.integers(0, 2**32 - 1)


def instances(seed, n=5):
    rng = np.random.default_rng(seed)
    size = int(rng.integers(1, 7))
    demand = rng.uniform(0.0, 1.0, (n, size, size)) * (rng.random((n, size, size)) < 0.5)
    return demand + np.eye(size), rng.uniform(0.0, 2.0, (n, size)) * (rng.random((n, size)) < 0.8)


def test_everything_fits():
    np.testing.assert_array_equal(least_cut(np.eye(3)[None], np.full((1, 3), 0.5), 0.85), np.ones((1, 3)))


def test_a_cut_is_made_where_it_helps_and_a_third_station_keeps_all():
    demand = np.array([[[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]]])
    np.testing.assert_allclose(least_cut(demand, np.array([[1.0, 1.0, 0.5]]), 0.75), [[0.5, 0.5, 1.0]])


def test_what_hardly_tires_the_tight_station_hardly_gives_way():
    # Row 1 has 0.09 too much. By hand: cuts in proportion to 1 and 0.1, since 0.09 = (1² + 0.1²)·λ
    demand = np.array([[[1.0, 0.1], [0.0, 1.0]]])
    cut = 1.0 - least_cut(demand, np.ones((1, 2)), np.array([[1.01, 1.0]]))
    np.testing.assert_allclose(cut, [[0.09 / 1.01, 0.009 / 1.01]])


def test_the_least_share_is_kept_and_the_other_gives_more():
    demand = np.array([[[1.0, 1.0], [0.0, 1.0]]])
    np.testing.assert_allclose(least_cut(demand, np.ones((1, 2)), np.array([[1.2, 1.0]]), [[0.9, 0.1]]), [[0.9, 0.3]])


def test_what_weighs_more_is_cut_less():
    demand = np.array([[[1.0, 1.0], [0.0, 0.0]]])
    np.testing.assert_allclose(least_cut(demand, np.ones((1, 2)), 1.6, weight=[[3.0, 1.0]]), [[0.9, 0.7]])


def test_where_even_the_least_does_not_fit_all_give_way_in_proportion():
    np.testing.assert_allclose(least_cut(np.ones((1, 2, 2)), np.ones((1, 2)), 0.6, [[0.9, 0.3]]), [[0.45, 0.15]])


def test_who_wants_nothing_has_all_of_it():
    np.testing.assert_allclose(least_cut(np.ones((1, 2, 2)), np.array([[0.0, 4.0]]), 1.0), [[1.0, 0.25]])


@pytest.mark.parametrize("limit", [0.0, -1.0])
@pytest.mark.parametrize("least", [0.0, 0.5])
def test_without_any_room_nothing_is_left(limit, least):
    np.testing.assert_allclose(least_cut(np.ones((1, 2, 2)), np.ones((1, 2)), limit, least), 0.0, atol=1e-12)


def test_limits_of_each_row_and_each_athlete_and_leading_axes():
    demand, wanted = np.tile(np.eye(2), (3, 1, 1)), np.ones((3, 2))
    np.testing.assert_allclose(least_cut(demand, wanted, np.array([0.2, np.inf])), [[0.2, 1.0]] * 3)
    np.testing.assert_allclose(least_cut(demand, wanted, np.array([[0.2], [0.4], [2.0]]))[:, 0], [0.2, 0.4, 1.0])
    np.testing.assert_allclose(least_cut(np.eye(2), np.ones(2), 0.5), [0.5, 0.5])
    assert least_cut(np.eye(2), np.ones((4, 1, 2)), np.full((3, 2), 0.5)).shape == (4, 3, 2)


@quick(50)
@given(SEEDS, st.floats(0.05, 1.0), st.floats(0.0, 0.9))
def test_shares_fit_and_stay_between_the_least_and_all(seed, limit, least):
    demand, wanted = instances(seed)
    share = least_cut(demand, wanted, limit, least)
    assert ((share >= 0.0) & (share <= 1.0)).all()
    assert ((demand @ (share * wanted)[..., None])[..., 0] <= limit + 1e-8).all()
    fits = ((demand @ (least * wanted)[..., None])[..., 0] <= limit).all(-1)
    assert (share[fits] >= least).all()


@quick(30)
@given(SEEDS, st.floats(0.1, 1.0))
def test_a_little_less_room_changes_the_shares_by_little(seed, limit):
    demand, wanted = instances(seed)
    moved = least_cut(demand, wanted, limit) - least_cut(demand, wanted, limit * (1.0 - 1e-6))
    assert np.abs(moved).max() < 1e-2


@pytest.mark.parametrize(
    ("demand", "wanted", "limit", "least"),
    [
        (-np.eye(2), np.ones(2), 1.0, 0.0),
        (np.eye(2), np.array([np.nan, 1.0]), 1.0, 0.0),
        (np.eye(2), np.array([np.inf, 1.0]), 1.0, 0.0),
        (np.eye(2), np.ones(2), np.nan, 0.0),
        (np.eye(2), np.ones(2), 1.0, 1.1),
        (np.eye(2), np.ones(2), 1.0, np.nan),
    ],
)
def test_broken_numbers_are_refused(demand, wanted, limit, least):
    with pytest.raises(ValueError, match=r"Sharing needs|least shares"):
        least_cut(demand, wanted, limit, least)
