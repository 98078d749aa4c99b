"""Progress as a coach sees it: charts are drawn, have their tables, can be saved, and pass axe in both schemes."""

from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.models import Account, Athlete, Benchmark, Effort, Movement
from sessions.models import Log, LogEntry, PublishedSession
from tests import gym
from tests.browser.axe import findings_in_both_schemes
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def athlete(begin_with) -> Athlete:
    begin_with(an_old_effort_and_a_log)
    return Athlete.objects.first()


def an_old_effort_and_a_log(coach: Account) -> None:
    athlete, *_ = gym.people(4)
    publish(gym.planned_week(gym.this_monday() - timedelta(weeks=1)), coach)
    session, row = PublishedSession.objects.get(), Benchmark.objects.get(slug="2000-m-row")
    Effort.objects.create(
        athlete=athlete, benchmark=row, value=450, fixed=2000, typed="7:30", performed_on=today() - timedelta(days=500)
    )
    log = Log.objects.create(
        key=uuid4(), athlete=athlete, session=session, session_key=session.key, date=session.date, rpe=7,
        source="phone", done_at=timezone.now(),
    )  # fmt: skip
    pull_up = Movement.objects.get(slug="pull-up")
    LogEntry.objects.create(log=log, station=2, movement=pull_up, rounds=5, dose=8, asked_rounds=5, asked_dose=8)


def drawn(page: Page, path: str, charts: int) -> None:
    page.goto(path)
    expect(page.locator(".chart .main-svg:first-child")).to_have_count(charts)
    page.evaluate("() => document.querySelectorAll('details').forEach((details) => (details.open = true))")


@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(open_page, coach_client, athlete, width):
    page = open_page(coach_client, width=width, color_scheme="light")
    for path, charts in ((f"/athletes/{athlete.pk}/progress/", 4), ("/progress/", 4), ("/benchmarks/library/", 0)):
        drawn(page, path, charts)
        assert findings_in_both_schemes(page) == []
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_a_chart_is_saved_as_a_picture(open_page, coach_client, athlete):
    page = open_page(coach_client, color_scheme="dark")
    drawn(page, f"/athletes/{athlete.pk}/progress/", 4)
    starts = {"png": b"\x89PNG", "svg": b"<svg"}
    for kind, start in starts.items():
        with page.expect_download() as download:
            page.locator(f"[data-figure=load] [data-save={kind}]").click()
        assert download.value.suggested_filename == f"A0000-load.{kind}"
        assert Path(download.value.path()).read_bytes().startswith(start)
    svg = Path(download.value.path()).read_text()
    assert "Progress of Athlete 0000 · Load by week" in svg
    assert "rgb(255, 253, 248)" in svg  # light, for paper, whatever the screen shows
    assert svg.count("@font-face") == 3


def test_a_picture_that_cannot_be_drawn_leaves_its_table(open_page, coach_client, athlete):
    page = open_page(coach_client)
    page.route("**/plotly*", lambda route: route.fulfill(body="", content_type="text/javascript"))
    page.goto(f"/athletes/{athlete.pk}/progress/")
    expect(page.get_by_role("status").first).to_contain_text("The table has its values")
