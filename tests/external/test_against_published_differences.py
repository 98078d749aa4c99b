"""First guesses by sex, mass and age against what is published of people: each figure lies inside, and the direction
is right. What a source says is named beside it; "from memory" marks a figure that was not looked up again.
"""

import numpy as np
import pytest

from athletes.capacity.movements import Movement, movement_prior
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import engine_prior

UPPER, LOWER, PULL = (0, 1.0, 0, 0, 0.3, 0, 0), (0, 0, 0, 1.0, 0.2, 0, 0), (1.0, 0, 0, 0, 0.3, 0.7, 0)
PUSH_UP = Movement("repetitions", 16.0, 0.6, UPPER)


def guess(movement, sex, mass=np.nan, age=30.0):
    mean, sd = movement_prior(movement, People.of(sex, mass, age))
    return np.exp(mean[0]), sd[0]


@pytest.mark.parametrize(("involvement", "share"), [(UPPER, 0.52), (LOWER, 0.66)])
def test_womens_lifts_as_a_share_of_mens(involvement, share):
    # Miller et al. 1993, Eur J Appl Physiol 66:254–262: 52 % with the upper, 66 % with the lower body (from memory)
    lift = Movement("loaded", 60.0, 0.4, involvement)
    assert guess(lift, "female")[0] / guess(lift, "male")[0] == pytest.approx(share, abs=0.08)


@pytest.mark.parametrize(
    ("age", "low", "high"),
    # Average push-ups of men by decade, a Canadian table (from memory; ages 20–29 agree with the science reference)
    [(25.0, 22.0, 28.0), (35.0, 17.0, 21.0), (45.0, 13.0, 16.0), (55.0, 10.0, 12.0), (65.0, 8.0, 10.0)],
)
def test_average_push_ups_of_men_are_well_inside(age, low, high):
    mean, sd = guess(PUSH_UP, "male", 82.0, age)
    assert abs(np.log(np.sqrt(low * high) / mean)) < 1.0 * sd


def test_push_ups_of_middle_aged_men_at_the_bar():
    # Linnerud (scikit-learn): 20 middle-aged men do 9.45 ± 5.29 chin-ups, median 11.5, from 1 to 17
    mean, sd = guess(Movement("repetitions", 4.0, 0.85, PULL), "male", 80.0, 45.0)
    for shown in (1.0, 11.5, 17.0):
        assert abs(np.log(shown / mean)) < 3.0 * sd
    assert abs(np.log(9.45 / mean)) < 1.0 * sd


def test_the_heavier_do_fewer_chin_ups():
    # Linnerud: r = −0.39 with body mass
    pull_up = Movement("repetitions", 4.0, 0.8, PULL)
    assert guess(pull_up, "male", 95.0)[0] < 0.9 * guess(pull_up, "male", 75.0)[0]


@pytest.mark.parametrize("engine", ["row", "ski", "bike", "run"])
def test_engines_fall_by_about_a_tenth_a_decade(engine):
    # Maximal oxygen uptake, Kaminsky et al. 2015, Mayo Clin Proc 90:1515–1523: −10 % a decade
    means = engine_prior(engine, People.of("male", 82.0, [40.0, 50.0, 60.0]))[0]
    np.testing.assert_allclose(np.diff(log_power(300.0, means)), np.log(0.9), atol=0.03)


def test_masters_rowers_at_fifty_against_thirty_five():
    # Rankings over 2000 m lose 2 to 4 % of time from 35 to 50 (common practice): power three times as much
    means = engine_prior("row", People.of("male", 82.0, [35.0, 50.0]))[0]
    assert 0.06 < -np.diff(log_power(450.0, means))[0] < 0.16


def test_women_rowers_take_a_seventh_longer_over_two_kilometres():
    # 120 male and 71 female students: Scand J Med Sci Sports 2003, 13:317–321 (midpoints 431 and 496.5 s; abstract)
    means = engine_prior("row", People.of(["male", "female"], [80.0, 66.0], 21.0))[0]
    assert -np.diff(log_power(460.0, means))[0] == pytest.approx(3.0 * np.log(496.5 / 431.0), abs=0.05)


def test_ten_mile_finishers_by_sex():
    # Medians of 4289 men and 4305 women: 5235 and 5843 s (mosaicData, TenMileRace)
    means = engine_prior("run", People.of(["male", "female"], np.nan, 30.0))[0]
    assert -np.diff(log_power(1200.0, means))[0] == pytest.approx(np.log(5843.0 / 5235.0), abs=0.03)
