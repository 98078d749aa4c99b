"""First guesses that learn from the gym."""

from datetime import timedelta

import numpy as np
import pytest

from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import PUBLISHED, engine_prior
from athletes.efforts.write import effort_record
from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.library import learnt
from athletes.estimates.people import facts_of, load_people
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Estimate, Gym, Movement
from athletes.tasks import refresh
from tests import gym

ROW, RUN = 0, 3


def weak_rowers(count):
    """Athletes of known sex and mass who row 2000 m with about 20 % less power than the published centre."""
    athletes = gym.people(count, tested=False)
    rng, day = np.random.default_rng(5), today() - timedelta(days=20)
    row = Benchmark.objects.get(slug="2000-m-row")
    centres, _ = engine_prior("row", facts_of(athletes, day))
    for athlete, centre in zip(athletes, centres, strict=True):
        watts = 0.8 * np.exp(log_power(500.0, centre) + 0.15 * rng.normal())
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
    moved = log_power(500.0, first_guess(newcomer)) - log_power(500.0, before)  # over about 2000 m
    assert 0.5 * np.log(0.8) > moved > 1.2 * np.log(0.8)
    assert Gym.objects.get().priors["engines"]["row"]["athletes"] == 40


def test_five_athletes_move_nothing(newcomer):
    before = first_guess(newcomer)
    weak_rowers(5)
    assert gym_priors_refresh()["engines"] == {}
    np.testing.assert_array_equal(first_guess(newcomer), before)


def test_an_engine_nobody_was_tested_on_keeps_its_centre(furnished):
    weak_rowers(20)
    gym_priors_refresh()
    centre = learnt().centre
    assert centre.log_mean[ROW, 0] < PUBLISHED.log_mean[ROW, 0]
    np.testing.assert_array_equal(centre.log_mean[RUN], PUBLISHED.log_mean[RUN])


def test_what_another_method_learnt_is_not_used(furnished):
    engines = {"row": {"shift": [1, 1, 1], "log_sd": [1, 1, 1]}}
    Gym.objects.update(priors={"method_version": "0", "engines": engines, "model": {"engine_model_sd": 1.0}})
    assert learnt().model == {}
    assert learnt().centre is PUBLISHED


def test_every_night_the_gym_is_learnt_before_the_estimates(furnished):
    weak_rowers(20)
    refresh()
    before = dict(Estimate.objects.filter(engine="bike").values_list("athlete_id", "mean"))
    Gym.objects.update(priors={})
    refresh()
    assert dict(Estimate.objects.filter(engine="bike").values_list("athlete_id", "mean")) == before
    assert Gym.objects.get().priors["as_of"] == today().isoformat()


def test_the_middle_of_the_room_and_what_logs_have_taught_outlive_the_night(furnished):
    weak_rowers(20)
    refresh()
    Gym.objects.update(priors={**Gym.objects.get().priors, "model": {"engine_model_sd": 0.08}})
    middle = Gym.objects.get().priors["fitness"]
    fitness = dict(Athlete.objects.values_list("pk", "fitness"))
    assert max(fitness.values()) > 1 > -1 > min(fitness.values())
    refresh()
    assert Gym.objects.get().priors["fitness"]["centre"] == pytest.approx(middle["centre"])
    assert dict(Athlete.objects.values_list("pk", "fitness")) == pytest.approx(fitness)
    assert learnt().model == {"engine_model_sd": 0.08}
    assert set(learnt().fitness) == {"centre", "spread", "of_all", "movements"}
    one = Athlete.objects.order_by("fitness").first()
    estimates_refresh(athletes=[one.pk])  # alone, in the same room
    one.refresh_from_db()
    assert one.fitness == pytest.approx(fitness[one.pk], abs=1e-6)


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished, django_assert_max_num_queries):
    for count in (20, 60):
        weak_rowers(count)
        with django_assert_max_num_queries(9):
            gym_priors_refresh()


def test_who_is_refreshed_without_the_others_stays_where_the_room_put_them(furnished):
    gym.people(30)
    *_, strong = Athlete.objects.order_by("fitness")
    before = strong.fitness
    assert abs(before) > 0.1
    estimates_refresh(athletes=[strong.pk])
    strong.refresh_from_db()
    assert strong.fitness == pytest.approx(before)
    Movement.objects.create(name="Step-up", slug="step-up", kind="repetitions", involvement={"squat": 1})
    estimates_refresh(athletes=[strong.pk])  # before everyone was compared in the new movement too
    strong.refresh_from_db()
    assert strong.fitness == pytest.approx(before)
    weakest = dict(Athlete.objects.order_by("fitness").values_list("pk", "fitness")[:12])
    estimates_refresh(athletes=weakest)  # as an import does
    assert dict(Athlete.objects.filter(pk__in=weakest).values_list("pk", "fitness")) == pytest.approx(weakest)


def test_a_first_result_moves_its_athlete_in_a_room_that_came_as_a_whole(furnished, coach):
    everyone = gym.people(12, tested=False)
    estimates_refresh(athletes=[athlete.pk for athlete in everyone])  # as a typed list of people does
    strong = everyone[0]
    strong.refresh_from_db()
    facts = {"benchmark": Benchmark.objects.get(slug="2000-m-row"), "performed_on": today(), "by": coach}
    effort_record(athlete=strong, typed="6:20", confirmed=True, **facts)
    before, strong = strong.fitness, Athlete.objects.get(pk=strong.pk)
    assert strong.fitness > before + 0.5


@pytest.mark.parametrize(("typed", "low", "high"), [("6:30", 0.5, 1.5), ("9:30", -1.5, -0.4)])
def test_the_first_who_is_tested_among_names_alone_stands_where_a_usual_gym_would_put_them(
    furnished, coach, typed, low, high
):
    everyone = gym.people(12, tested=False)
    Athlete.objects.update(sex="", body_mass_kg=None)  # first guesses are one and the same
    estimates_refresh(athletes=[athlete.pk for athlete in everyone])
    facts = {"benchmark": Benchmark.objects.get(slug="2000-m-row"), "performed_on": today(), "by": coach}
    effort_record(athlete=everyone[0], typed=typed, confirmed=True, **facts)
    at_once = Athlete.objects.get(pk=everyone[0].pk).fitness
    refresh()
    after_a_night = Athlete.objects.get(pk=everyone[0].pk).fitness
    assert low < at_once < high
    assert after_a_night == pytest.approx(at_once, abs=0.1)


def test_a_handful_is_no_room_that_others_are_held_against(furnished):
    gym.people(3)
    assert "fitness" not in Gym.objects.get().priors
    assert any(Athlete.objects.values_list("fitness", flat=True))
