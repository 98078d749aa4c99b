import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.best import (
    best_distance,
    best_kcal,
    best_power,
    best_time_for_distance,
    best_time_for_kcal,
)

ROW, RUN = np.log([200.0, 15_000.0, 20.0]), np.log([3.5, 160.0, 25.0])


@given(st.floats(10.0, 5000.0))
def test_a_time_and_a_distance_belong_together(seconds):
    for engine, theta in (("row", ROW), ("ski", ROW), ("run", RUN)):
        metres = best_distance(engine, seconds, theta)
        assert best_time_for_distance(engine, metres, theta) == pytest.approx(seconds, rel=1e-9)


@given(st.floats(5.0, 5000.0))
def test_a_time_and_calories_belong_together(seconds):
    assert best_time_for_kcal(best_kcal(seconds, ROW), ROW) == pytest.approx(seconds, rel=1e-9)


def test_running_follows_the_distance_time_line_without_a_ramp():
    theta = np.log([4.0, 200.0, 1e-9])
    assert best_time_for_distance("run", 3000.0, theta) == pytest.approx((3000.0 - 200.0) / 4.0, rel=1e-6)


def test_many_athletes_at_once():
    thetas = ROW + np.linspace(-0.2, 0.2, 7)[:, None] * [1.0, 1.0, 0.0]
    seconds = best_time_for_distance("row", 2000.0, thetas)
    assert seconds.shape == (7,)
    assert (np.diff(seconds) < 0).all()
    assert best_power(60.0, thetas).shape == (7,)


def test_a_bike_has_no_metres():
    with pytest.raises(ValueError, match="calories"):
        best_distance("bike", 60.0, ROW)
