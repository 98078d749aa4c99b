"""Pace advice on the coach's page: one best effort, sequences, and what was typed wrongly."""

import re

import pytest
from django.urls import reverse

from athletes.capacity.best import best_time_for_distance
from athletes.estimates.people import load_people
from athletes.models import Athlete
from athletes.words import clock
from sessions.pace.forms import SequenceForm
from tests import gym


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1)[0]


def ask(client, athlete: Athlete, legs: str, **more) -> str:
    return client.get(reverse("sessions:pace", args=[athlete.pk]), {"legs": legs, **more}).content.decode()


def test_one_leg_alone_is_the_best_effort(athlete, coach_client):
    page = ask(coach_client, athlete, "2000 m row")
    people = load_people([athlete.pk])
    best = float(best_time_for_distance("row", 2000.0, people.engine_mean["row"])[0])
    assert clock(best) in page
    assert "Even effort" not in page


def test_a_sequence_is_paced_evenly_and_says_what_is_carried_over(athlete, coach_client):
    page = ask(coach_client, athlete, "1000 m run\n1000 m ski", times=3)
    paces = re.findall(r'<span class="figure">(\d:\d\d\.\d per (?:km|500 m))</span>', page)
    assert len(paces) == 6
    assert len(set(paces)) == 2  # the same machine at the same pace in every round
    assert "No effort of Athlete 0000 on running, ski ergometer yet" in page


def test_times_and_calories_and_rests_are_understood(athlete, coach_client):
    page = ask(coach_client, athlete, "2:00 row, rest 1:00\n30 kcal bike", headroom=15)
    assert "2:00 row" in page
    assert "30 kcal bike" in page


@pytest.mark.parametrize(
    ("legs", "message"),
    [
        ("1000 m swim", "does not say what and on what"),
        ("row", "does not say what and on what"),
        ("12 in 0:40 row", "give metres, calories or a time"),
        ("1000 m bike", "bikes do not share one measure of metres"),
        ("2:00 row, rest 12 kcal", "give the rest as a time"),
        ("10 kcal run", "Give a run in metres"),
        ("0 m row", "between 10 and 42195"),
    ],
)
def test_what_cannot_be_paced_says_how_to_write_it(athlete, legs, message):
    form = SequenceForm({"legs": legs})
    assert not form.is_valid()
    assert message in str(form.errors).replace("&#x27;", "'")


def test_only_coaches_see_it(athlete, staff_client):
    assert staff_client.get(reverse("sessions:pace", args=[athlete.pk])).status_code == 403


@pytest.mark.parametrize("rest", ["rest 1:00", "1:00 rest", "Rest: 1:00"])
def test_a_rest_may_have_a_line_of_its_own(rest, athlete):
    form = SequenceForm({"legs": f"2:00 row\n{rest}\n1000 m row, 0:30 rest"})
    assert form.is_valid(), form.errors
    assert [leg.rest_s for leg in form.cleaned_data["sequence"].legs] == [60, 30]


def test_a_rest_before_any_leg_says_so(athlete):
    form = SequenceForm({"legs": "1:00 rest\n2:00 row"})
    assert "a rest comes after one" in str(form.errors)
