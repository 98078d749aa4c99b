"""The week by keys alone: carry a session to another day, undo it, tick and copy, find in the library."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from sessions.models import PlannedSession
from tests import gym

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def monday():
    return gym.this_monday() + timedelta(days=7)


@pytest.fixture
def page(open_page, coach_client, furnished, monday) -> Page:
    gym.planned_week(monday, gym.circuit())
    page = open_page(coach_client)
    page.goto(reverse("sessions:week", args=[monday]))
    return page


def card(page: Page):
    return page.locator("[data-session]")


def test_a_session_is_carried_by_keys_and_ctrl_z_takes_it_back(page, monday):
    card(page).focus()
    page.keyboard.press("m")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("Mill race is on Wednesday")
    assert PlannedSession.objects.get().weekday == 2
    expect(card(page)).to_be_focused()  # and goes on from there
    page.keyboard.press("Control+z")
    expect(page.get_by_role("status").first).to_contain_text("Mill race is on Monday")
    assert PlannedSession.objects.get().weekday == 0


def test_escape_leaves_a_session_where_it_is(page):
    card(page).focus()
    page.keyboard.press("m")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    expect(page.locator(".day-target")).to_have_count(0)
    assert PlannedSession.objects.get().weekday == 0


def test_a_session_is_dragged_to_another_day(page):
    page.locator("[data-session]").drag_to(page.locator("[data-day]").nth(4))
    expect(page.get_by_role("status").first).to_contain_text("Mill race is on Friday")
    assert PlannedSession.objects.get().weekday == 4


def test_what_is_ticked_by_keys_is_copied_into_the_week_after(page, monday):
    card(page).focus()
    page.keyboard.press("x")
    expect(page.locator("[data-count]")).to_have_text("1 ticked")
    page.keyboard.press("c")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("1 session is copied")
    expect(card(page)).to_have_count(1)
    assert PlannedSession.objects.filter(week__starts_on=monday + timedelta(days=7)).count() == 1


def test_the_library_is_found_by_a_key_and_answers_while_one_types(page):
    gym.circuit({**gym.DOCUMENT, "name": "Flume", "stations": gym.DOCUMENT["stations"][:1]})
    page.keyboard.press("/")
    page.keyboard.type("5 min")
    rows = page.locator("#library tbody tr")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text("Flume")
    rows.get_by_role("link", name="Plan").click()
    expect(page.locator("select[name=circuit] option:checked")).to_have_text("Flume")


def test_a_full_week_overflows_nothing_and_every_letter_has_a_height(open_page, coach_client, furnished, monday):
    long = {
        **gym.DOCUMENT,
        "name": "Ein sehr langer Name Mühlradwehrgrabenzirkel 磨坊 循环",
        "stations": gym.DOCUMENT["stations"] * 2,
    }
    gym.planned_week(monday, *[gym.circuit(long)] * 7)
    for width in (1280, 1440, 1920, 360):
        page = open_page(coach_client, width=width)
        page.goto(reverse("sessions:week", args=[monday]))
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        heights = page.eval_on_selector_all(
            ".planned-stations li", "rows => rows.map(row => parseFloat(getComputedStyle(row).fontSize))"
        )
        assert len(heights) == 7 * 6
        assert min(heights) >= 13
