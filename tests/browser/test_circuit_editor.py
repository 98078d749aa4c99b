"""Writing a circuit: everyone's targets follow while it is typed, in text or in fields, and nothing typed is lost."""

import time

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Accustomed, Movement
from sessions.models import Circuit, CircuitDraft, Pin
from tests import gym

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHEET = "every minute, 27 min\n12-14 cal row\n5-7 strict pull-ups, or 11 ring rows\n10 goblet squats at 24 kg"
KEYS_A_SECOND = 6  # of somebody who types as one does on a Sunday evening


@pytest.fixture
def page(open_page, coach_client, furnished) -> Page:
    gym.people(4)
    page = open_page(coach_client)
    page.goto("/circuits/new/")
    return page


def write(page: Page, text: str) -> None:
    page.locator("#text").fill(text)


def field(page: Page, name: str):
    return page.locator(f"[name='{name}']")


def save(page: Page) -> None:
    page.keyboard.press("Control+s")


def stations(page: Page):
    """The movement of each station in the head of the room."""
    return page.locator("#room .room-movement")


def sums(page: Page, label: str):
    """The first station's figure in a line over the room."""
    line = page.locator(".room-sums tr").filter(has=page.get_by_role("rowheader", name=label, exact=True))
    return line.locator("td").first


def test_from_an_empty_page_to_the_room_with_keys_alone_in_under_forty_seconds(page):
    began = time.monotonic()
    page.keyboard.type(SHEET, delay=1000 / KEYS_A_SECOND)
    expect(stations(page)).to_have_text(["Row cal", "Pull up", "Goblet squat 24 kg"])
    took = time.monotonic() - began
    print(f"{len(SHEET)} keys and the room in {took:.1f} s")
    assert took < 40
    expect(page.locator(".sheet-said").nth(2)).to_contain_text("5–7 Pull up · a 11 Ring row")
    expect(page.locator("#room-people tr")).to_have_count(4)
    save(page)
    page.wait_for_selector("text=is saved.")
    circuit = Circuit.objects.get()
    assert (circuit.rotations, circuit.stations.count(), circuit.text) == (9, 3, SHEET)


def test_two_tabs_and_the_second_one_is_shown_both(page, open_page, coach_client):
    write(page, f"name: Mill pond\n{SHEET}")
    save(page)
    page.wait_for_selector("text=Mill pond is saved.")
    other = open_page(coach_client)
    other.goto(page.url)
    write(page, f"name: Mill pond\n{SHEET}".replace("27 min", "18 min"))
    save(page)
    page.wait_for_selector("text=Mill pond is saved.")
    write(other, f"name: Mill pond\n{SHEET}".replace("12-14 cal", "9 cal"))
    save(other)
    other.wait_for_selector("text=two versions")
    expect(other.locator(".versions .is-other")).to_have_count(4)
    assert Circuit.objects.get().rotations == 6
    other.click("text=Save yours over it")
    other.wait_for_selector("text=Mill pond is saved.")
    assert Circuit.objects.get().rotations == 9


def test_what_was_not_saved_is_found_again_after_the_browser_closed(page, open_page, coach_client):
    page.keyboard.type("12 cal row\n10 log h")
    page.wait_for_selector("text=Draft kept")
    page.keyboard.type("op")
    page.context.close()  # within the two seconds: what was typed last leaves with the page
    again = open_page(coach_client)
    again.goto("/circuits/")
    again.get_by_role("link", name="12 cal row").click()
    expect(again.locator("#text")).to_have_value("12 cal row\n10 log hop" if _kept_last() else "12 cal row\n10 log h")
    again.reload()
    expect(again.locator("#text")).to_have_value(again.locator("#text").input_value())
    again.get_by_role("button", name="Throw away the draft").click()
    again.get_by_role("button", name="Undo").click()
    expect(again.locator(".list-row").first).to_contain_text("12 cal row")


def _kept_last() -> bool:
    return CircuitDraft.objects.get().text.endswith("hop")


def test_eight_stations_fit_at_1280_and_letters_have_a_height(page):
    lines = ["12 cal row", "5 pull-ups", "11 ring rows", "10 goblet squats at 24 kg", "9 cal bike", "200 m run"]
    write(page, "\n".join([*lines, "7 ring rows", "3 pull-ups"]))
    expect(stations(page)).to_have_count(8)
    over = "e => e.scrollWidth - e.clientWidth"
    assert page.locator("html").evaluate(over) == page.locator(".room-scroll").evaluate(over) == 0
    tall = "all => all.map(e => e.getBoundingClientRect().height)"
    assert min(page.locator("#room-people .cell-dose").evaluate_all(tall)) >= 15
    assert max(page.locator("#room-people tr").evaluate_all(tall)) <= 29


def test_a_movement_that_is_not_there_is_put_right_and_made_in_place(page):
    page.keyboard.type("12 cal row\n10 burpe over the box")
    expect(page.locator("#room-way")).to_contain_text("the movement")
    page.get_by_role("button", name="make it").wait_for()
    page.keyboard.press("Alt+m")
    expect(page.get_by_label("Make", exact=True)).to_be_focused()
    expect(page.get_by_label("Make", exact=True)).to_have_value("Burpee over the box")
    expect(page.get_by_label("one takes")).to_have_value("5")
    page.keyboard.press("Tab")
    page.keyboard.type("5.5")
    page.keyboard.press("Enter")
    expect(page.locator("#made")).to_contain_text("Burpee over the box is made: repetitions, 5.5 s each.")
    expect(page.locator("#text")).to_have_value("12 cal row\n10 Burpee over the box")
    expect(page.locator("#text")).to_be_focused()
    expect(stations(page)).to_have_text(["Row cal", "Burpee over the box"])
    page.locator("#made").get_by_role("button", name="Undo").click()
    expect(page.locator("#made")).to_contain_text("Burpee over the box is archived.")
    assert Movement.objects.get(slug="burpee-over-the-box").archived


def test_a_guess_is_shown_and_another_one_taken(page):
    write(page, "10 squats at 20 kg\n12 cal rwo")
    expect(page.locator(".sheet-said").nth(1)).to_contain_text("read as")
    page.locator("#text").press("Alt+ArrowUp")
    expect(page.locator("#text")).to_have_value("12 cal rwo\n10 squats at 20 kg")


def test_fields_and_text_are_two_sides_of_one_thing(page):
    write(page, "12 cal row\n5 pull-ups")
    expect(page.locator(".sheet-said").nth(1)).to_contain_text("5 Pull up")
    page.locator("#text").press("Alt+Enter")
    expect(field(page, "stations.1.options.0.movement")).to_be_focused()
    field(page, "stations.1.options.0.dose").fill("8")
    page.locator("[data-add-option]").nth(1).click()
    field(page, "stations.1.options.1.movement").select_option("ring-row")
    field(page, "stations.1.options.1.dose").fill("12")
    page.locator("[data-up]").nth(1).click()
    expect(stations(page)).to_have_text(["Pull up", "Row cal"])
    page.keyboard.press("Alt+Enter")
    expect(page.locator("#text")).to_have_value("every minute, 4 rounds\n8 Pull up, or 12 Ring row\n12 cal Row")
    expect(page.locator("#text")).to_be_focused()
    page.locator("#text").press("Alt+Enter")
    page.locator("[data-remove-station]").nth(1).click()
    expect(stations(page)).to_have_text(["Pull up"])
    field(page, "name").fill("Pond")
    save(page)
    page.wait_for_selector("text=Pond is saved.")
    assert Circuit.objects.get().stations.count() == 1


def test_only_ways_of_measuring_that_the_movement_has_are_offered(page):
    page.locator("#text").press("Alt+Enter")
    page.click("text=Add a station")
    field(page, "stations.0.options.0.movement").select_option("goblet-squat")
    expect(field(page, "stations.0.options.0.dose_kind")).to_have_value("load_repetitions")
    expect(field(page, "stations.0.options.0.load_kg")).to_be_visible()
    page.locator("[data-load-way]").first.select_option("percent")
    expect(field(page, "stations.0.options.0.load_kg")).to_be_hidden()
    field(page, "stations.0.options.0.percent").fill("60")
    field(page, "stations.0.options.0.dose").fill("8")
    page.locator("[data-to-text]").click()
    expect(page.locator("#text")).to_have_value("every minute, 4 rounds\n8 Goblet squat at 60 %")


def test_more_work_at_a_station_shows_in_the_room_while_typing(page):
    write(page, "6 cal row")
    expect(sums(page, "as prescribed")).to_have_text("4")
    write(page, "20 cal row")
    expect(page.locator(".room-pick")).to_contain_text("less 4")


def test_the_day_is_switched_without_touching_the_circuit(page):
    write(page, "15 cal row")
    expect(page.locator(".room-facts")).to_contain_text("hard day: about 10 % left in the tank")
    page.get_by_label("easy", exact=True).check()
    expect(page.locator(".room-facts")).to_contain_text("easy day: about 45 % left in the tank")


def test_the_room_is_answered_for_without_leaving_the_editor(page):
    Movement.objects.filter(slug="ring-row").update(high_eccentric=True, introductory=10)
    write(page, "12 ring rows")
    page.get_by_role("button", name="Yes for all").click()
    expect(page.locator("#room")).to_contain_text("said to be used to it, 0 not.")
    expect(page.locator(".room-question")).to_have_count(0)
    expect(page.locator("#text")).to_have_value("12 ring rows")
    assert Accustomed.objects.filter(accustomed=True).exists()


def test_a_bad_window_keeps_what_was_typed_and_says_what_is_wrong(page):
    write(page, "name: Too short\n15 cal row in 75 s; long strokes")
    save(page)
    expect(page.get_by_role("alert")).to_contain_text("Nothing you typed is lost")
    expect(page.locator(".sheet-said").nth(1)).to_contain_text("longer than the interval of 60 s")
    assert not Circuit.objects.exists()
    write(page, "name: Too short\n15 cal row in 45 s; long strokes")
    save(page)
    page.wait_for_selector("text=Too short is saved.")


def test_two_athletes_by_hand_with_the_keyboard(open_page, coach_client, furnished):
    gym.people(4)
    planned = gym.planned_week().sessions.get()
    page = open_page(coach_client)
    page.goto(f"/circuits/{planned.circuit_id}/")
    page.locator("#room-people td[tabindex='0']").wait_for()
    page.keyboard.press("F6")
    for key in ("Space", "ArrowDown", "ArrowRight", "ArrowLeft"):
        page.keyboard.press(key)
    expect(page.locator("[data-why]")).not_to_have_text("")
    page.keyboard.press("h")
    page.keyboard.type("9")
    page.locator("#hand-reason").fill("long week")
    page.keyboard.press("Enter")
    expect(page.locator("[data-said]")).to_contain_text("Station 1 is set by hand for 2 athletes.")
    expect(page.locator(".room-pick")).to_contain_text("by hand 2")
    assert Pin.objects.standing().count() == 2
    page.locator("[data-said]").get_by_role("button", name="Undo").click()
    expect(page.locator("[data-said]")).to_contain_text("Taken back for 2.")
    assert not Pin.objects.standing().exists()
