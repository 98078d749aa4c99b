import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.best import (
    best_distance,
    best_distance_sd,
    best_kcal,
    best_kcal_sd,
    best_power,
    best_time_for_distance,
    best_time_for_distance_sd,
    best_time_for_kcal,
    best_time_for_kcal_sd,
    interval,
    outside_range,
)

ROW, RUN = np.log([200.0, 15_000.0, 20.0]), np.log([3.5, 160.0, 25.0])
ROOT = np.array([[0.03, 0.0, 0.0], [-0.05, 0.10, 0.0], [0.02, 0.06, 0.15]])
SPREAD = ROOT @ ROOT.T
UNTIMED = settings(deadline=None)


@UNTIMED
@given(st.floats(10.0, 5000.0))
def test_a_time_and_a_distance_belong_together(seconds):
    for engine, theta in (("row", ROW), ("ski", ROW), ("run", RUN)):
        metres = best_distance(engine, seconds, theta)
        assert best_time_for_distance(engine, metres, theta) == pytest.approx(seconds, rel=1e-9)


@UNTIMED
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
    with pytest.raises(ValueError, match="calories"):
        best_time_for_distance_sd("bike", 1000.0, ROW, SPREAD)


@UNTIMED
@given(st.floats(-1.0, 1.0), st.floats(-2.0, 2.0), st.floats(-15.0, 2.0), st.floats(1.0, 100_000.0))
def test_a_best_time_is_found_for_any_athlete_and_distance(cp, work, ramp, metres):
    for engine, theta in (("row", ROW), ("run", RUN)):
        theta = theta + [cp, work, ramp]
        seconds = best_time_for_distance(engine, metres, theta)
        if 0.011 < seconds < 9.9e5:  # inside of where it is looked for
            assert best_distance(engine, seconds, theta) == pytest.approx(metres, rel=1e-9)


def test_what_is_not_known_stays_so():
    assert np.isnan(best_time_for_distance("row", np.array([np.nan, 500.0]), ROW)).tolist() == [True, False]
    assert np.isnan(best_time_for_kcal(15.0, np.full(3, np.nan)))


def sd_by_slopes(log_amount, theta):
    """SD of a log prediction from its numerical slopes."""
    slopes = [(log_amount(theta + 1e-5 * axis) - log_amount(theta - 1e-5 * axis)) / 2e-5 for axis in np.eye(3)]
    return np.sqrt(slopes @ SPREAD @ np.array(slopes))


@UNTIMED
@given(st.floats(50.0, 10_000.0))
def test_the_spread_of_a_time_for_a_distance_follows_its_slopes(metres):
    for engine, theta in (("row", ROW), ("ski", ROW), ("run", RUN)):
        expected = sd_by_slopes(lambda t, e=engine: np.log(best_time_for_distance(e, metres, t)), theta)
        assert best_time_for_distance_sd(engine, metres, theta, SPREAD) == pytest.approx(expected, rel=1e-5)


@UNTIMED
@given(st.floats(2.0, 500.0), st.sampled_from([(300.0, 3.4416), (0.0, 4.0)]))
def test_the_spread_of_a_time_for_calories_follows_its_slopes(kcal, monitor):
    expected = sd_by_slopes(lambda t: np.log(best_time_for_kcal(kcal, t, *monitor)), ROW)
    assert best_time_for_kcal_sd(kcal, ROW, SPREAD, *monitor) == pytest.approx(expected, rel=1e-5)


@UNTIMED
@given(st.floats(10.0, 3600.0))
def test_the_spread_of_what_is_done_in_a_time_follows_its_slopes(seconds):
    for engine, theta in (("row", ROW), ("run", RUN)):
        expected = sd_by_slopes(lambda t, e=engine: np.log(best_distance(e, seconds, t)), theta)
        assert best_distance_sd(engine, seconds, theta, SPREAD) == pytest.approx(expected, rel=1e-5)
    expected = sd_by_slopes(lambda t: np.log(best_kcal(seconds, t)), ROW)
    assert best_kcal_sd(seconds, ROW, SPREAD) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("engine", ["row", "run"])
def test_the_spread_is_that_of_many_athletes_like_this_one(engine):
    theta = {"row": ROW, "run": RUN}[engine]
    crowd = theta + np.random.default_rng(2).normal(size=(20_000, 3)) @ ROOT.T
    expected = np.log(best_time_for_distance(engine, 1000.0, crowd)).std()
    assert best_time_for_distance_sd(engine, 1000.0, theta, SPREAD) == pytest.approx(expected, rel=0.03)


def test_spreads_of_many_athletes_at_once():
    thetas, spreads = np.tile(ROW, (7, 1)), SPREAD * np.linspace(0.5, 2.0, 7)[:, None, None]
    sd = best_time_for_distance_sd("row", 2000.0, thetas, spreads)
    np.testing.assert_allclose(sd / sd[0], np.sqrt(np.linspace(1.0, 4.0, 7)))


def test_an_interval_holds_the_share_that_was_asked_for():
    drawn = 100.0 * np.exp(0.1 * np.random.default_rng(3).normal(size=100_000))
    for share in (0.5, 0.8, 0.95):
        low, high = interval(100.0, 0.1, share)
        assert ((drawn > low) & (drawn < high)).mean() == pytest.approx(share, abs=0.01)
    assert interval(240.0, 0.0) == (240.0, 240.0)


def test_the_curve_describes_half_a_minute_to_twenty_minutes():
    marks = outside_range([5.0, 29.9, 30.0, 600.0, 1200.0, 1200.1, np.nan, np.inf])
    assert marks.tolist() == [True, True, False, False, False, True, True, True]
