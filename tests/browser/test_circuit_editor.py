"""Writing a circuit: everyone's targets follow while it is typed, and nothing typed is lost."""

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Accustomed, Movement
from sessions.models import Circuit
from tests import gym

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_TABS = 40


@pytest.fixture
def page(open_page, coach_client, furnished) -> Page:
    gym.people(4)
    page = open_page(coach_client)
    page.goto("/circuits/new/")
    return page


def field(page: Page, name: str):
    return page.locator(f"[name='{name}']")


def write(page: Page, base: str, movement: str, dose: str) -> None:
    field(page, f"{base}.movement").select_option(movement)
    field(page, f"{base}.dose").fill(dose)


def save(page: Page) -> None:
    page.get_by_role("button", name="Save", exact=True).click()


def summary(page: Page):
    """The movement of each station in the head of the room preview."""
    return page.locator("#room .room-movement")


def sums(page: Page, label: str):
    """The first station's figure in a line over the table of the room preview."""
    line = page.locator(".room-sums tr").filter(has=page.get_by_role("rowheader", name=label, exact=True))
    return line.locator("td").first


def test_a_circuit_is_written_seen_and_changed_before_it_is_saved(page):
    expect(page.locator("#room")).to_contain_text("The preview appears as soon as")
    field(page, "name").fill("Mill pond")
    write(page, "stations.0.options.0", "row", "15")
    expect(page.locator("#room tr[data-marks]")).to_have_count(4)
    page.click("text=Add a station")
    write(page, "stations.1.options.0", "pull-up", "20")
    page.locator("[data-add-option]").nth(1).click()
    write(page, "stations.1.options.1", "bike", "6")
    expect(summary(page)).to_have_text(["Row", "Pull up"])
    expect(page.locator("#room .room-swaps")).to_contain_text("Bike")

    page.locator("[data-up]").nth(1).click()
    expect(summary(page)).to_have_text(["Pull up", "Row"])
    page.click("text=Add a station")
    write(page, "stations.2.options.0", "goblet-squat", "10")
    field(page, "stations.2.options.0.load_kg").fill("24")
    expect(summary(page)).to_have_text(["Pull up", "Row", "Goblet squat"])
    page.locator("[data-remove-station]").nth(1).click()
    expect(summary(page)).to_have_text(["Pull up", "Goblet squat"])
    assert not Circuit.objects.exists()

    save(page)
    page.wait_for_selector("text=Mill pond is saved.")
    stations = Circuit.objects.get().stations.all()
    assert [[option.movement.slug for option in station.options.all()] for station in stations] == [
        ["pull-up", "bike"],
        ["goblet-squat"],
    ]


def test_more_work_at_a_station_shows_in_the_preview_while_typing(page):
    write(page, "stations.0.options.0", "row", "6")
    expect(sums(page, "as prescribed")).to_have_text("4")
    field(page, "stations.0.options.0.dose").fill("20")
    expect(sums(page, "less")).to_have_text("4")


def test_only_ways_of_measuring_that_the_movement_has_are_offered(page):
    field(page, "stations.0.options.0.movement").select_option("goblet-squat")
    expect(field(page, "stations.0.options.0.dose_kind")).to_have_value("load_repetitions")
    expect(field(page, "stations.0.options.0.load_kg")).to_be_visible()
    field(page, "stations.0.options.0.movement").select_option("pull-up")
    expect(field(page, "stations.0.options.0.dose_kind")).to_have_value("repetitions")
    expect(field(page, "stations.0.options.0.load_kg")).to_be_hidden()


def test_a_load_is_written_in_one_way_at_a_time(page):
    field(page, "name").fill("Heavy")
    write(page, "stations.0.options.0", "goblet-squat", "8")
    field(page, "stations.0.options.0.load_kg").fill("24")
    page.locator("[data-load-way]").first.select_option("percent")
    expect(field(page, "stations.0.options.0.load_kg")).to_be_hidden()
    field(page, "stations.0.options.0.percent").fill("60")
    field(page, "stations.0.options.0.least_dose").fill("6")
    expect(page.locator("#room thead")).to_contain_text("6–8 × 60 %")
    save(page)
    page.wait_for_selector("text=Heavy is saved.")
    [option] = Circuit.objects.get().stations.get().options.all()
    assert (option.load_kg, option.percent, option.least_dose) == (None, 60, 6)
    expect(field(page, "stations.0.options.0.percent")).to_be_visible()


def test_the_day_is_switched_without_touching_the_circuit(page):
    write(page, "stations.0.options.0", "row", "15")
    expect(page.locator(".room-facts")).to_contain_text("hard day: about 10 % left in the tank")
    page.get_by_label("easy", exact=True).check()
    expect(page.locator(".room-facts")).to_contain_text("easy day: about 45 % left in the tank")


def test_the_room_is_answered_for_without_leaving_the_editor(page):
    Movement.objects.filter(slug="ring-row").update(high_eccentric=True, introductory=10)
    field(page, "name").fill("Rings")
    write(page, "stations.0.options.0", "ring-row", "12")
    page.get_by_role("button", name="Yes for all").click()
    expect(page.locator("#room")).to_contain_text("said to be used to it, 0 not.")
    expect(page.locator(".room-question")).to_have_count(0)
    expect(field(page, "name")).to_have_value("Rings")
    assert Accustomed.objects.filter(accustomed=True).exists()


def test_a_bad_window_keeps_what_was_typed_and_says_what_is_wrong(page):
    field(page, "name").fill("Too short")
    write(page, "stations.0.options.0", "row", "15")
    field(page, "stations.0.work_window_s").fill("2")
    field(page, "stations.0.note").fill("long strokes")
    save(page)
    window = field(page, "stations.0.work_window_s")
    expect(window).to_have_attribute("aria-invalid", "true")
    sentence = page.locator(f"[id='{window.get_attribute('aria-describedby')}']")
    expect(sentence).to_contain_text("greater than or equal to 5")
    expect(page.get_by_role("alert")).to_contain_text("Nothing you typed is lost")
    values = ("name", "stations.0.note", "stations.0.options.0.movement", "stations.0.options.0.dose")
    assert [field(page, name).input_value() for name in values] == ["Too short", "long strokes", "row", "15"]
    assert not Circuit.objects.exists()

    window.fill("45")
    save(page)
    page.wait_for_selector("text=Too short is saved.")


def test_the_keyboard_alone_is_enough(page):
    def tab_to(selector: str) -> None:
        for _ in range(MOST_TABS):
            page.keyboard.press("Tab")
            if page.evaluate("(selector) => document.activeElement.matches(selector)", selector):
                return
        raise AssertionError(f"The keyboard does not reach {selector}")

    tab_to("[name=name]")
    page.keyboard.type("By hand")
    tab_to("[data-movement]")
    page.keyboard.type("Row")
    tab_to("[name$='.dose']")
    page.keyboard.type("12")
    tab_to("[data-add-option]")
    page.keyboard.press("Enter")
    page.keyboard.type("Bike")
    tab_to("[name$='.dose']")
    page.keyboard.type("10")
    tab_to("[data-add-station]")
    page.keyboard.press("Space")
    page.keyboard.type("Pull")
    tab_to("[name$='.dose']")
    page.keyboard.type("6")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=By hand is saved.")
    movements = Circuit.objects.get().stations.values_list("options__movement__slug", flat=True)
    assert list(movements) == ["row", "bike", "pull-up"]


def test_the_keyboard_stays_in_place_when_its_button_is_taken_out(page):
    page.click("text=Add a station")
    page.locator("[data-add-option]").nth(1).click()
    page.locator("[data-remove-option]").nth(2).press("Enter")
    assert focused(page) == "Add a swap: something easier"
    page.locator("[data-remove-station]").nth(1).press("Enter")
    assert focused(page) == "Take this station out"
    page.keyboard.press("Enter")
    assert focused(page) == "Add a station"


def focused(page: Page) -> str:
    return page.evaluate("() => document.activeElement.ariaLabel ?? document.activeElement.textContent")
