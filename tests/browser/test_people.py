"""The list of athletes: found while one types, and two who are one made one, and parted again."""

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete
from tests import gym
from tests.browser.axe import findings_in_both_schemes

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_who_is_twice_here_is_found_and_made_one(open_page, coach_client):
    gym.furnish()
    keep, gone, _ = gym.people(3)
    Athlete.objects.filter(pk=keep.pk).update(name="Łucja Holtvarg", board_name="Łucja")
    Athlete.objects.filter(pk=gone.pk).update(name="Holtvarg Lucja", board_name="Lucja H.")
    page = open_page(coach_client)
    page.goto("/athletes/")
    page.get_by_label("Name", exact=True).press_sequentially("lucja")
    expect(page.locator("#found tbody tr")).to_have_count(2)
    expect(page.locator("#found tbody th").first).to_have_text("Holtvarg Lucja")
    page.get_by_role("link", name="On the board").click()
    expect(page.locator("#found tbody th").first).to_have_text("Łucja Holtvarg")
    page.get_by_role("link", name="Twice here?").click()
    page.get_by_role("link", name="Look at both").click()
    assert not findings_in_both_schemes(page)
    first = page.locator("h1").inner_text()
    page.get_by_role("button", name="Make them one").click()
    expect(page.get_by_text("This can be undone for a day.")).to_be_visible()
    assert Athlete.objects.count() == 2
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("is an athlete again")).to_be_visible()
    assert Athlete.objects.count() == 3
    assert first.startswith("Twice here: keep")
