"""The retest list: what it proposes, to whom it does not, and why in words."""

from datetime import timedelta

import pytest

from athletes.estimates.knowledge import load_knowledge
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Gym, Limitation, Override
from sessions.retests.propose import retest_list
from sessions.retests.words import reason_for
from tests import gym

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


def test_what_nobody_was_tested_on_and_is_planned_comes_first(planned):
    found = the_list()
    assert {line.benchmark.slug for line in found.lines[:6]} == {"goblet-squat"}
    gains = [line.gain for line in found.lines]
    assert gains == sorted(gains, reverse=True)
    assert found.lines[0].reason.startswith("Goblet squat is in the coming session; nothing was ever tested there: ")


def test_an_old_effort_is_worth_more_to_repeat_than_a_fresh_one(planned):
    old, fresh = planned[:2]
    Effort.objects.filter(athlete=old).update(performed_on=today() - timedelta(days=420))
    estimates_refresh(athletes=[old.pk])
    lines = [line for line in the_list().lines if line.benchmark.movement.engine == "row"]
    gains = {who.pk: sum(line.gain for line in lines if line.athlete == who) for who in (old, fresh)}
    assert gains[old.pk] > 1.3 * gains[fresh.pk]
    assert any("the last effort was 13 months ago" in line.reason for line in lines if line.athlete == old)


def test_nobody_in_the_first_two_weeks_back_goes_all_out(planned):
    back, later = planned[:2]
    Athlete.objects.filter(pk=back.pk).update(returned_on=today() - timedelta(days=13))
    Athlete.objects.filter(pk=later.pk).update(returned_on=today() - timedelta(days=14))
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
    Limitation.objects.create(athlete=planned[0], kind="body", patterns=["squat"], starts_on=today())
    found = proposed(the_list(), planned[0])
    assert "goblet-squat" not in found
    assert "2000-m-row" not in found  # it loads the squat too
    assert "pull-ups-unbroken" in found


@pytest.mark.parametrize("kind", ["illness", "pregnancy"])
def test_nobody_spared_as_a_whole_is_proposed(planned, kind):
    Limitation.objects.create(athlete=planned[0], kind=kind, patterns=[], starts_on=today())
    found = the_list()
    assert not proposed(found, planned[0])
    assert found.waiting == [planned[0]]


def test_a_test_that_was_done_today_is_not_worth_repeating(planned):
    squat = Benchmark.objects.get(slug="goblet-squat")
    before = {line.athlete.pk: line.gain for line in the_list().lines if line.benchmark == squat}
    Effort.objects.create(
        athlete=planned[0], benchmark=squat, value=60, repetitions=3, typed="60x3", performed_on=today()
    )
    estimates_refresh(athletes=[planned[0].pk])
    after = {line.athlete.pk: line.gain for line in the_list().lines if line.benchmark == squat}
    assert after.get(planned[0].pk, 0.0) < 0.2 * before[planned[0].pk]
    assert after[planned[1].pk] == pytest.approx(before[planned[1].pk])


def test_what_is_known_jointly_agrees_with_what_is_stored(planned):
    knowledge = load_knowledge(list(Athlete.objects.order_by("pk")), today())
    for row, athlete in enumerate(knowledge.athletes):
        for estimate in athlete.estimates.all():
            own = knowledge.own(estimate.engine or estimate.movement_id)
            assert knowledge.mean[row, own] == pytest.approx(estimate.mean, abs=1e-6)
            for stored, joint in zip(estimate.covariance, knowledge.covariance[row, own, own], strict=True):
                assert joint == pytest.approx(stored, rel=1e-4, abs=1e-8)


def test_nothing_planned_and_nobody_there(furnished, coach_client):
    assert "Nothing is planned" in coach_client.get("/retests/").content.decode()
    gym.planned_week()
    assert "No test would make" in coach_client.get("/retests/").content.decode()


def test_the_page_leads_to_a_plan(coach_client, planned):
    page = coach_client.get("/retests/").content.decode()
    squat = Benchmark.objects.get(slug="goblet-squat")
    assert f'value="{planned[0].pk}-{squat.pk}"' in page
    assert "Plan a test day with the ticked ones" in page


def test_queries_do_not_grow(coach_client, planned, django_assert_num_queries):
    with django_assert_num_queries(29) as first:
        coach_client.get("/retests/")
    gym.people(20)
    gym.planned_week(gym.this_monday() + timedelta(days=7), gym.circuit(), gym.circuit())
    with django_assert_num_queries(len(first)):
        coach_client.get("/retests/")


@pytest.mark.parametrize(
    ("share", "words"), [(0.05, "slightly surer"), (1 / 3, "about a third surer"), (0.5, "about twice as sure")]
)
def test_how_much_surer_in_words(share, words):
    reason = reason_for("rowing ergometer", 4, 6, "14 months ago", "Row 2000 m", share)
    assert reason == (
        "Rowing ergometer is in 4 of the coming 6 sessions; the last effort was 14 months ago: "
        f"Row 2000 m would make those targets {words}."
    )
