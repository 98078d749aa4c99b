from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.constants import ONE_REP_MAX_BOUNDS_KG
from athletes.capacity.loading import MOST_LOADS, bar_loads, heaviest_at_most

POUND_KG = 0.45359237
PAIRS = st.dictionaries(st.sampled_from([0.5, 1.25, 2.5, 5.0, 10.0, 15.0, 20.0]), st.integers(0, 3), max_size=4)


def test_a_bar_and_its_plates():
    # By hand: 20 kg bar; one pair of 10 adds 20, two pairs of 2.5 add 5 or 10
    assert bar_loads(20.0, {10.0: 1, 2.5: 2}).tolist() == [20, 25, 30, 40, 45, 50]


def test_a_bar_without_plates():
    assert bar_loads(15.0, {}).tolist() == [15.0]
    assert bar_loads(15.0, {20.0: 0}).tolist() == [15.0]


@given(st.sampled_from([15.0, 20.0]), PAIRS)
def test_every_choice_of_pairs_and_no_other(bar_kg, pairs):
    choices = product(*(range(count + 1) for count in pairs.values()))
    every = {round(bar_kg + sum(2 * kg * n for kg, n in zip(pairs, chosen, strict=True)), 3) for chosen in choices}
    np.testing.assert_allclose(bar_loads(bar_kg, pairs), sorted(every), atol=1e-9)


def test_plates_in_pounds_that_add_up_to_the_same_are_one_load():
    loads = bar_loads(45 * POUND_KG, {45 * POUND_KG: 3, 25 * POUND_KG: 1, 10 * POUND_KG: 2, 5 * POUND_KG: 1})
    pounds = np.round(loads / POUND_KG, 6)
    assert len(set(pounds)) == len(pounds)
    assert {45.0, 135.0, 225.0} <= set(pounds)
    np.testing.assert_allclose(pounds % 10, 5.0)


def test_a_whole_storeroom_is_no_trouble():
    storeroom = dict.fromkeys((0.25, 0.5, 1.0, 1.25, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0), 40)
    loads = bar_loads(20.0, storeroom)
    assert len(loads) == 961  # every half kilogram from the bar up to what anybody lifts
    assert loads[-1] == ONE_REP_MAX_BOUNDS_KG[1]


def test_more_different_loads_than_anyone_needs_are_refused():
    odd = {0.101: 20, 0.233: 20, 0.457: 20, 0.911: 20, 1.823: 20, 3.617: 20}
    with pytest.raises(ValueError, match=f"more than {MOST_LOADS}"):
        bar_loads(20.0, odd)


@pytest.mark.parametrize("pairs", [{0.0: 1}, {-5.0: 1}, {5.0: -1}, {5.0: 1.5}, {np.inf: 1}, {5.0: np.nan}])
def test_senseless_plates_are_refused(pairs):
    with pytest.raises(ValueError, match="plates"):
        bar_loads(20.0, pairs)


def test_a_bar_of_no_weight_is_refused():
    with pytest.raises(ValueError, match="bar"):
        bar_loads(0.0, {})


def test_the_heaviest_that_is_not_too_heavy():
    loads = [24.0, 8.0, 16.0]
    np.testing.assert_array_equal(
        heaviest_at_most([7.9, 8.0, 15.0, 16.0, 500.0, np.nan], loads), [np.nan, 8, 8, 16, 24, np.nan]
    )


def test_a_rounding_error_takes_no_plate_off():
    assert heaviest_at_most(0.1 + 0.2, [0.1, 0.3]) == 0.3
    assert heaviest_at_most(0.3 - 1e-12, [0.1, 0.3]) == 0.3


def test_owning_nothing_leaves_nothing():
    assert np.isnan(heaviest_at_most([10.0, 100.0], [])).all()


@given(st.lists(st.floats(1.0, 300.0), min_size=1, max_size=20), st.floats(0.0, 400.0))
def test_never_up_and_never_lower_than_need_be(loads, load):
    found = heaviest_at_most(load, loads)
    below = [owned for owned in loads if owned <= load]
    if below:
        assert max(below) <= found <= load + 1e-6
    else:
        assert np.isnan(found) or found <= load + 1e-6
