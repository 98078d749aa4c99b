import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.adjustment import HALF_LIFE_DAYS, MOST, PAUSE_DAYS, accumulate

NAN = np.nan


def test_steps_add_up():
    assert accumulate([[0.06, -0.02, 0.0]], [[1, 4, 8]], 8)[0] == pytest.approx(0.04)


def test_never_more_than_the_limit_and_back_from_there_at_once():
    up = accumulate([[0.06] * 20], [np.arange(20)], 20)
    assert up[0] == pytest.approx(MOST)
    down = accumulate([[*[0.06] * 20, -0.075]], [np.arange(21)], 21)
    assert down[0] == pytest.approx(MOST - 0.075)


def test_as_expected_twice_a_week_forgets_nothing():
    days = np.arange(0, 70, 3.5)
    steps = np.where(days < 10, 0.05, 0.0)
    assert accumulate([steps], [days], 70)[0] == pytest.approx(0.05 * 3)


def test_half_is_forgotten_in_eight_weeks_without_sessions():
    for today, left in ((PAUSE_DAYS, 1.0), (HALF_LIFE_DAYS, 0.5)):
        assert accumulate([[0.2]], [[0]], today)[0] == pytest.approx(0.2 * left)
    # the same when someone comes back after the gap
    assert accumulate([[0.2, 0.0]], [[0, HALF_LIFE_DAYS]], HALF_LIFE_DAYS)[0] == pytest.approx(0.1)


def test_a_benchmark_takes_it_over():
    steps, days = [[0.05, 0.05, 0.05]] * 3, [[1, 5, 9]] * 3
    np.testing.assert_allclose(accumulate(steps, days, 9, [NAN, 5, 9]), [0.15, 0.05, 0.0])


def test_what_lies_in_the_future_does_not_count_yet():
    assert accumulate([[0.05, 0.05]], [[1, 20]], 10)[0] == pytest.approx(0.05)


def test_nobody_logged():
    np.testing.assert_array_equal(accumulate(np.full((3, 0), NAN), np.full((3, 0), NAN), 10), 0.0)
    np.testing.assert_array_equal(accumulate([[NAN, NAN]], [[NAN, NAN]], 10), 0.0)


def test_a_step_without_a_day_is_refused():
    with pytest.raises(ValueError, match="day"):
        accumulate([[0.05]], [[NAN]], 10)


STEPS = st.lists(st.tuples(st.floats(-0.3, 0.3), st.integers(0, 400)), max_size=12)


@settings(deadline=None)
@given(STEPS, st.randoms(), st.integers(0, 500))
def test_the_order_in_which_logs_arrive_does_not_matter_and_nothing_runs_away(sessions, chance, today):
    sessions = list({day: (step, day) for step, day in sessions}.values())
    shuffled = list(sessions)
    chance.shuffle(shuffled)
    found = [
        accumulate([[s for s, _ in some] or [NAN]], [[d for _, d in some] or [NAN]], today)[0]
        for some in (sessions, shuffled)
    ]
    assert found[0] == found[1]
    assert abs(found[0]) <= MOST
