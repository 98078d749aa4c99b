"""A spreadsheet in pounds: read, looked at, kept, and taken back."""

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete, Effort
from tests import gym
from tests.browser.axe import findings_in_both_schemes

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASTED = (
    "Athlete\tLift\tWeight\tUnit\tReps\tDate\n"
    "Athlete 0000\tGoblet squat\t75\tlb\t5\t2025-11-03\n"
    "Nora Holtvarg\tGoblet squat\t20\tkg\t5\t2025-11-03\n"
    "Athlete 0001\tGoblet squat\t440\tlb\t5\t2025-11-03\n"
    "Average\t\t178\t\t\t\n"
)


def test_loads_in_pounds_come_in_as_such_and_go_again(open_page, coach_client):
    gym.furnish()
    gym.people(2)
    page = open_page(coach_client)
    page.goto("/athletes/import/")
    page.get_by_label("Or paste a table").fill(PASTED)
    page.get_by_role("button", name="Look at the file").click()
    expect(page.get_by_label("Weight")).to_have_value("load")
    expect(page.get_by_label("Unit", exact=True)).to_have_value("unit")
    assert not findings_in_both_schemes(page)
    page.get_by_role("button", name="Check the whole file").click()
    expect(page.locator("#what-was-found")).to_contain_text("34.02 kg × 5")
    page.get_by_role("link", name="Left out (1)").click()
    expect(page.get_by_text("This row sums up others")).to_be_visible()
    asked = page.get_by_label("Keep row 4: Athlete 0001, Weight")
    expect(asked).not_to_be_checked()
    assert not findings_in_both_schemes(page)
    page.get_by_label("Add the 1 athlete who is not here yet").check()
    page.get_by_role("button", name="Keep what was found").click()
    expect(page.get_by_text("2 results are kept")).to_be_visible()
    kept = Effort.objects.exclude(import_key=None)
    assert sorted(round(value, 1) for value in kept.values_list("value", flat=True)) == [20.0, 34.0]
    page.get_by_text("Take this import back").click()
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Nothing of this file counts any more")).to_be_visible()
    assert not kept.standing().exists()
    assert not Athlete.objects.filter(name="Nora Holtvarg").exists()


def test_a_questioned_row_that_is_ticked_is_kept_and_its_import_says_so(open_page, coach_client):
    gym.furnish()
    gym.people(2)
    page = open_page(coach_client)
    page.goto("/athletes/import/")
    page.get_by_label("Or paste a table").fill(PASTED)
    page.get_by_role("button", name="Look at the file").click()
    address = page.url
    page.get_by_role("button", name="Check the whole file").click()
    asked = page.get_by_label("Keep row 4: Athlete 0001, Weight")
    assert f"/{asked.get_attribute('value')}/" not in address
    asked.check()
    page.get_by_role("button", name="Keep what was found").click()
    expect(page).to_have_url(address)
    expect(page.get_by_text("2 results are kept")).to_be_visible()


def test_ticks_stay_while_another_list_is_looked_at(open_page, coach_client, monkeypatch):
    monkeypatch.setattr("athletes.importing.views.PAGE", 2)
    gym.furnish()
    gym.people(2)
    more = "".join(f"New Body {letter}\tGoblet squat\t20\tkg\t5\t2025-11-03\n" for letter in "ABC")
    page = open_page(coach_client)
    page.goto("/athletes/import/")
    page.get_by_label("Or paste a table").fill(PASTED + more)
    page.get_by_role("button", name="Look at the file").click()
    page.get_by_role("button", name="Check the whole file").click()
    ticks = [page.get_by_label("Keep row 4: Athlete 0001, Weight"), page.get_by_label("who are not here yet")]
    for tick in ticks:
        tick.check()
    page.get_by_role("link", name="Not here yet (4)").click()
    expect(page.locator("#what-was-found")).to_contain_text("New Body A")
    page.get_by_role("link", name="Next").click()
    expect(page.locator("#what-was-found")).to_contain_text("New Body C")
    page.get_by_role("link", name="New results (5)").click()
    expect(page.locator("#what-was-found")).to_contain_text("34.02 kg × 5")
    for tick in ticks:
        expect(tick).to_be_checked()
    with page.expect_download():
        page.get_by_role("link", name="All of it as a file").click()
    page.get_by_role("button", name="Keep what was found").click()
    expect(page.get_by_text("6 results are kept")).to_be_visible()


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1280, 800)])
def test_nothing_stands_out_of_the_page(open_page, coach_client, width, height):
    gym.furnish()
    page = open_page(coach_client, width, height)
    page.goto("/athletes/import/")
    page.get_by_label("Or paste a table").fill(PASTED)
    page.get_by_role("button", name="Look at the file").click()
    for button in ("Check the whole file", "Keep what was found"):
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
        page.get_by_role("button", name=button).click()
