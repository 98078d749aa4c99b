import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.strength import EQUATIONS, load_for_repetitions, one_rep_max, repetitions_at_load


@pytest.mark.parametrize("equation", EQUATIONS)
def test_a_single_repetition_is_its_own_maximum(equation):
    assert one_rep_max(87.5, 1, equation) == 87.5


@pytest.mark.parametrize("equation", EQUATIONS)
def test_more_repetitions_mean_a_higher_maximum_and_load_is_proportional(equation):
    maxima = one_rep_max(60.0, np.arange(1, 21), equation)
    assert (np.diff(maxima) > 0).all()
    np.testing.assert_allclose(one_rep_max(120.0, np.arange(1, 21), equation), 2 * maxima)


@pytest.mark.parametrize(("repetitions", "equation"), [(0, "epley"), (37, "brzycki"), (40, "brzycki"), (38, "lander")])
def test_impossible_sets_are_refused(repetitions, equation):
    with pytest.raises(ValueError, match="repetition"):
        one_rep_max(60.0, repetitions, equation)


def test_an_unknown_equation_is_refused():
    with pytest.raises(ValueError, match="epley"):
        one_rep_max(60.0, 5, "guess")


def test_missing_repetitions_pass():
    assert np.isnan(one_rep_max(60.0, np.array([np.nan, 5.0]))).tolist() == [True, False]


def test_loads_of_the_table_fall_with_repetitions():
    assert (np.diff(load_for_repetitions(120.0, np.arange(1, 11))) < 0).all()


@given(st.floats(1.1, 10.0))
def test_repetitions_at_a_load_invert_epley(repetitions):
    maximum = one_rep_max(60.0, repetitions)
    assert repetitions_at_load(maximum, 60.0) == pytest.approx(max(repetitions, 1.0), rel=1e-9)


@pytest.mark.parametrize(("load", "repetitions"), [(100.0, 1.0), (99.0, 1.0), (100.1, 0.0), (40.0, 30.0), (1.0, 30.0)])
def test_repetitions_at_a_load_stay_in_their_range(load, repetitions):
    assert repetitions_at_load(100.0, load) == repetitions
