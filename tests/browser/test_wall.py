"""The wall at 1920 × 1080: everyone is on it, whatever else must be said."""

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page

from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Gym
from sessions.models import PlannedSession, Week
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SCREEN = {"width": 1920, "height": 1080}
TURN_MS = 12_000
STATIONS = [
    ["row", "bike"],
    ["pull-up", "ring-row", "bike"],
    ["goblet-squat", "ring-row"],
    ["bike", "row", "ring-row"],
    ["ring-row", "row"],
]
KINDS = {"row": "kcal", "bike": "kcal", "goblet-squat": "load_repetitions"}
LONG = "Warm-up: six minutes of easy rowing, then hips and shoulders, then two easy rounds of everything, and water."


def option(movement: str) -> dict:
    kind = KINDS.get(movement, "repetitions")
    return {"movement": movement, "dose_kind": kind, "dose": 14, "least_dose": 6, "load_kg": 24}


@pytest.fixture
def open_wall(open_page, furnished, coach):
    """The wall of a full circuit with every line that can stand on it, for a number of athletes."""

    def open_for(people: int) -> Page:
        gym.people(people)
        Gym.objects.update(local_rules="Emergency: call 112, say “the old mill, yard door”. " + LONG)
        stations = [{"work_window_s": 45, "note": "", "options": [*map(option, ladder)]} for ladder in STATIONS]
        circuit = gym.circuit({**gym.DOCUMENT, "stations": stations})
        week = gym.planned_week(gym.this_monday(), *[circuit] * 7)
        PlannedSession.objects.update(note=LONG)
        Week.objects.update(note=LONG)
        week.refresh_from_db()
        publish(week, coach)
        page = open_page(Client(), **SCREEN)
        page.clock.install()
        page.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
        return page

    return open_for


def test_staff_read_the_same_board(open_page, coach_client, furnished, coach):
    """The page of a published week that shows what hangs on the wall: everyone's name has a height there too."""
    gym.people(42)
    session = publish(gym.planned_week(gym.this_monday(), gym.circuit()), coach).sessions.get()
    page = open_page(coach_client, **SCREEN)
    page.goto(reverse("sessions:board", args=[session.pk]))
    heights = page.locator(".wall-lines tbody th").evaluate_all("(all) => all.map((name) => name.clientHeight)")
    assert len(heights) == 42
    assert min(heights) > 20


def shown(page: Page) -> set[str]:
    """Texts of names and foot that lie wholly on the screen; a name cut short does not count."""
    return set(
        page.evaluate(
            """() => [...document.querySelectorAll(".wall-lines tbody th, .wall-foot p")]
              .filter((part) => {
                const box = part.getBoundingClientRect();
                const whole = box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth;
                return box.height > 0 && whole && part.scrollWidth <= part.clientWidth;
              })
              .map((part) => part.textContent.trim())"""
        )
    )


def scrolls(page: Page) -> bool:
    root = "document.documentElement"
    return page.evaluate(f"() => {root}.scrollHeight > innerHeight || {root}.scrollWidth > innerWidth")


def names() -> set[str]:
    return set(Athlete.objects.values_list("board_name", flat=True))


def test_forty_two_names_and_the_foot_fit_the_screen(open_wall):
    page = open_wall(42)
    seen = shown(page)
    assert names() <= seen
    assert len(seen - names()) == 2  # the line of the week, and the cautions
    assert not scrolls(page)
    rows = page.locator(".wall-lines").first.bounding_box()
    foot = page.locator(".wall-foot").bounding_box()
    assert rows["y"] + rows["height"] <= foot["y"]


def test_a_longer_room_turns_its_pages_and_begins_again(open_wall):
    page = open_wall(90)
    number = page.locator("[data-screen-number]")
    screens = []
    for expected in "12":
        assert number.text_content() == expected
        assert not scrolls(page)
        screens.append(shown(page) & names())
        page.clock.run_for(TURN_MS)
    assert set.union(*screens) == names()
    assert sum(map(len, screens)) == 90
    assert number.text_content() == "1"
