"""The entry grid at the keyboard: type, Enter, next; two people at once; a connection that comes and goes."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes import models
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort
from athletes.trials import grid
from tests import gym
from tests.browser.axe import findings_in_both_schemes
from tests.conftest import client_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def day(db):
    """Three athletes, 2000 m (about 7:00 to 7:10 expected) and pull-ups; the 2000 m in one heat."""
    gym.furnish()
    people = gym.people(3)
    day = models.TestDay.objects.create(date=today(), starts_at="18:00")
    for slug in ("2000-m-row", "pull-ups-unbroken"):
        benchmark = Benchmark.objects.get(slug=slug)
        for athlete in people:
            models.TestSlot.objects.create(test_day=day, athlete=athlete, benchmark=benchmark)
    return day


@pytest.fixture
def address(day) -> str:
    return f"/test-days/{day.pk}/grid/"


@pytest.fixture
def page(open_page, staff_client, address) -> Page:
    page = open_page(staff_client)
    page.goto(address)
    return page


def cell(page: Page, row: int, column: int):
    return page.locator("tbody tr").nth(row).locator("[data-cell]").nth(column)


def typed(page: Page, row: int, column: int):
    return cell(page, row, column).locator("input")


def state(page: Page, row: int, column: int, name: str) -> None:
    expect(cell(page, row, column)).to_have_attribute("data-state", name)


def of_today() -> list[str]:
    return sorted(Effort.objects.standing().filter(performed_on=today()).values_list("typed", flat=True))


def test_type_enter_next(page):
    typed(page, 0, 0).focus()
    for text in ("7:02.0", "7:08.0", "7:12.0", "4"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    expect(typed(page, 1, 1)).to_be_focused()  # down the first column, and on at the top of the next
    for row, column in ((0, 0), (1, 0), (2, 0), (0, 1)):
        state(page, row, column, "saved")
    assert of_today() == ["4", "7:02.0", "7:08.0", "7:12.0"]
    expect(page.locator("[data-done]")).to_have_text("4")


def test_arrows_shift_enter_and_escape(page):
    typed(page, 1, 0).focus()
    page.keyboard.press("ArrowDown")
    expect(typed(page, 2, 0)).to_be_focused()
    page.keyboard.press("ArrowRight")
    expect(typed(page, 2, 1)).to_be_focused()
    page.keyboard.press("Shift+Enter")
    expect(typed(page, 1, 1)).to_be_focused()
    page.keyboard.type("99")
    page.keyboard.press("ArrowLeft")  # inside the text
    expect(typed(page, 1, 1)).to_be_focused()
    page.keyboard.press("Escape")
    expect(typed(page, 1, 1)).to_have_value("")
    page.keyboard.press("ArrowLeft")
    expect(typed(page, 1, 0)).to_be_focused()
    assert of_today() == []


def test_control_z_takes_back_the_last_one_kept(page):
    typed(page, 0, 0).focus()
    page.keyboard.type("7:02.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "saved")
    page.keyboard.press("ArrowUp")
    page.keyboard.type("7:01.0")
    page.keyboard.press("Enter")
    expect(cell(page, 0, 0)).to_have_attribute("data-kept", "7:01.0")
    page.keyboard.press("Control+z")
    expect(cell(page, 0, 0)).to_have_attribute("data-kept", "7:02.0")
    page.keyboard.press("Control+z")
    expect(cell(page, 0, 0)).to_have_attribute("data-effort", "0")
    expect(typed(page, 0, 0)).to_have_value("")
    assert of_today() == []
    assert Effort.objects.filter(performed_on=today()).count() == 3  # nothing is ever deleted


def test_a_slip_is_asked_about_and_enter_once_more_keeps_it(page):
    typed(page, 0, 0).focus()
    page.keyboard.type("3:20")
    page.keyboard.press("Enter")
    state(page, 0, 0, "questioned")
    expect(cell(page, 0, 0).locator(".grid-note")).to_contain_text(re.compile(r"Faster than expected|cannot be right"))
    expect(typed(page, 1, 0)).to_be_focused()  # the next one is called meanwhile
    assert of_today() == []
    assert not findings_in_both_schemes(page)
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    state(page, 0, 0, "saved")
    assert of_today() == ["3:20"]


def test_correcting_a_questioned_result_asks_anew(page):
    typed(page, 0, 0).fill("3:20")
    page.keyboard.press("Enter")
    state(page, 0, 0, "questioned")
    cell(page, 0, 0).get_by_role("button", name="Correct").click()
    page.keyboard.type("7:03.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "saved")
    assert of_today() == ["7:03.0"]


def test_nonsense_is_refused_and_stays_to_be_mended_even_after_a_reload(page, address):
    typed(page, 0, 0).fill("seven")
    page.keyboard.press("Enter")
    state(page, 0, 0, "refused")
    page.goto(address)
    expect(typed(page, 0, 0)).to_have_value("seven")
    state(page, 0, 0, "refused")
    typed(page, 0, 0).focus()
    page.keyboard.press("Escape")
    expect(typed(page, 0, 0)).to_have_value("")
    state(page, 0, 0, "")


def test_two_people_see_each_other_and_overwrite_nothing(page, open_page, make_account, address):
    other = open_page(client_of(make_account("staff", "second")))
    other.goto(address)
    typed(page, 0, 0).focus()
    page.keyboard.type("6:5")  # in the middle of typing
    typed(other, 0, 0).fill("7:02.0")
    other.keyboard.press("Enter")
    state(other, 0, 0, "saved")
    typed(other, 1, 0).fill("7:08.0")
    other.keyboard.press("Enter")
    expect(typed(page, 1, 0)).to_have_value("7:08.0", timeout=10_000)  # by itself, within seconds
    expect(typed(page, 0, 0)).to_have_value("6:5")
    page.keyboard.type("9.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "changed")
    expect(cell(page, 0, 0).locator(".grid-note")).to_contain_text("entered 7:02.0 meanwhile. You typed 6:59.0.")
    assert of_today() == ["7:02.0", "7:08.0"]
    cell(page, 0, 0).get_by_role("button", name="Use 6:59.0").click()
    state(page, 0, 0, "saved")
    expect(typed(other, 0, 0)).to_have_value("6:59.0", timeout=10_000)
    assert of_today() == ["6:59.0", "7:08.0"]


def test_what_came_in_behind_a_question_is_seen_once_it_is_taken_back(
    page, open_page, make_account, address, monkeypatch
):
    monkeypatch.setattr(grid, "SEEN_AGAIN", timedelta(0))
    typed(page, 0, 0).fill("17:02.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "questioned")
    other = open_page(client_of(make_account("staff", "second")))
    other.goto(address)
    for row, text in ((0, "7:02.0"), (1, "7:08.0")):
        typed(other, row, 0).fill(text)
        other.keyboard.press("Enter")
        state(other, row, 0, "saved")
    expect(typed(page, 1, 0)).to_have_value("7:08.0", timeout=10_000)  # told, and the other cell passed over
    typed(page, 0, 0).focus()
    page.keyboard.press("Escape")
    expect(typed(page, 0, 0)).to_have_value("7:02.0", timeout=10_000)


def test_without_a_connection_results_wait_and_are_sent_once(page, address):
    page.context.set_offline(True)
    typed(page, 0, 0).focus()
    for text in ("7:02.0", "7:08.0"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    state(page, 1, 0, "waiting")
    expect(page.locator("[data-link]")).to_have_text("No connection. 2 results wait on this device.")
    assert of_today() == []
    page.context.set_offline(False)
    state(page, 0, 0, "saved")
    state(page, 1, 0, "saved")
    expect(page.locator("[data-link]")).to_have_text("")
    assert of_today() == ["7:02.0", "7:08.0"]
    assert Effort.objects.filter(performed_on=today()).count() == 2


def test_an_answer_that_was_lost_is_asked_for_again_and_keeps_one(page, address):
    lost = []

    def lose(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch().status)  # kept by the server, and the answer never comes
            route.abort("internetdisconnected")
        else:
            route.continue_()

    page.route("**/grid/cells/", lose)
    typed(page, 0, 0).fill("7:02.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "saved")
    assert lost == [200]
    assert Effort.objects.filter(performed_on=today()).count() == 1


def test_what_waits_outlives_the_page(page, address):
    page.route("**/grid/cells/", lambda route: route.abort("internetdisconnected"))
    typed(page, 0, 0).fill("7:02.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "waiting")
    page.unroute("**/grid/cells/")
    page.goto(address)
    state(page, 0, 0, "saved")
    assert of_today() == ["7:02.0"]


def test_signed_out_nothing_typed_is_lost(page):
    page.context.clear_cookies(name="sessionid")
    typed(page, 0, 0).fill("7:02.0")
    page.keyboard.press("Enter")
    expect(page.locator("[data-link]")).to_contain_text("You are signed out. Sign in on another tab. 1 result waits")
    expect(typed(page, 0, 0)).to_have_value("7:02.0")


def test_a_correction_typed_while_the_first_is_on_its_way_follows_it(page):
    held = []
    page.route(
        "**/grid/cells/",
        lambda route: held.append(route) if route.request.method == "POST" and not held else route.continue_(),
    )
    typed(page, 0, 0).fill("7:02.0")
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowUp")
    page.keyboard.type("7:01.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "waiting")
    held[0].continue_()
    state(page, 0, 0, "saved")
    expect(cell(page, 0, 0)).to_have_attribute("data-kept", "7:01.0")
    assert of_today() == ["7:01.0"]


def test_a_personal_best_is_marked(page):
    typed(page, 0, 0).fill("6:57.0")
    page.keyboard.press("Enter")
    expect(cell(page, 0, 0).locator(".grid-best")).to_have_text("· personal best")


def test_the_stopwatch_fills_the_grid(page):
    page.clock.install()
    page.click("[data-watch-open]")
    page.click("[data-watch-start]")
    lanes = page.locator(".watch-tap")
    expect(lanes).to_have_count(3)
    page.clock.run_for(7 * 60_000 + 2_000)
    lanes.nth(0).click()
    page.clock.run_for(6_000)
    page.keyboard.press("2")
    expect(typed(page, 0, 0)).to_have_value(re.compile(r"^7:02\.\d$"))
    expect(typed(page, 1, 0)).to_have_value(re.compile(r"^7:08\.\d$"))
    state(page, 0, 0, "saved")
    state(page, 1, 0, "saved")
    expect(lanes.nth(2)).to_have_attribute("data-runs", "")
    page.locator("[data-lane-resume]").nth(1).click()  # tapped by mistake
    expect(typed(page, 1, 0)).to_have_value("")
    page.clock.run_for(4_000)
    lanes.nth(1).click()
    expect(typed(page, 1, 0)).to_have_value(re.compile(r"^7:12\.\d$"))
    state(page, 1, 0, "saved")
    assert len(of_today()) == 2


@pytest.fixture
def heats(day) -> list[str]:
    """Two heats of 2000 m, the first athlete by name last, and one test fewer: who stands in them, in their order."""
    row = Benchmark.objects.get(slug="2000-m-row")
    slots, (one, two) = list(day.slots.filter(benchmark=row)), models.Machine.objects.filter(type__engine="row")
    for slot, heat, machine in zip(slots, (2, 1, 1), (one, two, one), strict=True):
        models.TestSlot.objects.filter(pk=slot.pk).update(heat=heat, starts_at=timezone.now(), machine=machine)
    day.slots.exclude(benchmark=row).filter(athlete=slots[0].athlete).delete()
    return [slots[n].athlete.name for n in (2, 1, 0)]


def test_lanes_stand_as_the_machines_of_the_heat(heats, page):
    page.click("[data-watch-open]")
    expect(page.locator("[data-watch-heat] option")).to_have_text(["Heat 1", "Heat 2"])
    expect(page.locator("[data-lane-machine]")).to_have_text(["row 1", "row 2"])
    page.locator("[data-watch-open]").focus()
    page.keyboard.press("1")
    expect(page.locator(".watch-tap").first).to_have_attribute("data-runs", "")
    page.keyboard.press("1")
    expect(typed(page, 2, 0)).not_to_have_value("")  # the last one by name sits on the first machine


def test_read_by_heat_it_is_typed_heat_by_heat_and_stays_so(heats, page, address):
    seen = page.locator("[data-read=heat] [data-find]")
    typed(page, 2, 0).fill("7:0")
    page.select_option("[data-order]", "heat")
    expect(page.locator("[data-read=heat] tbody").nth(0).locator("th")).to_have_text(
        [re.compile("Heat 1.*2000 m row"), f"{heats[0]} row 1", f"{heats[1]} row 2"]
    )
    field = seen.nth(0).locator("input")
    expect(field).to_have_value("7:0")  # what was typed goes along
    field.fill("7:02.0")
    page.keyboard.press("Enter")
    page.keyboard.type("7:08.0")
    page.keyboard.press("Enter")
    expect(seen.nth(2).locator("input")).to_be_focused()  # on into the next heat
    expect(page.locator("[data-state=saved]")).to_have_count(2)
    page.goto(address)
    expect(seen.nth(1).locator("input")).to_have_value("7:08.0")
    expect(seen.nth(2).locator("input")).to_be_focused()
    page.select_option("[data-order]", "name")
    expect(typed(page, 2, 0)).to_have_value("7:02.0")
    assert not findings_in_both_schemes(page)


def test_a_name_is_found_and_the_next_is_called(heats, page):
    field = page.get_by_label("Find a name")
    field.fill("0001")
    expect(page.locator("[data-read=name] [data-find]:visible")).to_have_count(1)
    page.keyboard.press("Enter")
    page.keyboard.type("7:08.0")
    page.keyboard.press("Enter")
    page.keyboard.type("9")  # the next of the same athlete
    page.keyboard.press("Enter")
    expect(field).to_be_focused()
    page.keyboard.type("nobody")
    expect(page.get_by_text("Nobody on this list has such a name.")).to_be_visible()
    field.fill("")
    expect(page.locator("[data-state=saved]")).to_have_count(2)
    assert of_today() == ["7:08.0", "9"]


def test_enter_passes_over_what_nobody_planned_and_arrows_do_not(heats, page):
    typed(page, 2, 0).focus()
    page.keyboard.press("Enter")
    expect(typed(page, 1, 1)).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(typed(page, 0, 1)).to_be_focused()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+Enter")
    expect(typed(page, 2, 0)).to_be_focused()


def test_the_first_empty_cell_is_ready_but_brings_up_no_keyboard_on_touch(page, open_page, staff_client, address):
    expect(typed(page, 0, 0)).to_be_focused()
    page.keyboard.type("7:02.0")
    page.keyboard.press("Enter")
    state(page, 0, 0, "saved")
    page.goto(address)
    expect(typed(page, 1, 0)).to_be_focused()
    phone = open_page(staff_client, width=360, has_touch=True, is_mobile=True)
    phone.goto(address)
    state(phone, 0, 0, "saved")
    assert phone.evaluate("() => document.activeElement === document.body")


def test_lanes_that_run_outlive_the_page(page, address):
    page.click("[data-watch-open]")
    page.locator(".watch-tap").nth(1).click()
    expect(page.locator(".watch-tap").nth(1)).to_have_attribute("data-runs", "")
    page.goto(address)
    expect(page.locator(".watch-tap").nth(1)).to_have_attribute("data-runs", "")
    expect(page.locator("[data-lane-time]").nth(1)).not_to_have_text("0:00.0")


@pytest.mark.parametrize("width", [360, 1280, 1920])
def test_pages_of_a_test_day_are_accessible_and_fit(open_page, coach_client, day, address, width):
    gym.planned_week()
    Athlete.objects.filter(pk=day.slots.first().athlete_id).update(returned_on=today())
    page = open_page(coach_client, width=width, height=800, color_scheme="light")
    found = []
    for path in ("/test-days/", "/test-days/new/", f"/test-days/{day.pk}/", "/retests/", address):
        page.goto(path)
        page.evaluate("() => document.querySelectorAll('details').forEach((details) => (details.open = true))")
        if page.locator("[data-watch-open]").count():
            page.click("[data-watch-open]")
        found += findings_in_both_schemes(page)
        if page.evaluate("() => document.documentElement.scrollWidth > innerWidth"):
            found.append(f"{path} scrolls sideways")
    assert not found, "\n".join(found)


def test_what_needs_a_look_is_counted_here_and_elsewhere_and_a_key_leads_to_it(page, open_page, coach_client, address):
    look = page.locator("[data-look]")
    expect(look).to_be_hidden()
    for row, text in ((0, "3:20"), (2, "soon")):
        typed(page, row, 0).fill(text)
        page.keyboard.press("Enter")
    state(page, 0, 0, "questioned")
    state(page, 2, 0, "refused")
    expect(look).to_have_text("2 need a look")
    typed(page, 1, 0).focus()
    page.keyboard.press("Control+Enter")
    expect(typed(page, 2, 0)).to_be_focused()
    page.keyboard.press("Control+Enter")
    expect(typed(page, 0, 0)).to_be_focused()
    other = open_page(coach_client, 360, 740)
    other.goto(address)
    expect(other.locator("[data-elsewhere]")).to_have_text("2 need a look on another device (The staff).")
    typed(page, 2, 0).fill("stopped")
    page.keyboard.press("Enter")
    state(page, 2, 0, "saved")
    expect(look).to_have_text("1 needs a look")
    expect(typed(other, 2, 0)).to_have_value("stopped")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto("/test-days/")
    assert asked == ["beforeunload"]
    assert not other.evaluate("() => document.documentElement.scrollWidth > innerWidth")
