import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity import ergometer

PACES = st.floats(60.0, 400.0)
SECONDS = st.floats(5.0, 3600.0)
WATTS = st.floats(1.0, 2500.0)


@given(PACES)
def test_pace_survives_the_way_to_watts_and_back(pace):
    assert ergometer.pace_from_watts(ergometer.watts_from_pace(pace)) == pytest.approx(pace, rel=1e-12)


@given(WATTS, SECONDS)
def test_metres_and_calories_survive_the_way_there_and_back(watts, seconds):
    assert ergometer.watts_for_metres(ergometer.metres_in(seconds, watts), seconds) == pytest.approx(watts, rel=1e-12)
    assert ergometer.watts_for_kcal(ergometer.kcal_in(seconds, watts), seconds) == pytest.approx(watts, abs=1e-9)


@given(PACES)
def test_half_the_pace_takes_eight_times_the_power(pace):
    assert ergometer.watts_from_pace(pace / 2) == pytest.approx(8 * ergometer.watts_from_pace(pace), rel=1e-12)


@given(WATTS, SECONDS, SECONDS)
def test_calories_add_up_over_time(watts, first, second):
    together = ergometer.kcal_in(first, watts) + ergometer.kcal_in(second, watts)
    assert ergometer.kcal_in(first + second, watts) == pytest.approx(together, rel=1e-12)


def test_metres_agree_with_the_pace():
    assert ergometer.metres_in(105.0, ergometer.watts_from_pace(105.0)) == pytest.approx(500.0, rel=1e-12)


def test_arrays_broadcast_and_missing_values_pass():
    rate = ergometer.kcal_per_hour(np.array([[100.0], [np.nan]]), base=np.array([0.0, 300.0]))
    assert rate.shape == (2, 2)
    assert np.isnan(rate[1]).all()
