"""The power–duration curve on an athlete's page: fetched when wanted, in the page's colours, and never sent on."""

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete
from tests import gym

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(open_page, coach_client, furnished) -> Page:
    gym.people(1)
    page = open_page(coach_client, color_scheme="light")
    page.asked = []
    page.on("request", lambda request: page.asked.append(request.url))
    page.goto(f"/athletes/{Athlete.objects.get().pk}/")
    return page


def asked_for(page: Page, part: str) -> bool:
    return any(part in url for url in page.asked)


def colour(page: Page) -> str:
    return page.locator(".chart .main-svg").first.evaluate("(drawing) => getComputedStyle(drawing).backgroundColor")


def test_nothing_of_it_is_fetched_before_it_is_opened(page):
    page.wait_for_load_state("networkidle")
    assert asked_for(page, "curve.js")
    assert not asked_for(page, "plotly")
    assert not asked_for(page, ".json")
    page.get_by_text("Power and duration: Rowing ergometer").click()
    expect(page.locator(".chart .main-svg").first).to_be_visible()
    assert asked_for(page, "plotly")
    assert asked_for(page, "curve/row.json")


def test_it_is_drawn_with_curve_band_and_efforts_and_nothing_to_press(page):
    page.get_by_text("Power and duration").click()
    chart = page.get_by_role("img", name="Best even power against duration")
    expect(chart.locator(".scatterlayer .trace")).to_have_count(4)
    expect(chart.locator(".scatterlayer .point")).to_have_count(1)
    expect(chart.locator(".modebar-btn")).to_have_count(0)
    box = chart.bounding_box()
    assert box["width"] > 300
    assert box["height"] > 300


def test_the_table_has_the_same_values(page):
    page.get_by_text("Power and duration").click()
    page.get_by_text("The same as a table").click()
    values = page.get_by_role("region", name="Values of the curve").locator("tbody tr")
    expect(values).to_have_count(8)
    expect(values.nth(2)).to_contain_text("1:00")
    expect(page.get_by_role("region", name="Efforts on the chart")).to_contain_text("2000 m row")


def test_it_follows_the_screens_colours(page):
    page.get_by_text("Power and duration").click()
    expect(page.locator(".chart .main-svg").first).to_be_visible()
    light = colour(page)
    page.emulate_media(color_scheme="dark")
    page.wait_for_function(
        "(light) => getComputedStyle(document.querySelector('.chart .main-svg')).backgroundColor !== light", arg=light
    )


def test_an_answer_that_fails_is_told_and_opening_it_again_helps(page):
    page.route("**/*.json", lambda route: route.fulfill(body="<h1>Sign in</h1>"))  # what a session that ended gets
    fold = page.get_by_text("Power and duration")
    fold.click()
    expect(page.locator("[data-curve]").get_by_role("status")).to_contain_text("No answer")
    page.unroute("**/*.json")
    fold.click()
    fold.click()
    expect(page.locator(".chart .main-svg").first).to_be_visible()
