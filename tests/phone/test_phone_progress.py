"""What an athlete sees of their own way: bests, what was done of what was asked, the load of the weeks."""

import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Benchmark, Effort
from sessions.logs.write import log_write
from sessions.models import PublishedSession
from sessions.progress.read import WEEKS, Done, histories, sessions_done, share_done, week_loads
from tests import gym
from tests.conftest import publish
from tests.phones import at, open_page, phone_of


@pytest.fixture
def athlete(furnished, coach) -> Athlete:
    gym.people(2)
    monday = gym.this_monday() - timedelta(days=7)
    publish(gym.planned_week(monday, gym.circuit(), gym.circuit()), coach, day=monday)
    return Athlete.objects.first()


def log(athlete: Athlete, session: PublishedSession, rpe, rounds: int) -> None:
    targets = session.targets.filter(athlete=athlete, rung__gte=0)
    entries = [{"station": t.station, "rounds": rounds, "dose": t.dose, "load_kg": None} for t in targets]
    said = {"key": uuid4(), "rpe": rpe, "pain": False, "stopped": False, "note": "", "entries": entries}
    moment = datetime(2026, 11, 25, 8, tzinfo=UTC)
    log_write(athlete=athlete, session=session, content={**said, "done_at": moment}, source="phone")


def page_of(athlete: Athlete) -> str:
    return open_page(link_issue(athlete=athlete, by=None), "phone-progress").content.decode()


def test_the_load_is_rpe_times_minutes_with_the_rests(athlete):
    first, second = PublishedSession.objects.order_by("date")
    log(athlete, first, 7, 5)
    log(athlete, second, None, 5)
    done = sessions_done(athlete, today())
    assert [one.minutes for one in done] == [15, 15]  # 3 stations × 5 rotations × 60 s
    assert [one.load for one in done] == [105, None]
    weeks = week_loads(done, today())
    assert len(weeks) == WEEKS
    assert [(week.load, week.sessions, week.unrated) for week in weeks[-2:]] == [(105, 2, 1), (None, 0, 0)]


def test_the_share_done_counts_every_station_alike_and_leaves_out_what_asked_for_nothing(athlete):
    entry = lambda rounds, dose, asked: SimpleNamespace(  # noqa: E731
        rounds=rounds, dose=dose, asked_rounds=5, asked_dose=asked
    )
    assert share_done([entry(5, 10, 10), entry(5, 5, 10)]) == 0.75
    assert share_done([entry(5, 10, 10), entry(0, 0, 0)]) == 1.0
    assert share_done([]) is None


def test_a_week_without_an_rpe_has_no_load_instead_of_none(athlete):
    done = [Done(today(), "Mill race", None, 15, 1.0)]
    assert week_loads(done, today())[-1].load is None


def test_bests_are_the_fastest_and_the_most_up_to_their_day(athlete):
    Effort.objects.filter(athlete=athlete).delete()
    row = Benchmark.objects.get(slug="2000-m-row")
    squat = Benchmark.objects.get(slug="goblet-squat")
    for ago, seconds in ((300, 440), (200, 450), (100, 430)):
        Effort.objects.create(
            athlete=athlete, benchmark=row, value=seconds, fixed=2000, typed="x", performed_on=today() - timedelta(ago)
        )
    for ago, kilograms, repetitions in ((300, 60, 1), (100, 55, 5)):
        day = today() - timedelta(ago)
        facts = {"value": kilograms, "repetitions": repetitions, "typed": "x", "performed_on": day}
        Effort.objects.create(athlete=athlete, benchmark=squat, **facts)
    found = {history.benchmark.slug: [mark.best for mark in history.marks] for history in histories(athlete)}
    assert found == {"2000-m-row": [True, False, True], "goblet-squat": [True, True]}


def test_the_page_shows_numbers_beside_every_drawing(athlete):
    log(athlete, PublishedSession.objects.earliest("date"), 7, 4)
    page = page_of(athlete)
    assert page.count("<svg") <= page.count("<table")
    assert '<b class="figure">105</b>' in page
    assert '<b class="figure">80 %</b>' in page
    assert "<dt>Doing what is asked?</dt><dd><strong>Mostly</strong></dd>" in page


def test_who_must_not_go_all_out_is_not_told_what_is_within_reach(athlete):
    assert "What next?" in page_of(athlete)
    athlete.limitations.create(kind="pregnancy", patterns=["jump"], starts_on=today())
    page = page_of(athlete)
    assert "Doing what is asked?" in page
    assert not re.search("What next|within reach|Test it again|With caution", page)


def test_before_the_first_log_and_test_it_says_what_to_do(furnished):
    [athlete] = gym.people(1, tested=False)
    page = page_of(athlete)
    assert "Log a session with how hard it was" in page
    assert "Log one" in page
    assert "Ask staff for a test" in page
    assert "<svg" not in page


def test_it_costs_the_same_however_much_was_logged(athlete, django_assert_max_num_queries):
    link = link_issue(athlete=athlete, by=None)
    client, address = phone_of(link), at(link, "phone-progress")
    for session in PublishedSession.objects.all():
        log(athlete, session, 6, 5)
    with django_assert_max_num_queries(17):
        client.get(address)
    row, then = Benchmark.objects.get(slug="2000-m-row"), today() - timedelta(days=400)
    for ago in range(9):
        facts = {"value": 480 + ago, "fixed": 2000, "typed": "x", "performed_on": then - timedelta(days=ago)}
        Effort.objects.create(athlete=athlete, benchmark=row, **facts)
    with django_assert_max_num_queries(26):  # the curves of today and of a year ago are worked out anew
        page = client.get(address).content.decode()
    assert "Rowing ergometer +" in page
