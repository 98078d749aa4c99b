import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.constants import ENGINES
from athletes.capacity.kinship import MOVEMENT_CORRELATION, engine_correlation, joint_covariance, movement_correlation

ROW, RUN = ENGINES.index("row"), ENGINES.index("run")
# pull, push, hinge, squat, trunk, grip, whole body
PULL_UP, RING_ROW, PUSH_UP = [1, 0, 0, 0, 0.3, 0.7, 0], [0.7, 0, 0, 0, 0.3, 0.4, 0], [0, 0.8, 0, 0, 0.5, 0, 0]
WEIGHTS = st.lists(st.floats(0.0, 1.0), min_size=7, max_size=7)


def test_ergometers_go_together_and_running_less():
    by_parameter = engine_correlation()
    np.testing.assert_array_equal(by_parameter[:, ROW, ENGINES.index("ski")], [0.8, 0.6, 0.5])
    assert (by_parameter[:, ROW, RUN] < by_parameter[:, ROW, ENGINES.index("bike")]).all()
    assert (np.linalg.eigvalsh(by_parameter) > 0).all()


def test_the_joint_covariance_has_the_sds_and_the_correlations():
    log_sd = np.arange(1.0, 13.0).reshape(4, 3)
    covariance = joint_covariance(log_sd)
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), log_sd.ravel())
    assert covariance[0, 3] == pytest.approx(0.8 * log_sd[0, 0] * log_sd[1, 0])
    assert covariance[0, 1] == covariance[0, 4] == 0.0


def test_movements_go_together_as_their_patterns_do():
    correlation = movement_correlation([PULL_UP, RING_ROW, PUSH_UP])
    assert 0.9 * MOVEMENT_CORRELATION < correlation[0, 1] < MOVEMENT_CORRELATION
    assert correlation[0, 2] < 0.2
    np.testing.assert_array_equal(np.diag(correlation), 1.0)


def test_a_movement_without_patterns_goes_with_none():
    np.testing.assert_array_equal(movement_correlation([PULL_UP, [0.0] * 7])[0, 1], 0.0)


@given(st.lists(WEIGHTS, min_size=1, max_size=12))
def test_any_movements_make_a_proper_correlation(involvement):
    assert np.linalg.eigvalsh(movement_correlation(involvement)).min() > 0.9 * (1.0 - MOVEMENT_CORRELATION)
