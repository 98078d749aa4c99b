"""The floor sheet on a tablet: two taps and the phone and the wall have it; nothing is lost when the network drops."""

import json
from io import BytesIO
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Account, Athlete
from coachhub.celery import app
from sessions.floor.attendance import attendance_mark
from sessions.floor.write import dose_change
from sessions.models import Attendance, Log, Pin, PublishedSession, Target
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, tap_on, target_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TABLET = {"width": 1280, "height": 800, "has_touch": True}
PHONE = {"width": 360, "height": 740, "has_touch": True, "is_mobile": True}
NAMES = [f"A{n:04d}" for n in range(6)]
FINGER = 44  # px


@pytest.fixture
def session(begin_with) -> PublishedSession:
    begin_with(this_week_for_six)
    return PublishedSession.objects.get(date=today())


def this_week_for_six(coach: Account) -> None:
    gym.people(6)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.get(board_name="A0002")


@pytest.fixture
def open_sheet(open_page, session):
    def open_as(client: Client, hour: str = HOUR, **size) -> Page:
        page = open_page(client, **(size or TABLET))
        page.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour={hour}")
        return page

    return open_as


@pytest.fixture
def worker(monkeypatch):
    """What is sent to the worker is done at once."""
    app.loader.import_default_modules()
    monkeypatch.setattr(type(app), "send_task", lambda self, name, arguments: self.tasks[name].apply(arguments))


def row(page: Page, name: str) -> Locator:
    return page.locator(f"tr[data-who={name}]")


def dose(page: Page, name: str, station: int) -> Locator:
    return row(page, name).locator(f"[data-station='{station}'] .floor-dose")


def chooses(page: Page, act: str) -> Locator:
    page.wait_for_timeout(300)  # a finger that opened the menu does not choose in it
    return page.locator(f"[data-menu] [data-do={act}]")


def shown_names(page: Page) -> list[str]:
    return [one.get_attribute("data-who") for one in page.locator("tr[data-who]").all() if one.is_visible()]


def test_two_taps_reach_the_phone_and_the_wall(open_sheet, open_page, session, athlete, coach_client, worker):
    # The wall shows today's board until the last class is over, at whatever hour this is tried
    PublishedSession.objects.filter(pk=session.pk).update(hours=[*session.hours, "23:58"])
    phone, wall = open_page(Client(), **PHONE), open_page(Client(), width=1920, height=1080)
    phone.goto(reverse("sessions:phone", args=[link_issue(athlete=athlete, by=None).token]))
    wall.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
    before = target_of(session, athlete, 1).dose
    station = phone.locator("tr[data-station='1']")
    expect(station.locator(".plan-dose .figure")).to_have_text(f"{before:g}")
    expect(wall.locator(".w-who").get_by_text("A0002")).to_be_visible()

    page = open_sheet(coach_client)
    dose(page, "A0002", 1).tap()
    chooses(page, "easier").tap()
    expect(dose(page, "A0002", 1)).to_contain_text("by hand")
    expect(page.locator("[data-said]")).to_contain_text("A0002: changed")

    after = target_of(session, athlete, 1).dose
    assert after < before
    expect(station.locator(".plan-dose .figure")).to_have_text(f"{after:g}", timeout=5_000)  # by itself
    expect(station).to_contain_text("set by your coach")

    page.locator("[data-said]").get_by_role("button", name="Undo").tap()
    expect(dose(page, "A0002", 1)).not_to_contain_text("by hand")
    expect(page.locator("[data-said]")).to_contain_text("A0002: as before")
    assert target_of(session, athlete, 1).dose == before

    dose(page, "A0002", 1).tap()
    chooses(page, "rest").tap()
    expect(dose(page, "A0002", 1)).to_contain_text("rest")
    dose(page, "A0002", 1).tap()
    chooses(page, "undo").tap()
    expect(dose(page, "A0002", 1)).not_to_contain_text("by hand")


def test_a_dose_that_another_tablet_changed_is_not_changed_blindly(open_sheet, session, athlete, coach_client, owner):
    page, held = open_sheet(coach_client), []
    page.route("**/rows/**", lambda route: held.append(route))  # the tablet has not heard of it yet
    dose_change(session=session, tap=tap_on(target_of(session, athlete, 1), "harder"), by=owner)
    stands = target_of(session, athlete, 1).dose
    dose(page, "A0002", 1).tap()
    chooses(page, "easier").tap()
    expect(page.locator("[data-said]")).to_contain_text("The owner changed this dose meanwhile")
    expect(dose(page, "A0002", 1).locator(".figure")).to_have_text(f"{stands:g}")
    assert Pin.objects.count() == 1
    for route in held:
        route.continue_()


def test_the_keyboard_alone_changes_a_dose(open_sheet, session, athlete, coach_client):
    page = open_sheet(coach_client)
    dose(page, "A0002", 2).focus()
    page.keyboard.press("Enter")
    expect(chooses(page, "easier")).to_be_focused()
    page.keyboard.press("Escape")
    expect(dose(page, "A0002", 2)).to_be_focused()
    page.keyboard.press("Enter")
    for _ in range(2):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(dose(page, "A0002", 2)).to_contain_text("Ring row")
    expect(dose(page, "A0002", 2)).to_be_focused()
    assert target_of(session, athlete, 2).rung == 1


def test_the_menu_says_what_harder_asks_and_moves_nothing_under_the_finger(open_sheet, session, athlete, coach_client):
    Target.objects.filter(session=session, athlete=athlete, station=1).update(rung=0, dose=24)
    page = open_sheet(coach_client)
    held = []
    page.route("**/ahead/**", lambda route: held.append(route))
    with page.expect_request("**/ahead/**"):
        dose(page, "A0002", 1).click()
    before = chooses(page, "swap").bounding_box()
    held.pop().continue_()
    expect(page.locator(".floor-menu-ahead")).to_contain_text("Harder: More than is written (15).")
    assert chooses(page, "swap").bounding_box() == before
    expect(chooses(page, "swap")).to_contain_text("kcal Bike")
    page.get_by_role("link", name="Why this much").click()
    expect(page.get_by_role("heading", name="Arithmetic")).to_be_visible()


def test_staff_see_doses_that_they_cannot_tap(open_sheet, staff_client):
    page = open_sheet(staff_client)
    expect(row(page, "A0002").locator("span.floor-dose")).to_have_count(3)
    expect(page.locator("button.floor-dose")).to_have_count(0)


def test_attendance_by_one_tap_is_counted_and_seen_by_the_other_tablet(open_sheet, staff_client, coach_client):
    first, second = open_sheet(staff_client), open_sheet(coach_client)
    for name in NAMES[:3]:
        row(first, name).get_by_role("button", name="here").tap()
    row(first, NAMES[0]).get_by_role("button", name="here").tap()
    expect(first.locator("[data-said]")).to_contain_text("taken back")  # the server has answered the last tap
    expect(first.locator(".floor-here")).to_contain_text("2 of 6 here")
    second.evaluate("() => dispatchEvent(new Event('online'))")  # asks again, as it does every few seconds
    expect(second.locator(".floor-here")).to_contain_text("2 of 6 here")
    assert set(Attendance.objects.values_list("athlete__board_name", flat=True)) == {"A0001", "A0002"}
    # The two who are here are dealt over the stations, with the second one where the first was that did not come.
    row(first, NAMES[3]).get_by_role("button", name="here").tap()
    expect(first.locator("[data-said]")).to_have_text("A0003: here. Starts at 1 Row.")
    expect(first.locator("[data-group-of='0'] [data-athlete]", has_text="A0003")).to_be_visible()
    row(first, NAMES[3]).get_by_role("button", name="here").tap()
    expect(first.locator(".floor-here")).to_contain_text("2 of 6 here")
    second.get_by_label("Here only").check()
    second.evaluate("() => dispatchEvent(new Event('online'))")
    expect(row(second, "A0003")).to_be_hidden()  # may have asked while A0003 was here
    assert shown_names(second) == ["A0001", "A0002"]


def test_names_stations_and_logs_choose_who_is_shown(open_sheet, staff_client):
    page = open_sheet(staff_client)
    page.get_by_label("Find by name").fill("athlete 0004")
    assert shown_names(page) == ["A0004"]
    page.get_by_label("Find by name").fill("nobody")
    expect(page.locator("[data-none-found]")).to_be_visible()
    page.get_by_label("Find by name").fill("")
    page.get_by_label("Starts at").select_option(label="2 Pull up")
    assert set(shown_names(page)) == {"A0001", "A0004"}


def test_a_class_is_logged_without_a_hand_off_the_keyboard(open_sheet, staff_client):
    page = open_sheet(staff_client)
    page.get_by_text("Logs", exact=True).click()
    page.locator("[data-rpe]").first.focus()
    order = shown_names(page)
    for rpe in "678":
        page.keyboard.type(rpe)
        page.keyboard.press("Enter")
    expect(page.locator(".floor-counts")).to_contain_text("3 of 6 logged")
    expect(row(page, order[3]).locator("[data-rpe]")).to_be_focused()
    logged = dict(Log.objects.values_list("athlete__board_name", "rpe"))
    assert logged == dict(zip(order, (6, 7, 8), strict=False))
    page.get_by_label("Has not logged").check()
    assert shown_names(page) == order[3:]


def test_nothing_tapped_without_a_network_is_lost_or_done_twice(open_sheet, session, athlete, coach_client):
    page = open_sheet(coach_client)
    page.context.set_offline(True)
    row(page, "A0001").get_by_role("button", name="here").tap()
    dose(page, "A0002", 1).tap()
    chooses(page, "easier").tap()
    page.get_by_text("Logs", exact=True).tap()
    row(page, "A0003").locator("[data-rpe]").select_option("7")
    row(page, "A0003").get_by_role("button", name="As planned").tap()
    expect(page.locator("[data-link]")).to_contain_text("3 taps wait on this device")
    expect(page.locator(".floor-here")).to_contain_text("1 of 6 here")
    assert not Attendance.objects.exists()

    # The answers to what is sent get lost once: the server has done it, and the page sends it again.
    lost = []

    def lose(route) -> None:
        lost.append(json.loads(route.request.post_data)["key"])
        route.fetch()
        route.abort("internetdisconnected")

    page.route("**/attendance/", lose, times=1)
    page.route("**/doses/", lose, times=1)
    page.route("**/logs/", lose, times=1)
    page.context.set_offline(False)
    for _ in range(4):
        page.evaluate("() => dispatchEvent(new Event('online'))")
        page.wait_for_timeout(300)
    expect(page.locator(".floor-counts")).to_contain_text("1 of 6 logged", timeout=20_000)
    expect(page.locator("[data-link]")).to_be_hidden()
    assert len(set(lost)) == 3
    assert [Attendance.objects.count(), Pin.objects.count(), Log.objects.count()] == [1, 1, 1]
    assert page.evaluate("() => Object.keys(localStorage).filter((name) => name.startsWith('floor'))") == []


def test_taps_survive_that_the_page_is_closed(open_sheet, coach_client):
    page = open_sheet(coach_client)
    page.route("**/attendance/", lambda route: route.abort("internetdisconnected"))
    row(page, "A0001").get_by_role("button", name="here").tap()
    expect(page.locator("[data-link]")).to_contain_text("1 tap waits")
    page.unroute("**/attendance/")
    with page.expect_response("**/attendance/"):
        page.reload()
    expect(page.locator(".floor-here")).to_contain_text("1 of 6 here")
    expect(page.locator("[data-link]")).to_be_hidden()
    assert Attendance.objects.count() == 1


def test_a_log_keeps_the_focus_and_what_is_chosen_when_rows_come_anew(open_sheet, session, staff_client):
    page = open_sheet(staff_client)
    page.get_by_text("Logs", exact=True).click()
    row(page, "A0002").locator("[data-rpe]").select_option("7")
    row(page, "A0002").locator("[data-rpe]").focus()
    came = Athlete.objects.get(board_name="A0002")
    attendance_mark(session=session, athlete_id=came.pk, hour=HOUR, by=None)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    expect(page.locator(".floor-here")).to_contain_text("1 of 6 here")
    expect(row(page, "A0002").locator("[data-rpe]")).to_be_focused()
    expect(row(page, "A0002").locator("[data-rpe]")).to_have_value("7")


def test_pain_appears_by_itself_and_goes_when_it_was_seen(open_page, session, athlete, staff_client):
    page = open_page(staff_client)
    page.clock.install()
    page.goto("/")
    notice = page.get_by_role("alert", name="Pain and stops")
    expect(notice).to_have_count(0)
    facts = {"session": session, "session_key": session.key, "date": session.date, "done_at": "2026-01-01T06:00Z"}
    log = Log.objects.create(key=uuid4(), athlete=athlete, source="phone", pain=True, note="left knee", **facts)
    for _ in range(4):  # it asks every twenty seconds, and an answer of a busy machine may miss one of them
        page.clock.run_for(21_000)
        page.wait_for_timeout(1_000)
        if notice.count():
            break
    expect(notice).to_contain_text("left knee")
    notice.get_by_role("button", name="Seen").focus()
    page.keyboard.press("Enter")
    expect(notice).to_have_count(0)
    expect(page.locator("#flags")).to_be_focused()
    log.refresh_from_db()
    assert log.seen_by.username == "staff"


def test_the_notice_says_when_it_cannot_be_asked_for(open_page, session, staff_client):
    page = open_page(staff_client)
    page.clock.install()
    page.goto("/")
    page.context.set_offline(True)
    page.clock.run_for(21_000)
    late = page.locator("[data-flags-late]")
    expect(late).to_contain_text("there is no connection")
    page.context.set_offline(False)
    page.clock.run_for(21_000)
    expect(late).to_be_hidden()
    page.context.clear_cookies()
    page.clock.run_for(21_000)
    expect(late).to_contain_text("you are signed out")


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_everything_a_finger_meets_is_large_enough_and_nothing_sticks_out(open_sheet, coach_client, size):
    page = open_sheet(coach_client, **size)
    small = """(least) => [...document.querySelectorAll("main :is(button, select, input[type=search], a)")]
        .filter((node) => node.checkVisibility() && !node.closest(".small, .skip"))
        .map((node) => [node.getBoundingClientRect(), node.textContent.trim()])
        .filter(([box]) => box.height < least - 0.5)
        .map(([box, words]) => `${words}: ${box.width} × ${box.height}`)"""
    for mode in ("Doses", "Logs"):
        page.get_by_text(mode, exact=True).tap()
        assert page.evaluate(small, FINGER) == []
        assert page.evaluate("() => document.documentElement.scrollWidth") <= size["width"]
    page.get_by_text("Doses", exact=True).tap()
    dose(page, "A0002", 1).tap()
    menu = page.locator("[data-menu]").bounding_box()
    assert menu["x"] >= 0
    assert menu["x"] + menu["width"] <= size["width"]
    assert menu["y"] + menu["height"] <= size["height"]


def test_sixteen_athletes_print_on_one_page_of_a4(open_page, session, coach, coach_client):
    gym.people(10)
    again = publish(session.publication.week, coach).sessions.get(date=today())
    page = open_page(coach_client)
    page.goto(f"{reverse('sessions:floor', args=[again.pk])}?hour={HOUR}")
    printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    assert len(printed.pages) == 1
    words = printed.pages[0].extract_text()
    assert all(f"A{n:04d}" in words for n in range(16))
    assert Target.objects.filter(session=again).count() == 48
    width, height = printed.pages[0].mediabox[2:]
    assert (round(width), round(height)) == (842, 595)  # A4 across, in points
