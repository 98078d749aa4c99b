"""Publishing as a coach sees it: progress by itself, and the page of the new revision at the end."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes import claims
from sessions.models import Publication, StationOption
from sessions.publishing import run as publishing
from sessions.publishing.write import publication_request
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(open_page, coach_client, furnished) -> Page:
    gym.people(4)
    return open_page(coach_client)


def claimed(publication: Publication) -> Publication:
    """As a worker has it that has just begun."""
    state, claim = Publication.State.COMPUTING, uuid.uuid4()
    Publication.objects.filter(pk=publication.pk).update(state=state, claim=claim)
    publication.refresh_from_db()
    return publication


def test_a_coach_plans_a_session_and_publishes_it(page):
    gym.circuit()
    page.goto(reverse("sessions:week", args=[gym.this_monday() + timedelta(days=7)]))
    expect(page.get_by_role("link", name="Review and publish")).to_have_count(0)
    page.get_by_role("link", name="Add a session on Thursday").click()
    page.get_by_label("Circuit").select_option(label="Mill race")
    page.get_by_label("Class times").fill("06:00, 18:30")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status")).to_contain_text("Mill race is planned for Thursday.")

    page.get_by_role("link", name="Review and publish").click()
    expect(page.get_by_role("region", name="How the stations fall out")).to_contain_text("Pull up")
    page.wait_for_load_state()
    page.keyboard.press("Control+Enter")
    meter = page.get_by_role("status")
    expect(meter).to_contain_text("Waiting for the worker")
    publication = claimed(Publication.objects.get())
    publishing.compute(publication)
    expect(meter).to_contain_text("4 of 9 steps")
    publishing.render(publication)
    expect(meter).to_contain_text("9 of 9 steps")
    publishing.go_live(publication)
    expect(page.locator("main")).to_contain_text("This is what everyone sees since")
    expect(page.get_by_role("link", name="Board on A3")).to_be_visible()


def test_a_failure_is_told_and_the_page_stops_asking(page, coach):
    publication = claimed(publication_request(week=gym.planned_week(), by=coach))
    page.goto(reverse("sessions:publication", args=[publication.pk]))
    expect(page.get_by_role("progressbar")).to_be_visible()
    with claims.held(publication, OSError, "a defect"):
        raise OSError("Publishing stopped: no room on the disk.")
    expect(page.get_by_role("alert")).to_have_text("Publishing stopped: no room on the disk.")
    expect(page.get_by_role("progressbar")).to_have_count(0)


def test_a_publish_is_undone_with_one_press(page, coach):
    week = gym.planned_week()
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    second = publish(week, coach)
    page.goto(reverse("sessions:publication", args=[second.pk]))
    page.get_by_role("button", name="Bring back revision 1").click()
    expect(page.get_by_role("status")).to_contain_text("Waiting for the worker")
    publishing.run(Publication.objects.latest("revision").pk)
    expect(page.locator("main")).to_contain_text("It brings back revision 1.")
    third = Publication.objects.get(state=Publication.State.LIVE)
    rows = ("athlete", "station", "dose")
    assert set(third.targets.values_list(*rows)) == set(first.targets.values_list(*rows))
    page.get_by_role("link", name="Who changed since revision 2").click()
    expect(page.locator("tbody tr").first).to_contain_text("Row 8–15 kcal, was 5–9 kcal")
