"""The arithmetic page: from what is written to the dose, so that a calculator finds the same."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from athletes.models import Athlete, Gym
from sessions.models import Target
from sessions.words.steps import dose_steps
from tests import gym
from tests.conftest import publish

METRES = {
    "name": "Long race",
    "interval_s": 60,
    "rotations": 8,
    "stations": [
        {"work_window_s": 50, "options": [{"movement": "row", "dose_kind": "metres", "dose": 280}]},
        {"work_window_s": 50, "options": [{"movement": "bike", "dose_kind": "kcal", "dose": 20}]},
        {"work_window_s": 50, "options": [{"movement": "pull-up", "dose_kind": "repetitions", "dose": 20}]},
    ],
}


@pytest.fixture
def targets(furnished, coach) -> list[Target]:
    """A steady day for everybody there is: strong, weak, untested, new and back from a break."""
    gym.people(12)
    gym.people(1, tested=False)
    monday = gym.this_monday() + timedelta(days=7)
    for number, athlete in enumerate(Athlete.objects.order_by("pk")[:4]):
        athlete.joined_on = monday - timedelta(days=7 * number)
        athlete.save()
    Gym.objects.update(intent_steady=0.9)
    week = gym.planned_week(monday, gym.circuit(), gym.circuit(METRES))
    week.sessions.update(intent="steady")
    publication = publish(week, coach)
    return list(Target.objects.filter(publication=publication).select_related("session", "publication"))


def worked(sum_: str) -> float:
    """What a calculator makes of a sum as it is printed."""
    plain = re.sub(r"([\d.]+) %", r"(\1/100)", sum_)
    plain = re.sub(r"∛(\(.*\))$", r"\1**(1/3)", plain.replace("³", "**3"))
    return eval(plain.replace("×", "*").replace("÷", "/").replace("−", "-"))


def test_every_sum_comes_to_what_stands_beside_it_and_the_last_to_the_dose(targets):
    seen = ""
    for target in targets:
        steps = dose_steps(target)
        if target.rung < 0:
            assert steps == []
            continue
        values = [float(step.value.split(" ")[0]) for step in steps if not step.words.startswith("load")]
        assert values[-1] == target.dose
        assert values == sorted(values, reverse=True), steps
        for step in steps:
            assert re.fullmatch(r"[\d.]+ (kcal|m|s|kg|repetitions?)", step.value)
            if step.sum:
                floored = "rounded down" in step.words
                value = float(step.value.split(" ")[0])
                unit = 5 if floored and step.value.endswith(" m") else 1
                off = worked(step.sum) - value
                assert (
                    (-1.01 * unit < -off <= 0.02 or value == unit) if floored else abs(off) < max(0.03, value / 400)
                ), step
        # Between the last two lines nothing but what was said happens.
        assert values[-2] == values[-1]
        seen += " ".join(step.words for step in steps)
    for words in (
        "a steady day asks for 90 % of it",
        "untested",
        "week 1 of 4",
        "rest 4 times",
        "fair share",
        "critical",
    ):
        assert words in seen, words


def test_the_page_shows_the_steps_with_units(targets, coach_client):
    target = next(t for t in targets if t.detail["bound"] == "return" and t.station == 1)
    page = coach_client.get(reverse("sessions:target", args=[target.pk])).content.decode()
    assert "written for Row" in page
    assert "week 1 of 4" in page
    assert "90 % × 15" in page
    assert "A steady day asks for 90 % of what is written (15 kcal): 13.5." in page


def test_a_target_published_before_the_steps_were_kept_still_opens(targets, coach_client):
    target = targets[0]
    for name in ("most", "alone", "free", "shared", "whole"):
        del target.detail[name]
    target.save()
    page = coach_client.get(reverse("sessions:target", args=[target.pk]))
    assert "published before the steps" in page.content.decode()
