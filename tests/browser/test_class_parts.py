"""A class of several parts: its clock on wall, phone and floor sheet at once, and its page with keys alone."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Athlete
from sessions.clock.write import now_ms, run_start
from sessions.models import PlannedSession, PublishedSession
from tests.browser.beginnings import this_week_in_parts
from tests.conftest import client_of

LINE = "[data-wall] [data-part=parts], [data-live] [data-part=part], [data-dock] [data-part=where]"
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def coach_of(begin_with):
    return begin_with(this_week_in_parts)


def test_the_clock_of_a_class_goes_through_its_parts_on_every_screen_at_once(coach_of, coach, open_page):
    session = PublishedSession.objects.live().classes().get(date=today())
    run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms())
    wall, phone = open_page(Client(), 1920, 1080), open_page(Client(), 360, 740)
    floor, control = open_page(client_of(coach)), open_page(client_of(coach), 800, 900)
    wall.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
    phone.goto(reverse("sessions:phone", args=[link_issue(athlete=Athlete.objects.first(), by=None).token]))
    floor.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour=06:00")
    control.goto(f"{reverse('sessions:clock', args=[session.pk])}?hour=06:00")

    def all_show(part: str, then: str) -> None:
        for page, words in ((wall, f"then {then}"), (phone, f"{part}, then {then}"), (floor, f"{part}, then {then}")):
            expect(page.locator(LINE).first).to_contain_text(words, timeout=15_000)

    all_show("Briefing", "Warm-up")
    expect(wall.locator(".w-part-words")).to_have_text("Who is new.")
    control.get_by_role("button", name="Next part").click()
    all_show("Warm-up", "Strength: Five by five")
    control.get_by_role("button", name="Add a minute").click()
    expect(control.locator("[data-part=where]")).to_have_text("until 11:00")
    control.keyboard.press("ArrowRight")
    all_show("Strength: Five by five", "Circuit: Mill race")
    expect(wall.locator(".w-one")).to_have_count(4)
    expect(phone.locator("[data-part=now]")).to_contain_text("Goblet squat")
    control.get_by_role("button", name="Next part").click()
    all_show("Circuit: Mill race", "Cool-down")
    expect(wall.locator(".w-column")).to_have_count(3)
    control.get_by_role("button", name="Next part").click()
    expect(wall.locator(".w-part-words")).to_have_text("Walk two laps.", timeout=15_000)
    expect(phone.locator("[data-part=phase]")).to_have_text("Cool-down", timeout=15_000)


def test_parts_are_timed_and_moved_with_keys_alone(coach_of, coach, open_page):
    planned = PlannedSession.objects.get(week__starts_on__lte=today(), weekday=today().weekday())
    page = open_page(client_of(coach))
    page.goto(reverse("sessions:planned-change", args=[planned.pk]))
    minutes = page.get_by_label("Minutes of Warm-up")
    minutes.focus()
    page.keyboard.press("+")
    expect(minutes).to_have_value("11")
    expect(page.locator("[data-total]")).to_have_text("49")
    page.keyboard.press("Alt+ArrowDown")
    expect(page.locator("[data-part='2']").get_by_label("Minutes of Warm-up")).to_have_value("11")
    page.keyboard.press("Alt+ArrowUp")
    expect(page.locator("[data-part='1']").get_by_label("Minutes of Warm-up")).to_be_visible()
    page.get_by_role("button", name="Add a part").click()
    expect(page.locator("[data-part]")).to_have_count(6)
    page.get_by_role("button", name="Save").first.click()
    page.wait_for_url("**/weeks/**")
    assert [part.minutes for part in planned.parts.all()] == [3, 11, 14, 10, None, 6]
