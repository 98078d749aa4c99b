"""Loads for repetitions. Sources: NSCA, Essentials of Strength Training and Conditioning (repetition table, 1 to 10);
Epley 1985 and its inverse: 20, 12.857, 7.5 and 3.333 repetitions at 60, 70, 80 and 90 % (computed as printed).
"""

import numpy as np
import pytest

from sessions.scaling.loads import load_limit, most_repetitions, share_for_set

ONE_ROUND = {"rotations": 1, "rotation_s": 240.0, "headroom": 0.0}


def test_one_set_is_the_tables():
    loads = 100.0 * share_for_set(np.arange(1, 11))
    np.testing.assert_allclose(loads, [100, 95, 93, 90, 87, 85, 83, 80, 77, 75])


@pytest.mark.parametrize(("percent", "repetitions"), [(60, 20.0), (70, 12.857), (80, 7.5), (90, 3.333)])
def test_most_repetitions(percent, repetitions):
    log_most, _ = most_repetitions(np.log(100.0), 0.05, percent)
    assert np.exp(log_most) == pytest.approx(repetitions, abs=5e-4)


def test_the_only_set_of_a_circuit_is_epleys():
    last = load_limit(100.0, np.array([1, 3, 5, 8, 10, 15]), **ONE_ROUND)
    np.testing.assert_allclose(1e4 / last, [100.0, 110.0, 116.667, 126.667, 133.333, 150.0], atol=5e-4)


def test_beyond_ten_it_stays_below_every_copy_of_the_table_that_is_not_below_epley():
    # Copies print 70 and 73 % for 11, 67 and 70 % for 12, 65 % for 15: Epley gives 73.2, 71.4 and 66.7
    assert (share_for_set(np.array([11, 12, 15])) < share_for_set(10)).all()
    np.testing.assert_allclose(100 * share_for_set(np.array([11, 12, 15])), [73.171, 71.429, 66.667], atol=5e-4)
