"""axe-core finds nothing against WCAG 2.2 AA on any kind of page, in light and dark; no page scrolls sideways."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page

from athletes.models import Athlete, Benchmark, Limitation
from athletes.selectors.gym import today
from athletes.services.efforts import effort_record
from athletes.services.links import link_issue, screen_link_issue
from sessions.models import Circuit, PlannedSession, Publication, StationOption, Target
from tests import gym
from tests.browser.axe import findings_in_both_schemes
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = {"width": 360, "height": 740}
SCREEN = {"width": 1920, "height": 1080}
EMPTY_WEEK = date(2031, 3, 3)


@pytest.fixture
def lived_in(furnished, coach) -> Publication:
    """A week published twice, with a capped, a swapped and a resting athlete, and one without a benchmark."""
    gym.people(5)
    gym.people(1, tested=False)
    resting = Athlete.objects.last()
    Limitation.objects.create(athlete=resting, kind="body", patterns=["pull"], starts_on=today())
    circuit = gym.circuit()
    week = gym.planned_week(gym.this_monday(), *[circuit] * 7)
    publish(week, coach)
    StationOption.objects.filter(station__position=1, station__circuit=circuit).update(dose=11)
    link_issue(athlete=Athlete.objects.first(), by=None)
    return publish(week, coach)


@pytest.fixture
def check(open_page):
    """Visit pages, prepare each one where it needs it, and collect what is found on all of them."""

    def run(client: Client, visits: dict[str, Callable[[Page], None] | None], **size) -> None:
        page, found = open_page(client, color_scheme="light", **size), []
        for path, prepare in visits.items():
            page.goto(path)
            if prepare:
                prepare(page)
            found += findings_in_both_schemes(page)
            if page.evaluate("() => document.documentElement.scrollWidth > innerWidth"):
                found.append(f"{path} scrolls sideways")
        assert not found, "\n".join(found)

    return run


def preview_shown(page: Page) -> None:
    page.wait_for_selector("#room table")
    for why in page.locator(".cell-why > summary").all()[:3]:
        why.click()


def curve_drawn(page: Page) -> None:
    page.click("[data-curve] > summary")
    page.wait_for_selector(".chart .main-svg")
    page.click("[data-table] > summary")


def everything_open(page: Page) -> None:
    page.evaluate("() => document.querySelectorAll('details').forEach((details) => (details.open = true))")


def test_pages_of_weeks_and_circuits(check, coach_client, lived_in):
    session = PlannedSession.objects.first()
    swapped = Target.objects.filter(publication=lived_in, rung=1).first()
    pages = {
        "/": None,
        reverse("sessions:week", args=[lived_in.week.starts_on]): None,
        reverse("sessions:week", args=[EMPTY_WEEK]): None,
        reverse("sessions:planned-change", args=[session.pk]): everything_open,
        reverse("sessions:circuits"): None,
        reverse("sessions:circuit-create"): None,
        reverse("sessions:circuit-change", args=[Circuit.objects.get().pk]): preview_shown,
        reverse("sessions:room", args=[session.pk]): everything_open,
        reverse("sessions:publication", args=[lived_in.pk]): None,
        reverse("sessions:publication-changes", args=[lived_in.pk]): None,
        reverse("sessions:target", args=[swapped.pk]): None,
    }
    check(coach_client, pages)


def test_pages_of_athletes_and_benchmarks(check, coach_client, lived_in):
    athlete, row = Athlete.objects.first(), Benchmark.objects.get(slug="2000-m-row")
    effort_record(athlete=athlete, benchmark=row, typed="6:58", performed_on=today(), by=None, confirmed=True)
    pages = {
        "/athletes/": None,
        f"/athletes/{athlete.pk}/": curve_drawn,
        f"/athletes/{Athlete.objects.last().pk}/": None,
        f"/benchmarks/{row.pk}/test-day/": None,
    }
    check(coach_client, pages)


def test_pages_at_the_width_of_a_phone(check, coach_client, lived_in):
    pages = {
        "/": None,
        reverse("sessions:week", args=[lived_in.week.starts_on]): None,
        reverse("sessions:circuit-change", args=[Circuit.objects.get().pk]): preview_shown,
        reverse("sessions:publication-changes", args=[lived_in.pk]): None,
        reverse("sessions:target", args=[lived_in.targets.first().pk]): None,
        f"/athletes/{Athlete.objects.first().pk}/": curve_drawn,
    }
    check(coach_client, pages, **PHONE)


def test_pages_that_need_no_account(check, lived_in):
    athlete = Athlete.objects.first()
    token = link_issue(athlete=athlete, by=None).token
    names = ("sessions:phone", "sessions:phone-week", "sessions:phone-numbers")
    phone = {reverse(name, args=[token]): everything_open for name in names}
    check(Client(), {**phone, "/login/": None, "/a/gone/": None}, **PHONE)


def test_the_wall(check, lived_in):
    check(Client(), {reverse("sessions:wall", args=[screen_link_issue(by=None).token]): None}, **SCREEN)
