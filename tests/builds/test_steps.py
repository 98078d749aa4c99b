"""The numbers of a build, before anybody does one."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.builds.steps import MOST_SESSIONS, days_of, eased_places, growing, held_back, stepped_back


def test_minutes_grow_in_whole_rounds_with_an_easier_week():
    assert growing(5, 12, 6, [3]) == [5, 6, 8, 6, 10, 12]
    assert growing(100, 125, 3) == [100, 112, 125]
    assert growing(60, 45, 4) == [60, 55, 50, 45]  # shorter rest
    assert growing(60, 45, 4, [2]) == [60, 52, 60, 45]  # an easier week is no shorter than the first
    assert growing(6, 6, 3) == [6, 6, 6]


@given(st.integers(1, 20), st.integers(1, 40), st.integers(1, MOST_SESSIONS), st.sampled_from([0, 3, 4]))
def test_a_build_begins_and_ends_as_asked_and_never_falls_but_where_it_is_easier(first, last, count, each):
    eased = eased_places(count, each)
    steps = growing(first, last, count, eased)
    hard = [step for place, step in enumerate(steps) if place not in eased]
    assert len(steps) == count
    assert steps[0] == first
    assert count == 1 or hard[-1] == last
    assert hard == sorted(hard, reverse=last < first)
    assert min(steps) >= 1


def test_days_are_a_week_or_two_apart_until_the_last():
    monday = date(2026, 11, 30)
    assert days_of(monday, date(2026, 12, 20), 1) == [monday, date(2026, 12, 7), date(2026, 12, 14)]
    assert days_of(monday, date(2026, 12, 20), 2) == [monday, date(2026, 12, 14)]
    assert len(days_of(monday, date(2036, 1, 1), 1)) == MOST_SESSIONS


@pytest.mark.parametrize(("place", "held", "back"), [(0, [5, 5, 6, 7], [5, 5, 5, 6]), (2, [5, 6, 7, 7], [5, 6, 7, 6])])
def test_holding_and_stepping_back_shift_what_follows(place, held, back):
    assert held_back([5, 6, 7, 9], place) == held
    assert stepped_back([5, 6, 7, 9], place) == back
