"""Priors against what is published about people. The priors are wide on purpose: each check asks whether a published
figure lies well inside, and whether a stated fact of the trade comes out.
"""

import numpy as np
import pytest

from athletes.capacity.best import best_kcal, best_kcal_sd, best_power, best_time_for_distance, best_time_for_kcal
from athletes.capacity.ergometer import pace_from_watts
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.capacity.priors import engine_prior


def prior(engine, sex="", mass=np.nan, age=np.nan):
    mean, cov = engine_prior(engine, People.of(sex, mass, age))
    return mean[0], cov[0]


def standardised(engine, sex, mass, seconds, power, age=np.nan):
    mean, cov = prior(engine, sex, mass, age)
    return (np.log(power) - log_power(seconds, mean)) / log_power_sd(seconds, mean, cov)


def test_untested_members_row_two_kilometres_in_eight_to_nine_minutes():
    # Common practice: a man of 37 and 78 kg on his first day about 8:00 to 8:40
    assert best_time_for_distance("row", 2000.0, prior("row")[0]) == pytest.approx(510.0, abs=5.0)
    assert 480.0 < best_time_for_distance("row", 2000.0, prior("row", "male", 78.0, 37.0)[0]) < 520.0


def test_ski_over_a_kilometre_is_three_seconds_slower_per_500_m():
    row, ski = (best_time_for_distance(engine, 1000.0, prior(engine)[0]) / 2.0 for engine in ("row", "ski"))
    assert ski - row == pytest.approx(3.0, abs=0.5)  # common practice


@pytest.mark.parametrize("kcal", [10.0, 12.0, 15.0])
def test_ski_and_row_sprints_are_about_equal(kcal):
    thetas = (prior(engine)[0] for engine in ("row", "ski"))
    row, ski = (pace_from_watts(best_power(best_time_for_kcal(kcal, theta), theta)) for theta in thetas)
    assert ski == pytest.approx(row, abs=1.0)  # s per 500 m; common practice


def test_the_gap_between_ski_and_row_grows_with_duration():
    seconds = np.array([60.0, 240.0, 600.0, 1200.0])
    ratio = best_power(seconds, prior("ski")[0]) / best_power(seconds, prior("row")[0])
    assert (np.diff(ratio) < 0).all()  # common practice: the smaller muscles tire sooner


def test_trained_athletes_are_within_the_prior_over_half_a_minute():
    # Common practice: trained athletes show 1700 to 2200 kcal/h over half a minute
    mean, cov = prior("row", "male", 82.0, 30.0)
    rate = best_kcal(30.0, mean) * 120.0
    assert 1500.0 < rate < 2000.0
    assert abs(np.log(2200.0 / rate)) < 2.0 * best_kcal_sd(30.0, mean, cov)


@pytest.mark.parametrize(
    ("sex", "mass", "low_s", "high_s"),
    # Slowest and fastest of 120 male and 71 female students: Scand J Med Sci Sports 2003, 13:317–321 (abstract)
    [("male", 80.0, 378.0, 484.0), ("female", 66.0, 437.0, 556.0)],
)
def test_students_two_kilometre_times_are_inside_the_prior(sex, mass, low_s, high_s):
    for seconds in (low_s, high_s):
        watts = 2.80 * (2000.0 / seconds) ** 3
        assert abs(standardised("row", sex, mass, seconds, watts, 21.0)) < 2.5


def test_young_trained_rowers_are_inside_the_prior():
    # Cheng et al. 2012, Eur J Appl Physiol 112:1251–1260: CP 272 ± 30 W, W' 13.2 ± 3.0 kJ
    mean, cov = prior("row", "male", 75.0, 17.7)
    away = (np.log([272.0, 13_230.0]) - mean[:2]) / np.sqrt(np.diag(cov)[:2])
    assert (np.abs(away) < 2.0).all()


def test_recreational_racers_critical_speed_is_inside_the_prior():
    # Smyth & Muniz-Pumares 2020, MSSE 52:2637–2645: mean 3.74 m/s of more than 25 000 runners
    mean, cov = prior("run")
    assert 0.0 < (np.log(3.74) - mean[0]) / np.sqrt(cov[0, 0]) < 1.5


@pytest.mark.parametrize(
    ("sex", "fifth", "median", "ninety_fifth"),
    # Net times of a ten-mile race, adults, 4289 men and 4305 women (mosaicData, TenMileRace)
    [("male", 3857.8, 5235.0, 6906.4), ("female", 4581.2, 5843.0, 7535.8)],
)
def test_ten_mile_finishers_are_inside_the_prior(sex, fifth, median, ninety_fifth):
    for seconds in (fifth, median, ninety_fifth):
        assert abs(standardised("run", sex, np.nan, seconds, 16_093.44 / seconds)) < 2.0
