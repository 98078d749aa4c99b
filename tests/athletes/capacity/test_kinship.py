import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.constants import ENGINES
from athletes.capacity.kinship import (
    curve_correlation,
    easier_forms,
    joint_covariance,
    ladder_correlation,
    level_correlation,
)
from athletes.capacity.movements import KINDS, Movement

ROW, SKI, RUN = (1 + ENGINES.index(engine) for engine in ("row", "ski", "run"))
PULL, PUSH = (1.0, 0.0, 0.0, 0.0, 0.3, 0.7, 0.0), (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.0)
PULL_UP, BANDED, RING_ROW = (Movement("repetitions", *own, PULL) for own in ((4.0, 0.8), (8.0, 0.65), (16.0, 0.5)))
PUSH_UP, SWING = (
    Movement("repetitions", 16.0, 0.6, PUSH),
    Movement("repetitions", 26.0, 0.5, (0, 0, 1.0, 0, 0.3, 0.3, 0)),
)
JUMP, STEP_UP = Movement("paced", 24.0, 0.3), Movement("paced", 28.0, 0.3)
SQUAT, PRESS = Movement("loaded", 75.0, 0.4), Movement("loaded", 38.0, 0.4, PUSH)
FIRST = 1 + len(ENGINES)  # place of the first movement


def test_ergometers_go_together_and_running_less():
    joint = level_correlation(())
    assert joint[ROW, SKI] == pytest.approx(0.85, abs=0.005)
    assert joint[ROW, RUN] == pytest.approx(0.5, abs=0.07)
    by_parameter = curve_correlation(joint[1:, 1:], 0)
    np.testing.assert_array_equal(by_parameter[1:, 0, 1], [0.6, 0.5])
    assert (np.linalg.eigvalsh(by_parameter) > 0).all()


def test_the_joint_covariance_has_the_sds_and_the_correlations():
    log_sd = np.arange(1.0, 13.0).reshape(4, 3)
    correlation = curve_correlation(level_correlation(())[1:, 1:], 0)
    covariance = joint_covariance(log_sd, correlation)
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), log_sd.ravel())
    assert covariance[0, 3] == pytest.approx(correlation[0, 0, 1] * log_sd[0, 0] * log_sd[1, 0])
    assert covariance[0, 1] == covariance[0, 4] == 0.0


def test_general_fitness_links_everything_weakly():
    joint = level_correlation((PULL_UP, JUMP, SQUAT))
    assert (joint[ROW, FIRST:] > 0.2).all()
    assert (joint[ROW, FIRST:] < 0.5).all()


def test_likeness_of_patterns_carries_little_and_a_ladder_much():
    joint = level_correlation((PULL_UP, BANDED, RING_ROW, PUSH_UP, SWING, JUMP), ((1, 0), (2, 1)))
    ladder = joint[FIRST, FIRST + 1]
    assert ladder == pytest.approx(ladder_correlation(BANDED, PULL_UP))
    assert ladder > 0.85
    assert joint[FIRST, FIRST + 2] == pytest.approx(ladder * joint[FIRST + 1, FIRST + 2])
    assert joint[FIRST + 3, FIRST + 4] < 0.3
    assert joint[FIRST + 4, FIRST + 5] < 0.35  # jumps say next to nothing of a swing


def test_a_rung_leaves_the_next_about_a_quarter_of_doubt():
    left = RING_ROW.known_sd * np.sqrt(1.0 - ladder_correlation(RING_ROW, BANDED) ** 2)
    assert 0.18 < left < 0.30


def test_two_ladders_over_the_same_movements_make_one():
    movements = (PULL_UP, BANDED, RING_ROW)
    one, both = (level_correlation(movements, ladders) for ladders in (((1, 0), (2, 1)), ((1, 0), (2, 0), (2, 1))))
    np.testing.assert_allclose(one, both)


def test_a_pair_of_different_kinds_says_nothing():
    np.testing.assert_array_equal(level_correlation((PULL_UP, JUMP), ((1, 0),)), level_correlation((PULL_UP, JUMP)))


def test_easier_forms_are_found_by_any_way():
    movements = (PULL_UP, BANDED, RING_ROW, SQUAT, PRESS)
    assert list(easier_forms(movements, ((1, 0), (2, 1), (4, 3)))) == [{1, 2}, {2}, set(), set(), set()]


MOVEMENTS = st.builds(
    Movement,
    st.sampled_from(KINDS),
    st.floats(1.0, 100.0),
    st.floats(0.1, 1.5),
    st.one_of(st.just(()), st.tuples(*[st.floats(0.0, 1.0)] * 7)),
)


@settings(deadline=None, max_examples=60)
@given(st.lists(MOVEMENTS, min_size=1, max_size=10).map(tuple), st.data())
def test_any_movements_and_ladders_make_a_proper_prior_in_which_nothing_good_is_bad_news(movements, data):
    places = st.integers(0, len(movements) - 1)
    ladders = tuple(data.draw(st.lists(st.tuples(places, places), max_size=12)))
    joint = level_correlation(movements, ladders)
    np.testing.assert_allclose(np.diag(joint), 1.0)
    assert np.linalg.eigvalsh(joint).min() > 1e-6
    precision = np.linalg.inv(joint)
    assert (precision - np.diag(np.diag(precision))).max() < 1e-6  # no off-diagonal above zero: every weight positive


@pytest.mark.parametrize("paced", [0, 1, 6])
def test_curves_with_paced_movements_are_proper(paced):
    level = level_correlation((JUMP,) * paced)[1:, 1:]
    assert np.linalg.eigvalsh(curve_correlation(level, paced)).min() > 0.05
