"""The page that runs a class: by finger, by keyboard, and on a connection that drops."""

import json

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Athlete
from sessions.models import ClassRun, PublishedSession, RunChange
from tests.browser.axe import findings_in_both_schemes
from tests.browser.beginnings import this_week_for_four

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
OPEN_ALL = "() => document.querySelectorAll('details').forEach((details) => (details.open = true))"
STICKING_OUT = """() => [...document.querySelectorAll(".control, .control *, .strip, .strip *")]
  .filter((part) => part.getBoundingClientRect().right > innerWidth)
  .map((part) => part.outerHTML.slice(0, 90))"""
PHONE = {"width": 360, "height": 740, "has_touch": True, "is_mobile": True}


@pytest.fixture
def session(begin_with) -> PublishedSession:
    begin_with(this_week_for_four)
    return PublishedSession.objects.get(date=today())


@pytest.fixture
def address(session) -> str:
    return f"{reverse('sessions:clock', args=[session.pk])}?hour=06:00"


@pytest.fixture
def page(open_page, staff_client, address) -> Page:
    """The clock of a class that has begun, on a laptop."""
    page = open_page(staff_client)
    page.goto(address)
    begin(page)
    return page


def begin(page: Page) -> None:
    page.get_by_label("Time to get ready").select_option("5")
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Get ready")
    sent(page)


def sent(page: Page) -> None:
    """Wait until nothing waits to be sent."""
    page.wait_for_function(
        "() => !Object.keys(localStorage).some((name) => name.startsWith('clock-') && name !== 'clock-signals')"
    )


def changes() -> list[tuple[str, int]]:
    return list(RunChange.objects.order_by("at_ms", "number").values_list("kind", "value"))


def test_from_the_home_page_to_a_running_clock_by_thumb(open_page, staff_client, session):
    page = open_page(staff_client, **PHONE)
    page.goto("/")
    page.get_by_role("link", name="Clock of Mill race 06:00").tap()
    page.get_by_role("button", name="Start the clock").tap()
    expect(page.locator("[data-part=phase]")).to_have_text("Get ready")
    sent(page)
    assert ClassRun.objects.get().shape["ready_s"] == 10
    boxes = [button.bounding_box() for button in page.locator(".control-button:visible").all()]
    assert len(boxes) == 5
    assert all(box["height"] >= 64 and box["width"] >= 150 for box in boxes)
    pause = page.get_by_role("button", name="Pause").bounding_box()
    assert pause["y"] + pause["height"] <= PHONE["height"]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]


def test_the_keyboard_runs_it(page):
    page.keyboard.press("ArrowRight")  # getting ready is left out
    expect(page.locator("[data-part=phase]")).to_have_text("Work")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    expect(page.locator("[data-part=phase]")).to_have_text("Paused")
    expect(page.locator("[data-part=where]")).to_have_text("Round 1 of 5, interval 2 of 3")
    page.keyboard.press("Space")
    expect(page.locator("[data-part=phase]")).to_have_text("Work")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("[data-part=where]")).to_have_text("Round 1 of 5, interval 1 of 3")
    sent(page)
    assert changes() == [("jump", 0), ("jump", 1), ("pause", 0), ("resume", 0), ("jump", 0)]


def test_the_space_bar_pauses_after_a_click_too_and_presses_the_button_a_keyboard_has_reached(page):
    page.get_by_role("button", name="Next interval").click()
    page.keyboard.press("Space")
    expect(page.locator("[data-part=phase]")).to_have_text("Paused")
    page.get_by_role("button", name="Go on").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Next interval")).to_be_focused()
    page.keyboard.press("Space")
    sent(page)
    assert changes() == [("jump", 0), ("pause", 0), ("jump", 1)]


def test_a_finger_that_slips_presses_once(page):
    page.get_by_role("button", name="Add a round").dblclick()
    sent(page)
    assert changes() == [("rounds", 6)]


def test_to_a_round_and_an_interval_and_an_end_that_was_a_mistake(page):
    page.get_by_label("Round to go to").select_option("3")
    page.get_by_label("Interval to go to").select_option(label="Interval 2: group 1 at Pull up")
    page.get_by_role("button", name="Go", exact=True).click()
    expect(page.locator("[data-part=where]")).to_have_text("Round 3 of 5, interval 2 of 3")
    page.get_by_text("End the class early").click()
    page.get_by_role("button", name="End it now").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Done")
    page.get_by_role("button", name="Go on where it ended").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Work")
    expect(page.locator("[data-part=where]")).to_have_text("Round 3 of 5, interval 2 of 3")
    sent(page)
    assert changes() == [("jump", 7), ("end", 0), ("resume", 0)]


def test_what_is_pressed_without_a_connection_counts_at_once_and_is_sent_once(page):
    page.context.set_offline(True)
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="Add a round").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Paused")
    expect(page.locator("[data-part=where]")).to_contain_text("of 6")
    expect(page.locator("[data-part=link]")).to_contain_text("2 presses wait to be sent", timeout=15_000)
    assert changes() == []
    page.context.set_offline(False)
    sent(page)
    expect(page.locator("[data-part=link]")).to_have_text("")
    assert changes() == [("pause", 0), ("rounds", 6)]


def test_a_class_started_without_a_connection_is_started_when_it_is_back(open_page, staff_client, address):
    page = open_page(staff_client)
    page.goto(address)
    expect(page.get_by_role("button", name="Start the clock")).to_be_visible()
    page.wait_for_timeout(1_500)  # the server's time is known by then
    page.context.set_offline(True)
    page.get_by_role("button", name="Start the clock").click()
    page.get_by_role("button", name="Next interval").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Work")
    assert not ClassRun.objects.exists()
    page.context.set_offline(False)
    sent(page)
    assert changes() == [("jump", 0)]
    assert ClassRun.objects.get().starts_ms - 10_000 < RunChange.objects.get().at_ms


def test_presses_that_wait_outlive_a_reload(page):
    page.route("**/presses/", lambda route: route.abort("internetdisconnected"))
    page.get_by_role("button", name="Pause").click()
    expect(page.locator("[data-part=phase]")).to_have_text("Paused")
    page.unroute("**/presses/")
    page.reload()
    sent(page)
    assert changes() == [("pause", 0)]


def test_an_answer_that_is_lost_on_its_way_changes_nothing(page):
    lost = []

    def lose_the_first_answer(route: Route) -> None:
        answer = route.fetch()
        if lost:
            route.fulfill(response=answer)
        else:
            lost.append(json.loads(route.request.post_data)["presses"])
            route.abort("internetdisconnected")

    page.route("**/presses/", lose_the_first_answer)
    page.get_by_role("button", name="Pause").click()
    sent(page)
    assert len(lost[0]) == 1
    assert changes() == [("pause", 0)]


def test_a_coach_who_comes_second_joins_and_sees_what_the_first_one_presses(page, open_page, coach_client, address):
    second = open_page(coach_client)
    second.goto(address)
    expect(second.locator("[data-part=phase]")).not_to_be_empty()
    expect(second.get_by_role("button", name="Start the clock")).to_be_hidden()
    page.get_by_role("button", name="Pause").click()
    expect(second.locator("[data-part=phase]")).to_have_text("Paused")


def test_signed_out_says_so_and_keeps_what_waits(page, staff_client):
    kept = page.context.cookies()
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Pause").click()
    expect(page.locator("[data-part=link]")).to_contain_text("You are signed out", timeout=15_000)
    page.context.add_cookies(kept)
    sent(page)
    assert changes() == [("pause", 0)]


def test_a_press_the_server_refuses_is_explained_and_let_go(page):
    pause = page.get_by_role("button", name="Pause")
    pause.wait_for()
    ClassRun.objects.update(standing=False)
    pause.evaluate("(button) => button.click()")  # at once, before the page hears of it by itself
    expect(page.locator("[data-part=link]")).to_contain_text("This class has been started again since")
    assert changes() == []


def test_the_clocks_pages_meet_wcag_in_both_schemes(open_page, staff_client, address, session):
    control = open_page(staff_client, color_scheme="light", **PHONE)
    control.goto(address)
    found = findings_in_both_schemes(control)
    begin(control)
    athlete = Athlete.objects.first()
    phone, wall = (
        open_page(Client(), color_scheme="light", **PHONE),
        open_page(Client(), color_scheme="light", width=1920, height=1080),
    )
    phone.goto(reverse("sessions:phone", args=[link_issue(athlete=athlete, by=None).token]))
    wall.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
    for phase in ("Work", "Paused"):
        for page in (control, phone, wall):
            expect(page.locator("[data-part=phase]")).to_have_text(phase, timeout=15_000)
            page.evaluate(OPEN_ALL)
            found += findings_in_both_schemes(page)
        if phase == "Work":
            control.get_by_role("button", name="Pause").click()
    assert not found, "\n".join(found)


def test_text_of_twice_the_size_still_fits(open_page, staff_client, address, session):
    control, phone = open_page(staff_client, **PHONE), open_page(Client(), **PHONE)
    control.goto(address)
    begin(control)
    phone.goto(reverse("sessions:phone", args=[link_issue(athlete=Athlete.objects.first(), by=None).token]))
    expect(phone.locator("[data-live]")).to_be_visible(timeout=15_000)
    for page in (control, phone):
        page.evaluate("() => document.documentElement.style.setProperty('font-size', '200%')")
        page.evaluate(OPEN_ALL)
        assert page.evaluate(STICKING_OUT) == []
