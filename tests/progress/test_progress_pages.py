"""An athlete's progress: curves of two days, benchmarks with what is expected, what was done, load by week."""

import json
import re
from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.efforts.write import effort_record
from athletes.estimates.people import people_of
from athletes.estimates.read import numbers_of
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Estimate, Evidence
from athletes.people.curves import curve_of
from athletes.people.past import curves_on
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.progress.benchmarks import predicted
from sessions.progress.read import done_between
from sessions.progress.training import daily_loads, training_weeks
from tests import gym
from tests.conftest import publish


def record(athlete: Athlete, slug: str, typed: str, days_ago: int) -> Effort:
    return effort_record(
        athlete=athlete, benchmark=Benchmark.objects.get(slug=slug), typed=typed,
        performed_on=today() - timedelta(days=days_ago), by=None, confirmed=True,
    )  # fmt: skip


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1)[0]


@pytest.fixture
def session(athlete, coach) -> PublishedSession:
    publish(gym.planned_week(gym.this_monday() - timedelta(weeks=1)), coach)
    return PublishedSession.objects.get()


def log(athlete: Athlete, session: PublishedSession, rpe: float | None = 7, share: float = 1.0, day=None) -> Log:
    kept = Log.objects.create(
        key=uuid4(), athlete=athlete, session=session, session_key=session.key, date=day or session.date, rpe=rpe,
        source="phone", done_at=timezone.now(),
    )  # fmt: skip
    LogEntry.objects.create(log=kept, station=1, rounds=5, dose=10 * share, asked_rounds=5, asked_dose=10)
    return kept


def address(athlete: Athlete) -> str:
    return reverse("sessions:progress-athlete", args=[athlete.pk])


def figures(page: str) -> dict[str, dict]:
    found = re.findall(r'<script id="([\w-]+)" type="application/json">(.*?)</script>', page, re.DOTALL)
    return {key: json.loads(text) for key, text in found}


def test_the_curve_of_an_earlier_day_knows_only_what_was_done_by_then(athlete):
    record(athlete, "2000-m-row", "8:00", days_ago=500)
    before = Estimate.objects.count()
    then = curves_on(athlete, today() - timedelta(days=400))["row"]
    now = curve_of(athlete, "row", today())
    assert now.at(np.array([420.0]))[0] > then.at(np.array([420.0]))[0]  # 7:00 of late, 8:00 then
    assert curves_on(athlete, today() - timedelta(days=600)) == {}
    assert Estimate.objects.count() == before


def test_the_curve_of_today_made_anew_is_the_one_that_is_kept(athlete):
    estimates_refresh(athletes=[athlete.pk])
    kept, made = curve_of(athlete, "row", today()), curves_on(athlete, today())["row"]
    assert made.theta == pytest.approx(kept.theta)
    assert made.covariance == pytest.approx(kept.covariance)


def test_what_logs_took_off_the_doses_makes_nobody_less_fit(coach_client, athlete):
    record(athlete, "2000-m-row", "7:00", days_ago=400)
    page = coach_client.get(address(athlete)).content.decode()
    steps = [Evidence(athlete=athlete, source=uuid4(), station=1, engine="row", step=-0.1, performed_on=today())]
    Evidence.objects.bulk_create(steps)
    estimates_refresh(athletes=[athlete.pk])
    assert athlete.estimates.get(engine="row").adjustment == pytest.approx(-0.1)
    after = coach_client.get(address(athlete)).content.decode()
    fitter = re.compile(r"<dt>Fitter than.*?</dd>", re.DOTALL)
    assert "of power for two minutes" in fitter.search(page)[0]
    assert fitter.search(after)[0] == fitter.search(page)[0]


def test_it_draws_both_days_and_says_where_there_is_nothing_to_compare(coach_client, athlete):
    page = coach_client.get(address(athlete)).content.decode()
    assert "No effort on this engine by" in page
    record(athlete, "2000-m-row", "9:00", days_ago=500)
    drawn = figures(coach_client.get(address(athlete)).content.decode())["curve-row"]
    assert {"then", "curve", "low", "high", "fresh"} <= {trace["meta"] for trace in drawn["data"]}


def test_the_expected_result_lies_near_the_last_and_inside_its_interval(athlete):
    row = Benchmark.objects.get(slug="2000-m-row")
    likely = predicted(people_of([athlete]), [row])[row.pk]
    assert likely.low < likely.value < likely.high
    assert likely.value == pytest.approx(420, rel=0.05)


def test_personal_bests_and_the_published_range_are_shown(coach_client, athlete):
    record(athlete, "2000-m-row", "6:50", days_ago=3)
    row = Benchmark.objects.get(slug="2000-m-row")
    page = coach_client.get(address(athlete), {"benchmark": row.pk}).content.decode()
    drawn = figures(page)["history"]
    assert "Results: 2000 m row" in page
    assert [trace["y"] for trace in drawn["data"] if trace["meta"] == "best"] == [[420.0, 410.0]]
    assert drawn["layout"]["yaxis"]["autorange"] == "reversed"  # faster is higher
    assert "120 men, 18 to 24 years" in page
    assert "Scand J Med Sci Sports 2003" in page


def test_a_lift_is_drawn_as_what_can_be_done_once(coach_client, athlete):
    record(athlete, "goblet-squat", "60x5", days_ago=3)
    squat = Benchmark.objects.get(slug="goblet-squat")
    [point] = figures(coach_client.get(address(athlete), {"benchmark": squat.pk}).content.decode())["history"]["data"][
        1
    ]["y"]
    assert 65 < point < 75


def test_what_was_done_is_a_share_of_what_was_asked(coach_client, athlete, session):
    log(athlete, session, share=0.8)
    page = coach_client.get(address(athlete)).content.decode()
    drawn = figures(page)["done"]
    assert drawn["data"][0]["y"] == [pytest.approx(80)]
    assert "80 %" in page


def test_a_day_without_a_log_is_not_a_day_of_rest(athlete, session):
    first = log(athlete, session, day=session.date - timedelta(days=7))
    monday = session.date
    minutes = 3 * 5  # three stations of a minute, five rotations
    assert done_between(athlete, first.date, monday)[0].load == pytest.approx(7 * minutes)

    def week() -> list:
        return daily_loads(athlete, done_between(athlete, monday, today()), monday, 7, today()).tolist()

    assert np.isnan(week()[0])  # a session that nobody kept a list of
    Attendance.objects.create(athlete=gym.people(1)[0], session_key=session.key, date=monday)
    assert week() == [0.0] * 7  # the gym kept who came
    Attendance.objects.create(athlete=athlete, session_key=session.key, date=monday)
    assert np.isnan(week()[0])  # came, and did not log
    log(athlete, session)
    assert week() == [7 * minutes] + [0.0] * 6
    Log.objects.filter(date=monday).update(rpe=None)
    assert np.isnan(week()[0])


def test_monotony_needs_seven_known_days(athlete, session):
    first, done_day = session.date - timedelta(days=7), session.date
    log(athlete, session, day=first)
    log(athlete, session)
    done = done_between(athlete, first, today())
    weeks = training_weeks(athlete, done, first, today(), today())
    known = next(week for week in weeks if week.monday == done_day)
    assert known.monotony == pytest.approx(1 / np.sqrt(7))  # one day of seven
    assert known.strain == pytest.approx(known.load / np.sqrt(7))
    assert weeks[-1].monotony is None  # this week is not over
    assert weeks[-1].load is None


def test_wrong_choices_are_told_and_the_page_stays(coach_client, athlete):
    page = coach_client.get(address(athlete), {"then": today().isoformat()}).content.decode()
    assert "Choose a day before today" in page
    assert coach_client.get(address(athlete), {"then": "x", "benchmark": "999"}).status_code == 200


def test_someone_new_is_told_how_it_begins(coach_client, furnished):
    [new] = gym.people(1, tested=False)
    page = coach_client.get(address(new)).content.decode()
    assert "No effort yet" in page
    assert "No curve yet" in page
    assert "No session logged" in page
    assert "nan" not in page.lower().replace("finance", "")


def test_queries_do_not_grow_with_efforts(coach_client, athlete, session, django_assert_max_num_queries):
    log(athlete, session)
    for n in range(30):
        row = Benchmark.objects.get(slug="2000-m-row")
        Effort.objects.create(
            athlete=athlete, benchmark=row, value=430 + n, fixed=2000, typed="x",
            performed_on=today() - timedelta(days=100 * n + 40),
        )  # fmt: skip
    coach_client.get(address(athlete))
    with django_assert_max_num_queries(44):
        coach_client.get(address(athlete))


def test_it_is_one_tap_from_the_athlete(coach_client, athlete):
    assert address(athlete) in coach_client.get(f"/athletes/{athlete.pk}/").content.decode()


def test_what_nobody_can_do_is_nobodys_best_nor_part_of_the_spread(coach_client, athlete):
    row = Benchmark.objects.get(slug="2000-m-row")
    effort_record(athlete=athlete, benchmark=row, typed="3:20", performed_on=today(), by=None, confirmed=True)
    page = coach_client.get(address(athlete), {"benchmark": row.pk}).content.decode()
    assert "3:20.0" not in page
    assert "3:20" not in coach_client.get("/progress/", {"benchmark": row.pk}).content.decode()
    line = next(line for line in numbers_of(athlete)["benchmarks"] if line.benchmark == row)
    assert line.latest.typed == "3:20"  # it stands among the efforts, where it can be voided
    assert line.best.typed != "3:20"
