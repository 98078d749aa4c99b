"""What holds for any athlete and any efforts."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity import power_duration, repetitions
from athletes.capacity.constants import ENGINES, MISFIT_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.ergometer import (
    kcal_in,
    kcal_per_hour,
    metres_in,
    pace_from_watts,
    watts_for_kcal,
    watts_for_metres,
    watts_from_kcal_per_hour,
    watts_from_pace,
)
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.capacity.priors import engine_prior, engines_prior
from athletes.capacity.strength import one_rep_max, repetitions_at_load

FEW = settings(max_examples=50, deadline=None)
UNTIMED = settings(deadline=None)
WATTS, SECONDS = st.floats(1.0, 3000.0), st.floats(1.0, 7200.0)
MONITORS = st.sampled_from([(300.0, 3.4416), (0.0, 3.6), (250.0, 5.0)])


# --- Units ---


@UNTIMED
@given(WATTS, SECONDS)
def test_pace_and_distance_belong_to_one_power(watts, seconds):
    assert watts_from_pace(pace_from_watts(watts)) == pytest.approx(watts, rel=1e-12)
    metres = metres_in(seconds, watts)
    assert watts_for_metres(metres, seconds) == pytest.approx(watts, rel=1e-12)
    assert 500.0 * seconds / metres == pytest.approx(pace_from_watts(watts), rel=1e-12)


@UNTIMED
@given(WATTS)
def test_half_the_pace_is_eight_times_the_power(watts):
    assert watts_from_pace(0.5 * pace_from_watts(watts)) == pytest.approx(8.0 * watts, rel=1e-12)
    assert pace_from_watts(1.01 * watts) < pace_from_watts(watts)


@UNTIMED
@given(WATTS, SECONDS, SECONDS, MONITORS)
def test_calories_belong_to_one_power_and_add_up(watts, seconds, more, monitor):
    assert watts_from_kcal_per_hour(kcal_per_hour(watts, *monitor), *monitor) == pytest.approx(watts, rel=1e-9)
    kcal = kcal_in(seconds, watts, *monitor)
    assert watts_for_kcal(kcal, seconds, *monitor) == pytest.approx(watts, rel=1e-9)
    assert kcal + kcal_in(more, watts, *monitor) == pytest.approx(kcal_in(seconds + more, watts, *monitor), rel=1e-12)


@UNTIMED
@given(st.floats(1.0, 400.0), st.floats(2.0, 30.0))
def test_a_maximum_and_repetitions_at_a_load_belong_together(load, count):
    assert repetitions_at_load(one_rep_max(load, count), load) == pytest.approx(count, rel=1e-9)
    assert one_rep_max(load, count) > load
    assert repetitions_at_load(one_rep_max(load, count), 0.9 * load) >= count * (1 - 1e-12)


# --- The curve ---


@UNTIMED
@given(st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3), SECONDS, st.floats(1.0, 10.0))
def test_a_longer_effort_has_less_power_and_more_work_and_more_distance(away, seconds, factor):
    theta = np.log([200.0, 15_000.0, 20.0]) + away
    short, long = np.exp(log_power(np.array([seconds, seconds * factor]), theta))
    assert long <= short * (1 + 1e-12)
    assert long * seconds * factor >= short * seconds * (1 - 1e-12)
    assert long > np.exp(theta[0]) * (1 - 1e-12)


# --- Estimates ---


def prior_of_a_room(seed, n=6):
    rng = np.random.default_rng(seed)
    mass, age = (np.where(rng.random(n) < 0.3, np.nan, rng.uniform(*r, n)) for r in ((40.0, 140.0), (16.0, 80.0)))
    return People.of(rng.choice(["male", "female", ""], n), mass, age)


@FEW
@given(st.integers(0, 2**32 - 1), st.integers(0, 3))
def test_without_any_effort_that_stands_the_prior_comes_back(seed, columns):
    # Voided efforts do not reach the arrays, or leave gaps in them
    people = prior_of_a_room(seed)
    gaps = np.full((len(people), columns), np.nan)
    means, covariances = estimate_engines({engine: Efforts(gaps, gaps, gaps) for engine in ENGINES}, people)
    for engine in ENGINES:
        mean, covariance = engine_prior(engine, people)
        assert np.isfinite(mean).all()
        np.testing.assert_allclose(means[engine], mean, atol=1e-12)
        misfit = MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE)
        np.testing.assert_allclose(covariances[engine], covariance + misfit, atol=1e-9)


ABSURD = st.floats(-7.0, 7.0).map(lambda exponent: 10.0**exponent)


@FEW
@given(st.integers(0, 2**32 - 1), st.lists(st.tuples(ABSURD, ABSURD, st.sampled_from(ENGINES)), max_size=6))
def test_absurd_efforts_never_give_anything_that_is_not_a_number(seed, results):
    people = prior_of_a_room(seed, 1)
    efforts = {}
    for engine in {engine for *_, engine in results}:
        watts, seconds = np.array([[(p, t) for p, t, e in results if e == engine]]).transpose(2, 0, 1)
        efforts[engine] = Efforts(watts, seconds, np.full(watts.shape, 0.03))
    means, covariances = estimate_engines(efforts, people)
    for engine in ENGINES:
        assert np.isfinite(means[engine]).all()
        assert (np.linalg.eigvalsh(covariances[engine]) > 0.0).all()
        assert np.isfinite(log_power_sd(60.0, means[engine], covariances[engine])).all()


@FEW
@given(st.lists(ABSURD, min_size=1, max_size=6))
def test_absurd_counts_never_give_anything_that_is_not_a_number(results):
    mean, sd = repetitions.estimate(np.array([results]), 0.08, np.log(12.0), 0.5)
    assert np.isfinite(mean).all()
    assert ((sd > 0.0) & (sd <= 0.5 + 1e-12)).all()


@FEW
@given(st.integers(0, 2**32 - 1), st.floats(20.0, 1200.0), st.floats(-0.3, 0.3))
def test_an_effort_pulls_the_prediction_towards_itself_and_makes_it_surer(seed, seconds, away):
    people = prior_of_a_room(seed)
    mean, covariance = engine_prior("row", people)
    expected = log_power(seconds, mean)
    observed = np.exp(expected + away)[:, None]
    theta, spread = power_duration.estimate(observed, np.full(observed.shape, seconds), 0.03, mean, covariance)
    moved = log_power(seconds, theta) - expected
    assert (moved * np.sign(away) >= -1e-6).all()
    assert (np.abs(moved) <= abs(away) + 1e-6).all()
    assert (log_power_sd(seconds, theta, spread) < log_power_sd(seconds, mean, covariance)).all()


@FEW
@given(st.integers(0, 2**32 - 1))
def test_a_joint_prior_is_a_covariance(seed):
    people = prior_of_a_room(seed)
    mean, covariance = engines_prior(people)
    assert np.isfinite(mean).all()
    np.testing.assert_allclose(covariance, covariance.transpose(0, 2, 1))
    assert (np.linalg.eigvalsh(covariance) > 0.0).all()
