"""Planning a test day: everyone at once, and only the machines that a chosen test needs."""

import pytest
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.models import Athlete, TestSlot
from tests import gym

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(open_page, coach_client) -> Page:
    gym.furnish()
    gym.people(3)
    page = open_page(coach_client)
    page.goto("/test-days/new/")
    return page


def test_all_or_none_are_ticked_at_once(page):
    ticked = page.locator("[name=athletes]:checked")
    page.get_by_role("button", name="All").click()
    expect(ticked).to_have_count(3)
    page.get_by_role("button", name="None").click()
    expect(ticked).to_have_count(0)


def test_machines_that_no_test_needs_are_folded_away(page):
    machines = page.locator("label:has([name=machines])")
    folded = page.locator("[data-folded]")
    expect(machines.filter(visible=True)).to_have_count(0)
    expect(folded).to_have_text("3 machines are folded away: no chosen test needs them.")
    page.get_by_label("2000 m row").check()
    expect(machines.filter(visible=True)).to_have_text(["rowing ergometer 1", "rowing ergometer 2"])
    expect(folded).to_have_text("1 machine is folded away: no chosen test needs it.")
    page.get_by_role("button", name="All").click()
    page.get_by_role("button", name="Plan the heats").click()
    expect(page.get_by_text("The test day is planned.")).to_be_visible()


def test_a_newcomer_is_planned_in_when_a_coach_says_why(page):
    Athlete.objects.filter(name="Athlete 0001").update(joined_on=today())
    page.reload()
    page.get_by_label("2000 m row").check()
    page.get_by_role("group", name="… for each of these athletes").get_by_role("button", name="All").click()
    page.get_by_role("button", name="Plan the heats").click()
    expect(page.get_by_text("Left out: Athlete 0001 (in the first four weeks).")).to_be_visible()
    assert TestSlot.objects.count() == 2
    page.goto("/test-days/new/")
    page.get_by_label("2000 m row").check()
    page.get_by_label("Athlete 0001 (in the first four weeks)").check()
    page.get_by_label("Athlete 0001", exact=True).check()
    page.get_by_label("Why").fill("Rowed for years.")
    page.get_by_role("button", name="Plan the heats").click()
    expect(page.get_by_text("by a coach: Rowed for years.")).to_be_visible()
