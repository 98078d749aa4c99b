"""The retest list: what it proposes, to whom it does not, and why in words."""

import re
from datetime import timedelta

import numpy as np
import pytest

from athletes.estimates.people import load_people
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Gym, Limitation, Override
from sessions.circuits.freeze import definition_of_document
from sessions.retests.by_test import by_test
from sessions.retests.propose import retest_list
from sessions.retests.worth import changes
from sessions.targets.compute import scaled
from sessions.targets.history import load_history
from sessions.targets.occasion import Occasion
from tests import gym
from tests.retests.one_by_one import change_by_engine, change_by_movement

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(furnished):
    """Six athletes and next week's session: row or bike, pull-ups or ring rows, goblet squats."""
    people = gym.people(6)
    gym.planned_week()
    return people


def the_list():
    return retest_list(Gym.objects.get(), today())


def proposed(found, athlete):
    return [line.benchmark.slug for line in found.lines if line.athlete == athlete]


def test_the_largest_change_comes_first_and_every_test_once_a_person(planned):
    found = the_list()
    gains = [line.gain for line in found.lines]
    assert gains == sorted(gains, reverse=True)
    assert len({(line.athlete.pk, line.benchmark.movement_id) for line in found.lines}) == len(found.lines) > 3


def test_the_day_of_the_last_test_stands_beside_it(planned):
    never = planned[4]
    Effort.objects.filter(athlete=never, benchmark__slug="2000-m-row").delete()
    estimates_refresh()
    lines = {(line.athlete.pk, line.benchmark.slug): line for line in the_list().lines}
    assert lines[never.pk, "2000-m-row"].last is None
    assert lines[never.pk, "2000-m-row"].reason.startswith("Rowing ergometer is in the coming session; ")
    others = [line for (athlete, slug), line in lines.items() if athlete != never.pk and slug != "goblet-squat"]
    assert others
    assert all(line.last == today() - timedelta(days=20) for line in others)


def test_what_nobody_was_tested_on_and_is_planned_comes_first(planned):
    found = the_list()
    squats = [line for line in found.lines if line.benchmark.slug == "goblet-squat"]
    assert squats
    assert found.lines[0].benchmark.slug == "goblet-squat"
    assert all(line.last is None for line in squats)


def test_all_in_one_go_is_the_same_as_one_by_one(planned):
    people, day = load_people([athlete.pk for athlete in planned]), today()
    serializer = gym.CircuitSerializer(data=gym.DOCUMENT)
    serializer.is_valid(raise_exception=True)
    definition = definition_of_document(serializer.validated_data)
    found = scaled(definition, people, load_history(people.athletes, day), Occasion(day))
    where = np.zeros(found.room.allowed.shape[1:], bool)
    where[1, 0] = True  # pull-ups
    engines, movements = changes(found.circuit, found.room, ["row", "bike"], [where])
    for engine, change in zip(["row", "bike"], engines, strict=True):
        assert change == pytest.approx(change_by_engine(found.circuit, found.room, engine))
    assert movements[0] == pytest.approx(change_by_movement(found.circuit, found.room, where))
    assert movements[0].max() > 0.05


def test_an_old_effort_is_worth_more_to_repeat_than_a_fresh_one(planned):
    old, fresh = planned[1], planned[3]
    Effort.objects.filter(athlete__in=[old, fresh], benchmark__slug="pull-ups-unbroken").update(value=15)
    Effort.objects.filter(athlete=old).update(performed_on=today() - timedelta(days=420))
    estimates_refresh()
    lines = [line for line in the_list().lines if line.benchmark.slug == "pull-ups-unbroken"]
    gains = {who.pk: sum(line.gain for line in lines if line.athlete == who) for who in (old, fresh)}
    assert gains[old.pk] > 1.2 * gains[fresh.pk]
    assert any(line.last == today() - timedelta(days=420) for line in lines if line.athlete == old)


def test_nobody_in_the_first_four_weeks_back_goes_all_out(planned):
    back, later = planned[:2]
    Athlete.objects.filter(pk=back.pk).update(returned_on=today() - timedelta(days=27))
    Athlete.objects.filter(pk=later.pk).update(returned_on=today() - timedelta(days=28))
    found = the_list()
    assert not proposed(found, back)
    assert proposed(found, later)
    assert found.waiting == [back]


def test_unless_a_coach_set_that_caution_aside(planned, coach):
    Athlete.objects.filter(pk=planned[0].pk).update(returned_on=today())
    Override.objects.create(
        athlete=planned[0], caution="return", starts_on=today(), ends_on=today(), reason="Trained away.", made_by=coach
    )
    assert proposed(the_list(), planned[0])


def test_a_forbidden_movement_is_not_proposed_and_the_others_are(planned):
    Limitation.objects.create(athlete=planned[1], kind="body", patterns=["squat"], starts_on=today())
    found = proposed(the_list(), planned[1])
    assert "2000-m-row" not in found  # it loads the squat
    assert "pull-ups-unbroken" in found


@pytest.mark.parametrize("kind", ["illness", "pregnancy"])
def test_nobody_spared_as_a_whole_is_proposed(planned, kind):
    Limitation.objects.create(athlete=planned[0], kind=kind, patterns=[], starts_on=today())
    found = the_list()
    assert not proposed(found, planned[0])
    assert found.waiting == [planned[0]]


def test_a_test_that_was_done_today_is_hardly_worth_repeating(planned):
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    Effort.objects.filter(benchmark=pulls).update(performed_on=today() - timedelta(days=400))
    estimates_refresh()
    before = {line.athlete.pk: line.gain for line in the_list().lines if line.benchmark == pulls}
    Effort.objects.create(athlete=planned[1], benchmark=pulls, value=9, typed="9", performed_on=today())
    estimates_refresh(athletes=[planned[1].pk])
    after = {line.athlete.pk: line.gain for line in the_list().lines if line.benchmark == pulls}
    assert after.get(planned[1].pk, 0.0) < 0.7 * before[planned[1].pk]
    assert all(after[pk] == pytest.approx(gain) for pk, gain in before.items() if pk != planned[1].pk)


def test_a_minor_waits_for_a_coach_s_consent(planned, coach):
    minor = planned[0]
    Athlete.objects.filter(pk=minor.pk).update(born=today() - timedelta(days=16 * 365))
    found = the_list()
    assert found.waiting == [minor]
    assert not proposed(found, minor)
    Override.objects.create(
        athlete=minor, caution="no_target", starts_on=today(), ends_on=today(), reason="Parents agree.", made_by=coach
    )
    assert the_list().waiting == []


def test_nothing_planned_and_nobody_there(furnished, coach_client):
    assert "Nothing is planned" in coach_client.get("/retests/").content.decode()
    gym.planned_week()
    assert "No test would change" in coach_client.get("/retests/").content.decode()


def test_the_page_leads_to_a_plan(coach_client, planned):
    page = coach_client.get("/retests/").content.decode()
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    picks = re.search(rf'href="/test-days/new/\?pick=([-,\d]*\b{planned[1].pk}-{pulls.pk}\b[-,\d]*)"', page)[1]
    plan = coach_client.get(f"/test-days/new/?pick={picks}").content.decode()
    assert f'value="{planned[1].pk}-{pulls.pk}"' in plan
    assert plan.count('name="pick"') == len(picks.split(","))
    assert "Plan a test day with the ticked ones" in page


def test_queries_do_not_grow(coach_client, planned, django_assert_num_queries):
    with django_assert_num_queries(38) as first:
        coach_client.get("/retests/")
    gym.people(20)
    gym.planned_week(gym.this_monday() + timedelta(days=7), gym.circuit(), gym.circuit())
    with django_assert_num_queries(len(first)):
        coach_client.get("/retests/")


def test_the_page_says_how_much_and_when_last(coach_client, planned):
    Effort.objects.filter(athlete=planned[1], benchmark__slug="2000-m-row").delete()
    estimates_refresh()
    page = coach_client.get("/retests/").content.decode()
    assert "Doses by about" in page
    assert '<td class="nowrap">never</td>' in page


def test_a_line_a_test_and_at_most_a_screenful(coach_client, planned):
    lines = retest_list(Gym.objects.get(), today()).lines
    tests = by_test(lines, today=today())
    assert len(tests) == len({line.benchmark.pk for line in tests}) <= 10
    assert all(len(line.people) <= 12 for line in tests)
    everyone = {line.athlete.pk for line in lines}
    some = by_test(lines, today=today(), query=planned[1].name.split()[-1])
    assert {one.athlete for line in some for one in line.people} == {planned[1]}
    for shown, fits in (("never", lambda one: one.last is None), ("old", lambda one: one.last is not None)):
        assert all(fits(one) for line in by_test(lines, today=today(), shown=shown) for one in line.people)
    assert everyone
    page = coach_client.get("/retests/", {"q": "nobody at all"}).content.decode()
    assert "No test of anybody like that" in page
