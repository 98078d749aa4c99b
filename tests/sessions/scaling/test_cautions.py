from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.cautions import (
    BREAK_DAYS,
    HEAT_LIMITS_C,
    RAMP_DAYS,
    HeatStep,
    heat_step,
    lowered,
    most_in_session,
    ramp_week,
    return_day,
    rounds_share,
    rounds_within,
)

TODAY = date(2026, 3, 30)  # the day after clocks change in much of Europe
DAYS_AGO = st.integers(-40, 200)


def ago(days):
    return TODAY - timedelta(days)


# --- Exposure ---


def test_an_introduction_or_twice_the_biggest_session():
    assert most_in_session(30, [0, 10, 15, 40, np.nan]).tolist() == [30, 30, 30, 80, 30]


def test_rounds_that_stay_within_a_session():
    rounds = rounds_within(np.array([80.0, 30.0, 4.0, np.inf]), np.array([10.0, 7.0, 5.0, 9.0]), np.full(4, 10))
    assert rounds.tolist() == [8, 4, 1, 10]
    assert rounds_within(6.0 - 1e-9, np.array(2.0), np.array(5)) == 3  # a rounding error takes nothing off


# --- Return ---


def test_the_ramp_rises_week_by_week_and_ends():
    days = np.array([0, 6, 7, 13, 14, 20, 21, 27, 28, 400])
    assert ramp_week(days).tolist() == [1, 1, 2, 2, 3, 3, 4, 4, 0, 0]


def test_no_return_and_a_return_to_come_lower_nothing():
    assert ramp_week([np.nan, -1]).tolist() == [0, 0]


def test_rounds_by_week():
    assert rounds_share([0, 1, 2, 3, 4]).tolist() == [1.0, 0.5, 0.7, 0.8, 0.9]


def test_whoever_trains_has_no_ramp():
    assert return_day([ago(days) for days in range(0, 100, 5)], TODAY) is None


def trained(until, weeks=6, a_week=2):
    """Two sessions a week up to a day."""
    return [until - timedelta(days=7 * week + 3 * n) for week in range(weeks) for n in range(a_week)]


def test_the_first_session_after_a_break_starts_the_ramp():
    logged = [*trained(ago(30)), ago(12), ago(9), ago(2)]
    assert return_day(logged, TODAY) == ago(12)  # 18 days after the one before


def test_todays_session_may_be_the_first_after_a_break():
    assert return_day(trained(ago(BREAK_DAYS)), TODAY) == TODAY
    assert return_day(trained(ago(BREAK_DAYS - 1)), TODAY) is None


def test_a_break_counts_only_where_two_sessions_a_week_are_on_record():
    # Who logs now and then has not stayed away
    assert return_day(trained(ago(20), a_week=1), TODAY) is None
    assert return_day(trained(ago(20), weeks=5), TODAY) is None
    assert return_day([ago(60), ago(40), ago(20)], TODAY) is None
    assert return_day(trained(ago(20)), TODAY) == TODAY


def test_the_order_of_the_log_does_not_matter_and_a_day_may_hold_two_sessions():
    logged = [ago(2), ago(12), *trained(ago(30)), ago(12)]
    assert return_day(logged, TODAY) == ago(12)


def test_who_never_logged_has_no_ramp():
    assert return_day([], TODAY) is None
    assert return_day([], TODAY, joined_on=ago(400)) is None


def test_a_new_member_has_one_from_the_day_of_joining():
    assert return_day([], TODAY, joined_on=ago(27)) == ago(27)
    assert return_day([], TODAY, joined_on=ago(28)) is None
    assert return_day([ago(3)], TODAY, joined_on=TODAY) == TODAY


def test_staff_can_flag_a_return():
    logged = [ago(days) for days in range(0, 60, 3)]
    assert return_day(logged, TODAY, flagged_on=ago(10)) == ago(10)
    assert return_day(logged, TODAY, flagged_on=ago(RAMP_DAYS)) is None


def test_a_later_trigger_restarts_the_ramp():
    assert return_day([*trained(ago(20)), ago(2)], TODAY, joined_on=ago(25), flagged_on=ago(10)) == ago(2)
    assert return_day([ago(20), ago(2)], TODAY, joined_on=ago(25), flagged_on=ago(10)) == ago(10)


def test_what_lies_ahead_is_ignored():
    assert return_day([ago(-5)], TODAY, joined_on=ago(-3), flagged_on=ago(-1)) is None
    assert return_day([*trained(ago(20)), ago(-5)], TODAY) == TODAY


def test_the_log_of_a_ramp_that_was_followed_leads_through_it():
    # Back on day 0 after a month away, then every third day: asked on each of those days
    before, back = trained(ago(60)), [ago(60) + timedelta(days) for days in range(30, 61, 3)]
    weeks = []
    for count, day in enumerate(back):
        start = return_day([*before, *back[:count]], day)
        weeks.append(ramp_week((day - start).days).item() if start else 0)
    assert weeks == [1, 1, 1, 2, 2, 3, 3, 4, 4, 4, 0]


@given(st.lists(DAYS_AGO, max_size=12), st.none() | DAYS_AGO, st.none() | DAYS_AGO)
def test_a_ramp_holds_on_the_day_and_has_a_cause(logged, joined, flagged):
    dates = [ago(days) for days in logged]
    joined_on, flagged_on = (None if days is None else ago(days) for days in (joined, flagged))
    start = return_day(dates, TODAY, joined_on, flagged_on)
    if start is not None:
        assert 0 <= (TODAY - start).days < RAMP_DAYS
        assert start in {*dates, TODAY, joined_on, flagged_on}


# --- Heat ---


@pytest.mark.parametrize(
    ("wbgt_c", "step"),
    [(-5, 0), (27.7, 0), (27.8, 1), (29.9, 1), (30.0, 2), (32.1, 2), (32.2, HeatStep.STOP), (45, HeatStep.STOP)],
)
def test_heat_lowers_the_intent_and_then_stops(wbgt_c, step):
    assert heat_step(wbgt_c) == step


def test_a_gym_can_set_its_own_limits():
    assert heat_step(26.0, (25.0, 27.0, 29.0)) is HeatStep.ONE


@pytest.mark.parametrize("limits", [(27.8, 30.0), (30.0, 27.8, 32.2), (27.8, 27.8, 32.2), (27.8, np.nan, 32.2)])
def test_limits_must_rise(limits):
    with pytest.raises(ValueError, match="limits"):
        heat_step(20.0, limits)


def test_an_unknown_temperature_does_not_pass_as_cool():
    with pytest.raises(ValueError, match="°C"):
        heat_step(np.nan)


def test_the_intent_drops_level_by_level():
    assert [lowered("test", step) for step in (0, 1, 2)] == ["test", "hard", "steady"]
    assert [lowered("hard", step) for step in (0, 1, 2)] == ["hard", "steady", "easy"]
    assert [lowered("steady", step) for step in (0, 1, 2)] == ["steady", "easy", "easy"]
    assert [lowered("easy", step) for step in (0, 1, 2)] == ["easy", "easy", "easy"]


def test_there_is_no_intent_when_nobody_trains():
    with pytest.raises(ValueError, match="Too hot"):
        lowered("hard", heat_step(HEAT_LIMITS_C[-1]))


def test_an_unknown_intent_is_refused():
    with pytest.raises(ValueError, match="hard, steady, easy"):
        lowered("brutal", 1)
