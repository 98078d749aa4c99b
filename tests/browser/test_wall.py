"""The wall before a class, at 1920 × 1080: everyone is on it, whatever else must be said."""

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Gym, Machine, MachineType
from sessions.models import PlannedSession, Week
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SCREEN = {"width": 1920, "height": 1080}
STATIONS = [
    ["row", "bike"],
    ["pull-up", "ring-row", "bike"],
    ["goblet-squat", "ring-row"],
    ["bike", "row", "ring-row"],
    ["ring-row", "row"],
]
KINDS = {"row": "kcal", "bike": "kcal", "goblet-squat": "load_repetitions"}
LONG = "Warm-up: six minutes of easy rowing, then hips and shoulders, then two easy rounds of everything, and water."
# Names that lie wholly on the screen in letters that have a height; one that is cut short does not count.
NAMES_SEEN = """() => [...document.querySelectorAll(".w-who")].filter((who) => {
  const box = who.getBoundingClientRect();
  const whole = box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth;
  return whole && box.height > 20 && who.scrollWidth <= who.clientWidth + 1;
}).map((who) => who.textContent)"""
SCROLLS = """() => {
  const { scrollHeight, scrollWidth } = document.documentElement;
  return scrollHeight > innerHeight || scrollWidth > innerWidth;
}"""


def option(movement: str) -> dict:
    kind = KINDS.get(movement, "repetitions")
    return {"movement": movement, "dose_kind": kind, "dose": 14, "least_dose": 6, "load_kg": 24}


def machines_for(people: int) -> None:
    for kind in MachineType.objects.all():
        Machine.objects.bulk_create(Machine(type=kind, number=100 + n) for n in range(people))


@pytest.fixture
def open_wall(open_page, furnished, coach):
    """The wall of a full circuit with every line that can stand on it, for a number of athletes."""

    def open_for(people: int) -> Page:
        gym.people(people)
        machines_for(people)
        Gym.objects.update(local_rules="Emergency: call 112, say “the old mill, yard door”. " + LONG)
        stations = [{"work_window_s": 45, "note": "", "options": [*map(option, ladder)]} for ladder in STATIONS]
        circuit = gym.circuit({**gym.DOCUMENT, "stations": stations})
        gym.planned_week(gym.this_monday(), *[circuit] * 7)
        gym.planned_week(None, circuit)  # which comes next on a Sunday evening
        PlannedSession.objects.update(note=LONG)
        Week.objects.update(note=LONG)
        for week in Week.objects.all():
            publish(week, coach)
        page = open_page(Client(), **SCREEN)
        page.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
        return page

    return open_for


def names() -> set[str]:
    return set(Athlete.objects.values_list("board_name", flat=True))


def test_staff_see_the_same_wall_with_letters_that_have_a_height(open_page, coach_client, furnished, coach):
    """The page of a published week that shows what hangs on the wall is the wall: everyone's name is on it."""
    gym.people(42)
    machines_for(42)
    session = publish(gym.planned_week(gym.this_monday(), gym.circuit()), coach).sessions.get()
    page = open_page(coach_client, **SCREEN)
    page.goto(reverse("sessions:board", args=[session.pk]))
    expect(page.locator(".w-who")).to_have_count(42)
    page.wait_for_timeout(300)
    assert set(page.evaluate(NAMES_SEEN)) == names()
    assert not page.evaluate(SCROLLS)


def test_forty_two_names_and_the_foot_fit_the_screen(open_wall):
    page = open_wall(42)
    expect(page.locator(".w-who")).to_have_count(42)
    page.wait_for_timeout(300)
    assert set(page.evaluate(NAMES_SEEN)) == names()
    assert not page.evaluate(SCROLLS)
    foot, columns = page.locator(".w-foot").bounding_box(), page.locator(".w-columns").bounding_box()
    assert columns["y"] + columns["height"] <= foot["y"]
    assert foot["y"] + foot["height"] <= SCREEN["height"]
    expect(page.locator(".w-foot")).to_contain_text("Stop on pain, dizziness or chest discomfort")
