"""The gym's progress: spread, retest coverage, adherence and load by pattern."""

import json
import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Movement
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.progress.gym_read import class_weeks, pattern_sets
from tests import gym
from tests.conftest import publish


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(4)
    publish(gym.planned_week(gym.this_monday() - timedelta(weeks=1)), coach)
    return PublishedSession.objects.get()


def log(athlete: Athlete, session: PublishedSession, slug: str = "pull-up", rounds: int = 5, dose: float = 8) -> Log:
    kept = Log.objects.create(
        key=uuid4(), athlete=athlete, session=session, session_key=session.key, date=session.date, rpe=7,
        source="phone", done_at=timezone.now(),
    )  # fmt: skip
    movement = Movement.objects.get(slug=slug)
    LogEntry.objects.create(
        log=kept, station=2, movement=movement, rounds=rounds, dose=dose, asked_rounds=5, asked_dose=8
    )
    return kept


def mondays() -> list:
    return [gym.this_monday() - timedelta(weeks=1), gym.this_monday()]


def figures(page: str) -> dict[str, dict]:
    found = re.findall(r'<script id="([\w-]+)" type="application/json">(.*?)</script>', page, re.DOTALL)
    return {key: json.loads(text) for key, text in found}


def test_a_visit_counts_once_whether_logged_or_on_the_list(session):
    first, second, *_ = Athlete.objects.all()
    log(first, session)
    for athlete in (first, second):
        Attendance.objects.create(athlete=athlete, session_key=session.key, date=session.date)
    last, this = class_weeks(mondays())
    assert (last.published, last.visits, last.athletes) == (1, 2, 2)
    assert (this.published, this.visits, this.athletes) == (0, 0, 0)


def test_a_set_counts_by_what_was_done_of_it_and_by_involvement(session):
    first, second, *_ = Athlete.objects.all()
    log(first, session)  # five rounds as asked
    log(second, session, rounds=4, dose=4)  # four rounds of half the dose
    sets = pattern_sets(mondays())[session.date]
    assert sets["pull"] == pytest.approx(5 + 2)
    assert sets["grip"] == pytest.approx(0.6 * 7)
    assert sets["squat"] == 0
    Log.objects.filter(athlete=first).update(replaced=True)
    assert pattern_sets(mondays())[session.date]["pull"] == pytest.approx(2)


def test_the_page_shows_the_latest_result_of_everyone_who_is_active(coach_client, session):
    row, athlete = Benchmark.objects.get(slug="2000-m-row"), Athlete.objects.first()
    Effort.objects.create(athlete=athlete, benchmark=row, value=500, fixed=2000, typed="x", performed_on=today())
    Athlete.objects.filter(pk=Athlete.objects.last().pk).update(active=False)
    page = coach_client.get("/progress/", {"benchmark": row.pk}).content.decode()
    assert "3 of 3 active athletes have a result" in page
    drawn = figures(page)["spread"]
    assert sum(drawn["data"][0]["y"]) == 3
    assert [trace["name"] for trace in drawn["data"][1:]] == [
        "120 men, 18 to 24 years: fastest to slowest",
        "71 women, 18 to 24 years: fastest to slowest",
    ]


def test_the_spread_of_then_stands_beside_that_of_now(coach_client, session):
    row, then = Benchmark.objects.get(slug="2000-m-row"), today() - timedelta(days=100)
    Effort.objects.filter(benchmark=row).delete()
    facts = {"benchmark": row, "fixed": 2000, "typed": "x"}
    for athlete, before, now in zip(Athlete.objects.all(), (500, 480, 460), (490, 470, 465), strict=False):
        Effort.objects.create(athlete=athlete, value=before, performed_on=then, **facts)
        Effort.objects.create(athlete=athlete, value=now, performed_on=today(), **facts)
    Effort.objects.create(athlete=gym.people(1, tested=False)[0], value=650, performed_on=today(), **facts)
    page = coach_client.get("/progress/", {"benchmark": row.pk, "then": then + timedelta(days=1)}).content.decode()
    before, now = figures(page)["spread"]["data"][:2]
    assert (before["meta"], sum(before["y"]), now["meta"], sum(now["y"])) == ("before", 3, "bar", 4)
    assert "Of the 3 tested by" in page
    # Who came since makes nobody slower.
    assert "the middle one was 8:00.0 then and is 7:50.0 now." in page
    assert "2 are better; the middle one is 2 % better." in page


def test_from_nothing_to_one_is_better_and_nothing_to_nothing_is_no_worse(coach_client, session):
    pulls, then = Benchmark.objects.get(slug="pull-ups-unbroken"), today() - timedelta(days=100)
    Effort.objects.filter(benchmark=pulls).delete()
    for athlete, now in zip(Athlete.objects.all(), (0, 0, 1), strict=False):
        Effort.objects.create(athlete=athlete, benchmark=pulls, value=0, typed="0", performed_on=then)
        Effort.objects.create(athlete=athlete, benchmark=pulls, value=now, typed="x", performed_on=today())
    page = coach_client.get("/progress/", {"benchmark": pulls.pk, "then": then + timedelta(days=1)}).content.decode()
    assert "and since, 1 is better; the middle one is 0 % better." in page


def test_coverage_counts_recent_efforts_only(coach_client, session):
    Effort.objects.filter(benchmark__slug="pull-ups-unbroken").update(performed_on=today() - timedelta(days=200))
    drawn = figures(coach_client.get("/progress/").content.decode())["coverage"]["data"][0]
    shares = dict(zip(drawn["y"], drawn["x"], strict=True))
    assert (shares["2000 m row"], shares["pull-ups unbroken"]) == (100, 0)


def test_adherence_is_of_the_active(coach_client, session):
    log(Athlete.objects.first(), session)
    drawn = figures(coach_client.get("/progress/").content.decode())["adherence"]["data"][0]
    assert drawn["y"][-2] == pytest.approx(1 / 4)
    assert drawn["y"][-1] is None  # nothing published this week


def test_queries_do_not_grow(coach_client, session, django_assert_max_num_queries):
    for athlete in gym.people(20):
        log(athlete, session)
    coach_client.get("/progress/")
    with django_assert_max_num_queries(21):
        coach_client.get("/progress/")


def test_an_empty_gym_is_told_what_to_do(coach_client, gym_row):
    page = coach_client.get("/progress/").content.decode()
    for sentence in ("No result yet", "No benchmark yet", "No session published", "Nothing logged"):
        assert sentence in page


def test_it_is_for_coaches(staff_client, coach_client, gym_row):
    assert staff_client.get("/progress/").status_code == 403
    assert "/progress/" in coach_client.get("/benchmarks/").content.decode()
    assert "/progress/" not in staff_client.get("/benchmarks/").content.decode()
