import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.repetitions import estimate

NAN = np.nan


def test_normal_prior_and_one_trial():
    # Prior ln 200, SD 0.30; one test of 260, SD 0.05: weight 0.972973, posterior 258.1629, SD 0.0493197
    mean, sd = estimate(np.array([[260.0]]), 0.05, np.log(200.0), 0.30)
    assert np.exp(mean[0]) == pytest.approx(258.1629, abs=5e-4)
    assert sd[0] == pytest.approx(0.0493197, abs=5e-7)


@given(st.lists(st.floats(0.9, 1.1), min_size=0, max_size=6))
def test_close_trials_are_averaged_by_precision(ratios):
    trials = np.full((1, 6), NAN)
    trials[0, : len(ratios)] = 20.0 * np.array(ratios)
    precision = 1 / 0.4**2 + len(ratios) / 0.08**2
    expected = (np.log(18.0) / 0.4**2 + np.log(trials[0, : len(ratios)]).sum() / 0.08**2) / precision
    mean, sd = estimate(trials, 0.08, np.log(18.0), 0.4)
    assert mean[0] == pytest.approx(expected, abs=1e-9)
    assert sd[0] == pytest.approx(precision**-0.5, rel=1e-9)


def test_without_a_trial_the_prior_comes_back():
    mean, sd = estimate(np.full((2, 2), NAN), 0.08, np.log([10.0, 30.0]), np.array([0.3, 0.5]))
    np.testing.assert_allclose(mean, np.log([10.0, 30.0]))
    np.testing.assert_allclose(sd, [0.3, 0.5])


def test_a_slip_of_the_pen_loses_its_weight():
    mean, _ = estimate(np.array([[20.0, 21.0, 200.0, 19.0]]), 0.08, np.log(15.0), 0.4)
    left_out, _ = estimate(np.array([[20.0, 21.0, NAN, 19.0]]), 0.08, np.log(15.0), 0.4)
    assert mean[0] == pytest.approx(left_out[0], abs=0.002)


@pytest.mark.parametrize("repetitions", [0.0, -3.0, np.inf])
def test_impossible_trials_are_refused(repetitions):
    with pytest.raises(ValueError, match="above zero"):
        estimate(np.array([[repetitions]]), 0.08, np.log(15.0), 0.4)
