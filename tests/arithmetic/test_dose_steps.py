"""The arithmetic page: from what is written to the dose, and what tires what."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from athletes.models import Athlete
from sessions.arithmetic.read import arithmetic
from sessions.arithmetic.steps import dose_steps
from sessions.models import Target
from sessions.scaling.targets import Reason
from sessions.targets.detail import detail_of
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
    week = gym.planned_week(monday, gym.circuit(), gym.circuit(METRES))
    week.sessions.update(intent="steady")
    publication = publish(week, coach)
    return list(Target.objects.filter(publication=publication).select_related("session", "publication"))


def worked(sum_: str) -> float:
    """What a calculator makes of a sum as it is printed."""
    plain = re.sub(r"([\d.]+) (?:s|kg)\b", r"\1", re.sub(r"([\d.]+) %", r"(\1/100)", sum_))
    return eval(plain.replace("×", "*").replace("÷", "/"))


def test_every_sum_comes_to_what_stands_beside_it_and_the_dose_is_there(targets):
    seen = ""
    for target in targets:
        steps = dose_steps(target)
        if target.rung < 0:
            assert steps == []
            continue
        for step in steps:
            if step.sum:
                assert worked(step.sum) == pytest.approx(float(step.value.split(" ")[0]), rel=0.005), step
        [dose] = [step.value for step in steps if step.words.startswith("the dose")]
        assert float(dose.split(" ")[0]) == target.dose
        seen += " ".join(step.words for step in steps)
    for words in ("possible here alone", "a first time", "week 1 of 4", "all stations together", "a coach can call"):
        assert words in seen, words


def test_what_is_used_adds_up_and_leaves_room(targets):
    """The demand table: a row is the sum over what one set takes, and never above 1 where nothing was set by hand."""
    checked = 0
    for target in targets:
        if target.rung < 0:
            continue
        table = arithmetic(target)
        sets = [float(value) for value in table["sets"]]
        [row] = [row for row in table["demand"] if row.here]
        total = sum(float(cell.value) * taken for cell, taken in zip(row.cells, sets, strict=True))
        assert float(row.total) == pytest.approx(total, abs=0.05)
        assert float(row.total) <= 1.0
        checked += 1
    assert checked > 40


def test_the_page_shows_the_steps_with_units(targets, coach_client):
    target = next(t for t in targets if detail_of(t).week == 1 and t.station == 1 and t.rung == 0)
    page = coach_client.get(reverse("sessions:target", args=[target.pk])).content.decode()
    assert "written for Row" in page
    assert "week 1 of 4" in page
    assert "A steady day: 25 % is to be left in the tank" in page


def test_a_target_of_an_earlier_method_still_opens_with_its_reason(targets, coach_client):
    target = next(t for t in targets if t.rung == 0 and t.station == 1)
    target.detail = {
        "wanted": 13.5, "own_cap": 11.0, "share": 0.9, "most": 13.5, "alone": 11.2, "free": 8.0, "shared": 10.4,
        "whole": 10.0, "bound": "other_station", "bound_by": 2, "swap": "none", "demand": [2.1, 0.3, 0.2],
        "benchmarks": ["2000 m row"], "tested": True,
    }  # fmt: skip
    target.save()
    page = coach_client.get(reverse("sessions:target", args=[target.pk])).content.decode()
    assert "earlier method" in page
    assert detail_of(target).reason == Reason.TOGETHER
    assert detail_of(target).reason_station == 2
