"""The progress report: two pages A4, with what a person would want to know of a stretch of time."""

import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader
from reportlab.lib.pagesizes import A4

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort
from sessions.progress.report import NO_GOAL, NO_RESULT, NOT_NOW, report_of, report_pdf
from tests import gym


def effort(athlete: Athlete, slug: str, value: float, days_ago: int, repetitions: int | None = None) -> None:
    on = today() - timedelta(days=days_ago)
    benchmark = Benchmark.objects.get(slug=slug)
    Effort.objects.create(
        athlete=athlete, benchmark=benchmark, value=value, fixed=benchmark.fixed, repetitions=repetitions, typed="x",
        performed_on=on,
    )  # fmt: skip


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1)[0]  # 7:00 over 2000 m and 4 pull-ups, 20 days ago


def of_three_months(athlete: Athlete):
    return report_of(athlete, today() - timedelta(days=83), today(), today())


def row(report, name: str) -> tuple:
    return next(result for result in report.results if result[0] == name)


def test_what_changed_is_seen_against_the_best_before(athlete):
    effort(athlete, "2000-m-row", 431.5, days_ago=200)
    effort(athlete, "2000-m-row", 440, days_ago=300)
    effort(athlete, "pull-ups-unbroken", 6, days_ago=200)
    effort(athlete, "goblet-squat", 60, days_ago=150, repetitions=5)
    effort(athlete, "goblet-squat", 64, days_ago=5, repetitions=5)
    effort(athlete, "1500-m-run", 360, days_ago=5)
    report = of_three_months(athlete)
    assert row(report, "2000 m row")[1:] == ("7:00.0", row(report, "2000 m row")[2], "11.5 s faster", True)
    assert row(report, "pull-ups unbroken")[3:] == ("2 repetitions behind the best", False)
    assert row(report, "goblet squat")[3:] == ("about 5 kg more, lifted once", True)
    assert row(report, "1500 m run")[3:] == ("first result", False)
    assert report.headline == "4 benchmarks tested, 2 personal bests (starred)."
    assert {trend.name for trend in report.trends} == {
        "2000 m row",
        "pull-ups unbroken",
        "goblet squat, lifted once (estimate)",
    }


def test_results_outside_the_period_are_no_results_of_it(athlete):
    report = report_of(athlete, today() - timedelta(days=10), today(), today())
    assert report.results == []
    assert report.headline == NO_RESULT
    early = report_of(athlete, today() - timedelta(days=400), today() - timedelta(days=300), today())
    assert early.goals == [NO_GOAL]


def test_a_goal_is_better_than_the_best_and_an_old_test_is_due(athlete):
    Effort.objects.all().delete()
    for n, seconds in enumerate((420, 423, 421)):
        effort(athlete, "2000-m-row", seconds, days_ago=10 + n)
    effort(athlete, "pull-ups-unbroken", 30, days_ago=300)
    estimates_refresh(athletes=[athlete.pk])
    near, due = of_three_months(athlete).goals
    within = re.fullmatch(r"2000 m row: best 7:00.0; (\d):(\d\d\.\d) is within reach.", near)
    assert 405 < 60 * int(within[1]) + float(within[2]) < 420
    assert due == "pull-ups unbroken: last tested 9 months ago. Test it again when you are fresh."


def test_who_must_not_go_all_out_takes_no_goal_home_and_nothing_is_next_that_is_ruled_out(athlete, coach_client):
    Effort.objects.update(performed_on=today() - timedelta(days=300))
    assert {goal.split(":")[0] for goal in of_three_months(athlete).goals} == {"2000 m row", "pull-ups unbroken"}
    athlete.limitations.create(kind="body", patterns=["grip"], starts_on=today())
    assert {goal.split(":")[0] for goal in of_three_months(athlete).goals} == {"2000 m row"}
    athlete.limitations.create(kind="pregnancy", patterns=["jump"], starts_on=today())
    assert of_three_months(athlete).goals == [NOT_NOW]
    page = coach_client.get(reverse("sessions:progress-athlete", args=[athlete.pk])).content.decode()
    assert re.search("No tests for now</strong><span>A limitation rules out going all out.</span></dd>", page)


@pytest.mark.parametrize("years", [0.3, 2])
def test_it_is_two_pages_of_a4_with_the_words_on_them(athlete, years):
    for n in range(20):
        effort(athlete, "2000-m-row", 440 - n, days_ago=30 * n + 25)
    first = today() - timedelta(days=int(365 * years))
    found = PdfReader(BytesIO(report_pdf(athlete, first, today(), today()))).pages
    text = [page.extract_text() for page in found]
    assert len(text) == 2
    assert [float(side) for side in found[0].mediabox[2:]] == pytest.approx(A4, abs=0.1)
    assert "Best results" in text[0]
    assert "2000 m row" in text[0]
    assert all("Stop on pain" in page for page in text)
    assert "Next" in text[1]
    assert "nan" not in "".join(text)


def test_the_curve_is_of_the_engine_tested_most_now_and_before(athlete):
    effort(athlete, "2000-m-row", 433.0, days_ago=200)
    effort(athlete, "1500-m-run", 360, days_ago=5)
    curve = of_three_months(athlete).curve
    assert curve.title.startswith("Rowing ergometer")
    assert curve.then is not None
    assert [words for _, words in curve.ticks] == ["0:30", "1:00", "2:00", "5:00", "10:00", "20:00"]
    assert curve.title.endswith("per 500 m")
    assert re.fullmatch(r"1:[3-5]\d\.\d", curve.held[3])
    assert (curve.low < curve.now).all()
    assert (curve.now < curve.high).all()
    assert report_of(athlete, today() - timedelta(days=900), today() - timedelta(days=300), today()).curve is None


def test_body_mass_and_limitations_stay_out(athlete):
    athlete.limitations.create(kind="body", patterns=["pull"], starts_on=today(), note="Left shoulder")
    Athlete.objects.filter(pk=athlete.pk).update(body_mass_kg=61.7, note="Private")
    report = of_three_months(Athlete.objects.get(pk=athlete.pk))
    report = replace(report, curve=replace(report.curve, duration_s=(), now=(), low=(), high=(), then=()))
    assert not re.search("61|shoulder|Private|pull$", repr(report))


def address(athlete: Athlete) -> str:
    return reverse("sessions:progress-report", args=[athlete.pk])


def test_coaches_open_it_for_any_days(coach_client, athlete):
    answer = coach_client.get(address(athlete), {"from": "2026-01-01", "to": "2026-03-01"})
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert address(athlete) in coach_client.get(f"/athletes/{athlete.pk}/progress/").content.decode()


@pytest.mark.parametrize(
    ("days", "sentence"),
    [
        ({"from": "yesterday"}, "Write both days"),
        ({"to": "2999-01-01"}, "ends today or earlier"),
        ({"from": "2020-01-01"}, "a day to two years"),
        ({"from": "2026-03-02", "to": "2026-03-01"}, "a day to two years"),
    ],
)
def test_wrong_days_are_told(coach_client, athlete, days, sentence):
    page = coach_client.get(address(athlete), days, follow=True)
    assert sentence in page.content.decode()


def test_queries_do_not_grow(athlete, django_assert_max_num_queries):
    for n in range(40):
        effort(athlete, "2000-m-row", 440 + n, days_ago=30 * n + 25)
    with django_assert_max_num_queries(34):
        report_of(athlete, today() - timedelta(days=700), today(), today())
