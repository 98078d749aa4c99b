"""Easier and harder: about a tenth, whole steps, and never the wrong way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.steps import easier, harder, nearest_step, step_below, step_of

DOSES = st.floats(1, 5000, allow_nan=False)
STEPS = st.sampled_from([1.0, 5.0])


@pytest.mark.parametrize(
    ("dose", "step", "less", "more"),
    [
        (13, 1, 12, 14),
        (15, 1, 13, 16),
        (20, 1, 18, 22),
        (4, 1, 3, 5),
        (250, 5, 225, 275),
        (35, 5, 30, 40),
        (8, 1, 7, 9),
    ],
)
def test_about_a_tenth_and_at_least_a_step(dose, step, less, more):
    assert easier(dose, step) == less
    assert harder(dose, step, 1000) == more


def test_nothing_below_one_step_and_nothing_above_the_most():
    assert easier(1, 1) == 1
    assert easier(5, 5) == 5
    assert harder(24, 1, 24) == 24
    assert harder(20, 1, 21.5) == 21
    assert harder(30, 1, 24) == 30  # set by hand above it before


def test_a_dose_off_the_grid_comes_back_to_it():
    assert easier(12.5, 1) == 11
    assert harder(12.5, 1, 100) == 13


@given(DOSES, STEPS, st.floats(1, 20_000))
def test_each_way_is_whole_steps_the_right_way_and_within_bounds(dose, step, most):
    less, more = easier(dose, step), harder(dose, step, most)
    assert less <= dose <= more
    assert less == dose or (less >= step and less % step == 0)
    assert more == dose or (more <= most and more % step == 0)
    assert dose - less <= max(2 * step, 0.1 * dose + 1.5 * step)


def test_it_broadcasts():
    assert easier([[10.0, 20.0]], [[1.0], [5.0]]).tolist() == [[9, 18], [5, 15]]
    assert harder(np.array([10.0, 20.0]), 1.0, 21.0).tolist() == [11, 21]


def test_the_steps_a_coach_can_call():
    # Common practice: 1 kcal, 1 repetition, 25 m (10 m under 100), 5 s
    assert [float(step_of(kind)) for kind in ("metres", "kcal", "repetitions", "load_repetitions", "seconds")] == [
        25, 1, 1, 1, 5,
    ]  # fmt: skip
    assert step_of("metres", [60.0, 99.0, 100.0, 400.0]).tolist() == [10, 10, 25, 25]
    with pytest.raises(ValueError, match="laps"):
        step_of("laps")


def test_down_to_a_step_and_to_the_nearest_one():
    metres, step = [0, 0, 0, 1, 1], [1, 1, 5, 25, 25]
    assert step_below([12.9, 0.4, 31.0, 165.0, 97.0], metres, step).tolist() == [12, 1, 30, 150, 90]
    assert nearest_step([12.5, 12.6, 33.0, 165.0, 86.0], metres, step).tolist() == [12, 13, 35, 175, 90]
    assert step_below(13.0 - 1e-9, False, 1.0) == 13  # a rounding error takes nothing off
