"""What is for time: counted up on the wall and on a phone, and the time that was reached logged with a thumb."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Athlete
from sessions.clock.write import now_ms, run_change, run_start
from sessions.models import Log, PublishedSession
from tests.browser.beginnings import this_week_for_time

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_piece_for_time_runs_and_is_logged(begin_with, open_page):
    begin_with(this_week_for_time)
    session, athlete = PublishedSession.objects.get(date=today()), Athlete.objects.first()
    token = link_issue(athlete=athlete, by=None).token
    run = run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms())
    run_change(run=run, key=uuid4(), kind="jump", at_ms=now_ms(), by=None, value=0)  # at once
    wall, phone = open_page(Client(), 1920, 1080), open_page(Client(), 360, 740)
    wall.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
    phone.goto(reverse("sessions:phone", args=[token]))
    for page in (wall, phone):
        expect(page.locator("[data-part=left]")).to_contain_text("0:", timeout=15_000)
    expect(wall.locator("[data-part=phase]")).to_have_text("For time")
    expect(wall.locator("[data-part=board] .wall-lines")).to_be_visible()
    # Capitals of 0.703 em read at 8 m by × 250 are 72 px of 1080; four people stand there in nearly that.
    size, across = wall.locator(".wall-lines").evaluate(
        "(t) => [parseFloat(getComputedStyle(t).fontSize), t.scrollWidth / t.parentElement.clientWidth]"
    )
    assert size >= 60
    assert across <= 1
    expect(wall.locator("[data-part=board] td.wall-expected").first).to_contain_text("–")
    expect(phone.locator("[data-part=round]")).to_contain_text("expect")

    phone.goto(f"{reverse('sessions:phone-log', args=[token])}?on={session.date}.{session.key}")
    phone.locator("[data-stations]:not([hidden])").get_by_label("Time reached").fill("14:32")
    phone.locator("input[name=rpe][value='8']").check()
    phone.wait_for_timeout(450)  # the finger that rated does not save
    phone.locator("[data-part=keep]").click()
    expect(phone.locator("[data-part=state]")).to_contain_text("RPE 8", timeout=15_000)
    phone.wait_for_timeout(500)
    kept = Log.objects.get()
    assert (kept.time_s, kept.rpe, kept.entries.count()) == (872, 8, 2)
