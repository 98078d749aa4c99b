"""The athlete's page on a narrow phone: the dose at first sight, the reason one tap away."""

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.links.write import link_issue, link_revoke
from athletes.models import Account, Athlete, Gym, Link
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WIDTH, HEIGHT = 360, 740


@pytest.fixture
def link(begin_with) -> Link:
    begin_with(this_week_by_the_rules)
    return link_issue(athlete=Athlete.objects.first(), by=None)


def this_week_by_the_rules(coach: Account) -> None:
    gym.people(2)
    Gym.objects.update(local_rules="Emergency: 112. First aid hangs by the door.", name="Mill Strength & Conditioning")
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)


@pytest.fixture
def page(open_page, link) -> Page:
    page = open_page(Client(), width=WIDTH, height=HEIGHT, has_touch=True, is_mobile=True)
    page.goto(reverse("sessions:phone", args=[link.token]))
    return page


def test_the_first_dose_is_seen_without_scrolling_and_nothing_sticks_out(page):
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
    box = page.locator(".plan-dose .figure").first.bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= WIDTH
    assert box["y"] + box["height"] <= HEIGHT
    for name in ("Week", "My numbers", "Today"):
        page.get_by_role("link", name=name).tap()
        expect(page.get_by_role("link", name=name)).to_have_attribute("aria-current", "page")
        assert page.evaluate("() => document.documentElement.scrollWidth") <= WIDTH


def test_the_reason_and_the_cues_are_one_tap_away(page):
    cue = page.get_by_text("How to set up the Row.")
    expect(cue).to_be_hidden()
    page.get_by_text("How to do them").tap()
    expect(cue).to_be_visible()


def test_the_last_line_is_not_under_the_links(page):
    page.evaluate("() => window.scrollTo({top: document.documentElement.scrollHeight, behavior: 'instant'})")
    caution, links = page.locator(".phone-caution").bounding_box(), page.locator(".phone-nav").bounding_box()
    assert caution["y"] + caution["height"] <= links["y"]


def test_a_revoked_link_says_whom_to_ask(page, link):
    link_revoke(athlete=link.athlete, by=None)
    page.reload()
    expect(page.get_by_role("heading")).to_have_text("This link no longer works")
    expect(page.locator("main")).to_contain_text("Ask staff for your new link")
    expect(page.locator(".plan")).to_have_count(0)
