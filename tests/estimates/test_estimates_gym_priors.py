"""First guesses that learn from the gym."""

from datetime import timedelta

import numpy as np
import pytest

from athletes.capacity.priors import PUBLISHED
from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.people import engine_centre, load_people
from athletes.gym.read import today
from athletes.models import Benchmark, Effort, Estimate, Gym
from athletes.tasks import refresh
from tests import gym

ROW, RUN = 0, 3


def weak_rowers(count):
    """Athletes of known sex and mass who row 2000 m with about 20 % less power than the published centre."""
    athletes = gym.people(count, tested=False)
    rng, day = np.random.default_rng(5), today() - timedelta(days=20)
    row = Benchmark.objects.get(slug="2000-m-row")
    for n, athlete in enumerate(athletes):
        centre = 2.80 * (2000.0 / 480.0) ** 3 * np.exp((-0.2 if n % 2 else 0.2) + 0.6 * np.log((60 + n % 40) / 75))
        watts = 0.8 * centre * np.exp(0.15 * rng.normal())
        seconds = float(2000.0 / np.cbrt(watts / 2.80))
        Effort.objects.create(athlete=athlete, benchmark=row, value=seconds, fixed=2000, typed="-", performed_on=day)
    return athletes


@pytest.fixture
def newcomer(furnished):
    return gym.people(1, tested=False)[0]


def first_guess(athlete):
    return load_people([athlete.pk]).engine_mean["row"][0]


def test_a_weaker_gym_lowers_a_newcomers_first_guess(newcomer):
    before = first_guess(newcomer)
    weak_rowers(40)
    gym_priors_refresh()
    moved = first_guess(newcomer) - before
    assert 0.5 * np.log(0.8) > moved[0] > 1.2 * np.log(0.8)
    assert Gym.objects.get().priors["engines"]["row"]["athletes"] == 40


def test_five_athletes_move_nothing(newcomer):
    before = first_guess(newcomer)
    weak_rowers(5)
    assert gym_priors_refresh()["engines"] == {}
    np.testing.assert_array_equal(first_guess(newcomer), before)


def test_an_engine_nobody_was_tested_on_keeps_its_centre(furnished):
    weak_rowers(20)
    gym_priors_refresh()
    centre = engine_centre()
    assert centre.log_mean[ROW, 0] < PUBLISHED.log_mean[ROW, 0]
    np.testing.assert_array_equal(centre.log_mean[RUN], PUBLISHED.log_mean[RUN])


def test_what_another_method_learnt_is_not_used(furnished):
    learnt = {"method_version": "0", "engines": {"row": {"shift": [1, 1, 1], "log_sd": [1, 1, 1]}}}
    Gym.objects.update(priors=learnt)
    assert engine_centre() is PUBLISHED


def test_every_night_the_gym_is_learnt_before_the_estimates(furnished):
    weak_rowers(20)
    refresh()
    before = dict(Estimate.objects.filter(engine="bike").values_list("athlete_id", "mean"))
    Gym.objects.update(priors={})
    refresh()
    assert dict(Estimate.objects.filter(engine="bike").values_list("athlete_id", "mean")) == before
    assert Gym.objects.get().priors["as_of"] == today().isoformat()


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished, django_assert_max_num_queries):
    for count in (20, 60):
        weak_rowers(count)
        with django_assert_max_num_queries(5):
            gym_priors_refresh()
