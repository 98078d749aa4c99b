import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity import repetitions
from athletes.capacity.logged import LEAST_LOAD_SD, logged_sd, one_rep_max_evidence, shared_bias_sd

SDS = st.lists(st.floats(0.02, 2.0), min_size=1, max_size=30)


def precision_of_all(sd_log):
    return np.nansum(shared_bias_sd(sd_log) ** -2.0)


def test_a_logs_sd_doubles_in_sixty_days():
    np.testing.assert_allclose(logged_sd(0.1, [0.0, 60.0, 120.0]), [0.1, 0.2, 0.4])
    assert logged_sd(0.1, -3.0) == 0.1


def test_one_log_stands_for_itself_and_four_share_their_errors():
    assert shared_bias_sd([0.1]) == pytest.approx(0.1)
    # 0.1²·(1 + 3·0.4)/4 is left of the variance of four that err together by 0.4
    np.testing.assert_allclose(shared_bias_sd(np.full(4, 0.1)), 0.1 * np.sqrt(2.2))
    assert precision_of_all(np.full(4, 0.1)) == pytest.approx(4.0 / (0.01 * 2.2))


def test_any_number_of_logs_leaves_the_shared_error():
    assert precision_of_all(np.full(10_000, 0.1)) == pytest.approx(1.0 / (0.4 * 0.01), rel=1e-3)


def test_missing_logs_do_not_count():
    padded = shared_bias_sd(np.array([[0.1, np.nan, 0.2, np.nan], [np.nan] * 4]))
    np.testing.assert_allclose(padded[0, [0, 2]], shared_bias_sd([0.1, 0.2]))
    assert np.isnan(padded[0, [1, 3]]).all()
    assert np.isnan(padded[1]).all()


@given(SDS)
def test_together_they_say_at_least_what_an_average_one_says_and_no_more_than_all_alone(sds):
    alone = np.array(sds) ** -2.0
    assert precision_of_all(sds) >= alone.mean() * (1.0 - 1e-9)
    assert precision_of_all(sds) <= alone.sum() * (1.0 + 1e-9)


def test_many_old_logs_hardly_weaken_the_new_ones():
    new, old = np.full(6, 0.1), np.full(40, 1.6)
    assert precision_of_all(np.concatenate([new, old])) > 0.85 * precision_of_all(new)


def test_logs_give_way_to_a_benchmark():
    mean, _ = repetitions.estimate([[20.0]], 0.08, np.log(15.0), 0.5)
    logs = np.full((1, 30), 14.0)
    sds = np.concatenate([[[0.08]], shared_bias_sd(np.full((1, 30), 0.25))], 1)
    informed, _ = repetitions.estimate(np.concatenate([[[20.0]], logs], 1), sds, np.log(15.0), 0.5)
    assert np.log(17.0) < informed < mean


def test_repetitions_at_a_load_become_a_maximum():
    maximum, sd = one_rep_max_evidence(100.0, [6.0, 12.0, 30.0], 0.3)
    np.testing.assert_allclose(maximum, [120.0, 140.0, 200.0])
    np.testing.assert_allclose(sd, [LEAST_LOAD_SD, 0.3 * 12.0 / 42.0, 0.15])


def test_repetitions_that_say_nothing_of_a_maximum_are_no_evidence():
    for said in one_rep_max_evidence(60.0, np.array([0.4, 31.0, np.nan]), np.full(3, 0.2)):
        assert np.isnan(said).all()
