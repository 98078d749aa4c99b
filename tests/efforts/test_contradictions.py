"""Efforts that contradict each other are named to staff; nothing is refused, and the estimate stays near the others."""

from datetime import date, timedelta

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.capacity.movements import CURVE_SCALE
from athletes.efforts.contradictions import results_to_check
from athletes.efforts.write import effort_void
from athletes.estimates.write import estimates_refresh
from athletes.models import Athlete, Benchmark, Effort, Estimate, Movement
from tests import gym

TODAY = date(2026, 11, 25)
# Metres and seconds of one rower: critical power 200 W, W' 15 kJ, ramp 20 s.
TRUE = {500: 100.4, 1000: 216.6, 2000: 462.0, 5000: 1229.6}


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1, tested=False)[0]


@pytest.fixture
def rows(furnished) -> dict[int, Benchmark]:
    movement = Movement.objects.get(slug="row")
    return {
        metres: Benchmark.objects.get_or_create(
            slug=f"{metres}-m-row",
            defaults={
                "name": f"{metres} m row", "movement": movement, "measure": "time_for_distance", "fixed": metres
            },
        )[0]
        for metres in TRUE
    }  # fmt: skip


def add(athlete: Athlete, benchmark: Benchmark, value: float, *, days=10) -> Effort:
    return Effort.objects.create(
        athlete=athlete,
        benchmark=benchmark,
        value=value,
        fixed=benchmark.fixed,
        typed=str(value),
        performed_on=TODAY - timedelta(days=days),
    )


def checks(*athletes: Athlete) -> list:
    estimates_refresh(athletes=[athlete.pk for athlete in athletes], as_of=TODAY)
    return results_to_check([athlete.pk for athlete in athletes], TODAY)


def critical_power(athlete: Athlete) -> float:
    return float(np.exp(Estimate.objects.get(athlete=athlete, engine="row").mean[0]))


def test_results_that_fit_together_raise_nothing(athlete, rows):
    for metres, seconds in TRUE.items():
        add(athlete, rows[metres], seconds)
    assert checks(athlete) == []


@pytest.mark.parametrize("moved", [-0.3, 0.3])
def test_what_logs_have_moved_makes_no_result_odd(athlete, rows, moved):
    for metres, seconds in TRUE.items():
        add(athlete, rows[metres], seconds)
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    for value in (10, 11, 10):
        add(athlete, pulls, value)
    assert checks(athlete) == []
    for estimate in Estimate.objects.filter(athlete=athlete, efforts__gt=0):
        along = CURVE_SCALE if len(estimate.mean) == 3 else np.ones(1)
        estimate.mean, estimate.adjustment = list(estimate.mean + moved * along), moved
        estimate.save()
    assert results_to_check([athlete.pk], TODAY) == []


def test_one_absurd_result_among_four_is_named_and_hardly_moves_the_estimate(athlete, rows):
    for metres, seconds in TRUE.items():
        add(athlete, rows[metres], seconds)
    checks(athlete)
    before = critical_power(athlete)
    wrong = add(athlete, rows[500], 62.0, days=8)
    found = checks(athlete)
    assert [check.effort for check in found] == [wrong]
    assert "500 m row, 1:02.0, of 17 Nov 2026" in found[0].sentence
    assert "better" in found[0].sentence
    assert critical_power(athlete) == pytest.approx(before, rel=0.03)


def test_a_longer_effort_at_more_power_than_a_shorter_one_is_named_with_it(athlete, rows):
    add(athlete, rows[500], 108.0)
    add(athlete, rows[2000], 400.0)
    sentence = checks(athlete)[0].sentence
    assert "nobody holds more power for longer" in sentence
    assert "500 m row" in sentence and "2000 m row" in sentence  # noqa: PT018


def test_repetitions_far_from_the_others_are_named(athlete):
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    for value in (10, 11, 10):
        add(athlete, pulls, value)
    wrong = add(athlete, pulls, 40, days=3)
    assert [check.effort for check in checks(athlete)] == [wrong]


def test_only_voided_efforts_leave_the_first_guess_and_nothing_to_check(athlete, rows):
    estimates_refresh()
    guess = critical_power(athlete)
    effort = add(athlete, rows[2000], 450)
    effort_void(effort=effort, reason="wrong person", by=None)
    assert checks(athlete) == []
    assert critical_power(athlete) == pytest.approx(guess)
    assert not any(estimate.efforts for estimate in Estimate.objects.filter(athlete=athlete))


def test_staff_see_it_on_the_athletes_page_and_on_the_list(athlete, rows, staff_client):
    add(athlete, rows[500], 108.0)
    add(athlete, rows[2000], 400.0)
    estimates_refresh(athletes=[athlete.pk])
    pages = (reverse("athletes:detail", args=[athlete.pk]), reverse("athletes:checks"))
    for address in pages:
        assert "nobody holds more power for longer" in staff_client.get(address).content.decode()
    athlete.leave_from, athlete.active = TODAY, False  # away for now
    athlete.save()
    for address in pages:
        assert "nobody holds more power for longer" in staff_client.get(address).content.decode()


def test_the_number_of_queries_does_not_grow(furnished):
    counts = []
    for more in (2, 30):
        gym.people(more)
        with CaptureQueriesContext(connection) as queries:
            results_to_check(list(Athlete.objects.values_list("pk", flat=True)), TODAY)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 10
