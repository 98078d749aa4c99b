import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.kinship import level_correlation
from athletes.capacity.movements import Movement
from athletes.capacity.repetitions import ZERO_SD, estimate, estimate_together

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


@pytest.mark.parametrize("repetitions", [-3.0, np.inf])
def test_impossible_trials_are_refused(repetitions):
    with pytest.raises(ValueError, match="zero or above"):
        estimate(np.array([[repetitions]]), 0.08, np.log(15.0), 0.4)


def close(correlation, sds=(0.5, 0.4)):
    """Precision of the joint prior of two movements."""
    sds = np.array(sds)
    return np.linalg.inv(np.array([[1.0, correlation], [correlation, 1.0]]) * np.outer(sds, sds))[None]


def test_a_trial_in_one_movement_informs_the_other_as_two_normals_do():
    # The other moves by r·s2/s1 of what the first does, and of its variance r²·(share learnt) is gone
    trials = np.array([[[26.0], [NAN]]])
    mean, covariance = estimate_together(trials, np.full(trials.shape, 0.08), np.log([20.0, 8.0]), close(0.6))
    sd = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    learnt = 0.5**2 / (0.5**2 + 0.08**2)
    assert mean[0, 0] == pytest.approx(np.log(20.0) + learnt * np.log(26.0 / 20.0), abs=1e-9)
    assert mean[0, 1] == pytest.approx(np.log(8.0) + 0.6 * 0.4 / 0.5 * learnt * np.log(26.0 / 20.0), abs=1e-9)
    assert sd[0, 1] == pytest.approx(0.4 * np.sqrt(1.0 - 0.6**2 * learnt), abs=1e-9)


def test_without_correlation_movements_are_as_alone():
    rng = np.random.default_rng(9)
    trials = np.exp(np.log([20.0, 8.0])[:, None] + 0.3 * rng.normal(size=(30, 2, 3)))
    trials[rng.random(trials.shape) < 0.4] = NAN
    together = estimate_together(trials, np.full(trials.shape, 0.08), np.log([20.0, 8.0]), close(0.0))
    for g, (median, spread) in enumerate([(20.0, 0.5), (8.0, 0.4)]):
        alone = estimate(trials[:, g], 0.08, np.log(median), spread)
        np.testing.assert_allclose([together[0][:, g], np.sqrt(together[1][:, g, g])], alone, atol=1e-5)


def test_a_slip_of_the_pen_does_not_spoil_the_movements_beside_it():
    trials = np.array([[[20.0, 21.0, 200.0, 19.0], [NAN] * 4]])
    without = np.array([[[20.0, 21.0, NAN, 19.0], [NAN] * 4]])
    found, expected = (
        estimate_together(t, np.full(t.shape, 0.08), np.log([15.0, 8.0]), close(0.6))[0] for t in (trials, without)
    )
    np.testing.assert_allclose(found, expected, atol=0.002)


def test_thirty_movements_at_once_are_the_joint_normal():
    rng = np.random.default_rng(10)
    movements = tuple(Movement("repetitions", 10.0, 0.5, tuple(own)) for own in rng.random((30, 7)))
    correlation = level_correlation(movements)[5:, 5:]
    trials = np.full((5, 30, 1), NAN)
    trials[:, ::4] = 12.0 * np.exp(0.1 * rng.normal(size=trials[:, ::4].shape))
    cov, seen = 0.25 * correlation, np.arange(30) % 4 == 0
    gain = cov[:, seen] @ np.linalg.inv(cov[np.ix_(seen, seen)] + 0.08**2 * np.eye(seen.sum()))
    expected = np.log(10.0) + np.log(trials[:, seen, 0] / 10.0) @ gain.T
    mean, found = estimate_together(trials, np.full(trials.shape, 0.08), np.log(10.0), np.linalg.inv(cov)[None])
    np.testing.assert_allclose(mean, expected, atol=1e-8)
    np.testing.assert_allclose(found[0], cov - gain @ cov[seen], atol=1e-8)


def test_a_zero_says_below_one():
    # Who should do three and did none: below one, and by how much stays unsure
    mean, sd = estimate(np.array([[0.0], [NAN]]), 0.08, np.log(3.0), 0.6)
    assert np.exp(mean[0]) < 1.0
    assert np.exp(mean[1]) == pytest.approx(3.0)
    assert 0.1 < sd[0] < 0.6


def test_a_zero_of_who_was_expected_to_do_none_changes_little():
    mean, sd = estimate(np.array([[0.0]]), 0.08, np.log(0.3), 0.4)
    assert np.exp(mean[0]) == pytest.approx(0.3, rel=0.01)
    assert sd[0] == pytest.approx(0.4, rel=0.01)


def test_a_zero_is_the_censored_result_of_the_textbook():
    # Against the posterior on a fine grid: normal prior times the logistic probability of "below one"
    grid = np.linspace(-4.0, 4.0, 80_001)
    log_density = -0.5 * ((grid - np.log(1.5)) / 0.7) ** 2 - np.logaddexp(0.0, grid / ZERO_SD)
    mean, _ = estimate(np.array([[0.0]]), 0.08, np.log(1.5), 0.7)
    assert mean[0] == pytest.approx(grid[log_density.argmax()], abs=1e-3)


def test_a_later_success_outweighs_an_early_zero():
    mean, _ = estimate(np.array([[0.0, 4.0]]), np.array([[0.17, 0.08]]), np.log(3.0), 0.6)
    assert 3.3 < np.exp(mean[0]) < 4.0


@pytest.mark.parametrize("zeros", [1, 3, 20])
def test_nothing_but_zeros_is_never_a_whole_repetition(zeros):
    mean, sd = estimate(np.zeros((1, zeros)), 0.08, np.log(20.0), 0.4)
    assert np.exp(mean[0]) < 1.0
    assert np.isfinite(sd).all()
