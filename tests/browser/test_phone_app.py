"""The athlete's page as an app: opens without a network, says how old it is, renews itself, forgets a dead link."""

import re
import time
from datetime import datetime, timedelta
from threading import Event

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.gym.read import gym_zone
from athletes.links.keys import cookie_of, key_in
from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete, Link
from sessions.phone import app_views as phone_app
from sessions.phone import views as phone
from tests.browser.beginnings import this_week_and_next_for_two
from tests.phones import at

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PATIENT_S = 60
HEADINGS = {
    "phone": "Mill race",
    "phone-week": "This week and next",
    "phone-log": "Log",
    "phone-numbers": "My numbers",
    "phone-progress": "My progress",
    "phone-settings": "Settings",
}
KEPT = """async () => Promise.all((await caches.keys()).map(
    async (name) => (await (await caches.open(name)).keys()).length))"""
UNKNOWN = "This phone does not know you any more"
UPDATE = "async () => { const got = await navigator.serviceWorker.ready; await got.update(); }"
# Browsers do not agree on whether a page that comes from the phone itself is told that it is offline.
SEEN = re.compile(r"Seen today \d\d:\d\d(, you are offline|; the network does not answer)\.")


@pytest.fixture
def link(begin_with) -> Link:
    begin_with(this_week_and_next_for_two)
    return link_issue(athlete=Athlete.objects.first(), by=None)


@pytest.fixture
def page(open_page, link) -> Page:
    """Today's page, visited once, with everything on the phone that it wants to keep."""
    page = open_page(Client(), width=360, height=740, has_touch=True, is_mobile=True)
    page.goto(whole(link))
    wait_until_kept(page)
    return page


def whole(link: Link, name: str = "phone") -> str:
    """The address that is printed, and that an earlier version had everywhere."""
    return reverse(f"sessions:{name}", args=[link.token])


def names_of_cookies(page: Page) -> set[str]:
    return {cookie["name"] for cookie in page.context.cookies()}


def wait_until_kept(page: Page) -> None:
    wait_for(page, "async () => (await navigator.serviceWorker.ready).active.state === 'activated'")
    wait_for(page, f"async () => (await ({KEPT})()).some((count) => count > 20)")


def wait_for(page: Page, holds: str) -> None:
    """Playwright itself does not wait for asynchronous functions: it takes the promise of an answer for the answer."""
    deadline = time.monotonic() + PATIENT_S
    while not page.evaluate(holds):
        assert time.monotonic() < deadline, holds
        page.wait_for_timeout(50)


def test_every_page_opens_without_a_network_after_one_visit_and_says_how_old_it_is(page, link):
    page.context.set_offline(True)
    for name, heading in HEADINGS.items():
        page.goto(at(link, name))
        expect(page.get_by_role("heading", level=1)).to_have_text(heading)
        expect(page.locator("[data-seen-line]")).to_contain_text(SEEN)
        assert page.evaluate("() => getComputedStyle(document.body).backgroundColor") == "rgb(246, 243, 236)"
    page.goto(at(link))
    page.get_by_role("link", name="Log it").first.tap()  # an address that was never asked for
    expect(page.get_by_role("heading", level=2)).to_have_text("Mill race")


def test_it_is_said_too_when_the_network_goes_while_the_page_is_open_and_taken_back_after(page):
    line = page.locator("[data-seen-line]")
    expect(line).to_be_hidden()
    page.context.set_offline(True)
    expect(line).to_contain_text("you are offline")
    page.context.set_offline(False)
    expect(line).to_be_hidden()


def test_a_page_kept_yesterday_shows_todays_session_and_does_not_call_the_old_one_today(page, link):
    tomorrow = datetime.now(gym_zone()).replace(hour=12) + timedelta(days=1)
    page.context.set_offline(True)
    page.clock.set_fixed_time(tomorrow)
    page.goto(at(link))
    session = page.locator("main > section[data-session]")
    expect(session).to_have_attribute("data-date", tomorrow.date().isoformat())
    expect(page.locator("[data-day-title]")).to_have_text("Today")
    expect(page.locator("[data-seen-line]")).to_contain_text("Seen yesterday")
    expect(session.locator("[data-logged]")).to_contain_text("Not logged yet.")
    page.goto(at(link, "phone-log"))
    expect(page.locator("[data-part=when]")).to_contain_text(f"{tomorrow:%A} {tomorrow.day}")


def test_when_the_weeks_that_are_kept_are_over_it_says_so(page, link):
    page.context.set_offline(True)
    page.clock.set_fixed_time(timezone.now() + timedelta(days=30))
    page.goto(at(link))
    expect(page.get_by_role("heading", level=1)).to_have_text("No session yet")
    expect(page.locator("main > section[data-session]")).to_have_count(0)


def test_a_network_that_does_not_answer_is_not_waited_for(page, link, monkeypatch):
    answer = Event()
    opened = phone.opened_by
    monkeypatch.setattr(phone, "opened_by", lambda *given: answer.wait(60) and opened(*given))
    try:
        page.goto(at(link))
        expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
        expect(page.locator("[data-seen-line]")).to_contain_text("the network does not answer")
    finally:
        answer.set()
    page.get_by_role("link", name="Try again").tap()
    expect(page.locator("[data-seen-line]")).to_be_hidden()


def test_the_newest_page_is_shown_and_kept_whenever_there_is_a_network(page, link):
    Athlete.objects.filter(pk=link.athlete_id).update(name="Ada Stone")
    page.reload()
    expect(page.locator(".phone-state")).to_contain_text("Ada Stone")
    page.wait_for_timeout(200)  # the copy is written after the answer was given
    page.context.set_offline(True)
    page.reload()
    expect(page.locator(".phone-state")).to_contain_text("Ada Stone")


def test_a_new_version_takes_the_place_of_the_old_one(page, monkeypatch):
    old = page.evaluate("() => caches.keys()")
    monkeypatch.setattr(phone_app, "version", lambda: "another")
    page.evaluate(UPDATE)
    wait_for(page, "async () => (await caches.keys()).every((name) => name.endsWith(' another'))")
    assert old != page.evaluate("() => caches.keys()")
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")


def test_a_version_that_is_not_whole_changes_nothing(page, monkeypatch):
    old = page.evaluate("() => caches.keys()")
    monkeypatch.setattr(phone_app, "version", lambda: "broken")
    monkeypatch.setattr(phone_app, "PLAIN", ("sessions/not-there.js",))
    page.evaluate(UPDATE)
    wait_for(page, "async () => !(await navigator.serviceWorker.ready).installing")
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
    assert set(old) <= set(page.evaluate("() => caches.keys()"))


def test_a_revoked_link_takes_its_pages_off_the_phone(page, link):
    link_revoke(athlete=link.athlete, by=None)
    page.reload()
    expect(page.get_by_role("heading")).to_have_text("This link no longer works")
    wait_for(page, "async () => (await caches.keys()).length === 0")
    assert page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length") == 0


def test_no_address_that_is_shown_holds_the_key(page, link, live_server):
    shown = []
    page.on("framenavigated", lambda frame: shown.append(frame.url))
    for name in HEADINGS:
        page.goto(whole(link, name))
        assert page.url == live_server.url + at(link, name)
    for name in ("Today", "Week", "Log"):
        page.get_by_role("link", name=name, exact=True).tap()
        expect(page.get_by_role("link", name=name, exact=True)).to_have_attribute("aria-current", "page")
    assert len(shown) >= len(HEADINGS) + 3
    assert not any(key_in(link.token) in url for url in shown)
    assert key_in(link.token) not in page.evaluate("() => document.documentElement.outerHTML + document.cookie")


@pytest.mark.parametrize("begin", ["whole", "as an app"])
def test_the_link_and_the_installed_app_open_with_and_without_a_network(page, link, live_server, begin):
    address = whole(link) if begin == "whole" else f"{at(link)}?key={key_in(link.token)}"
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
        assert page.url == live_server.url + at(link)
    expect(page.locator("[data-seen-line]")).to_contain_text(SEEN)


def test_an_app_with_cookies_of_its_own_opens_by_its_key(page, link, open_page, live_server):
    begin = page.evaluate("async () => (await (await fetch('app.webmanifest')).json()).start_url")
    app = open_page(Client(), width=360, height=740, has_touch=True, is_mobile=True)
    app.goto(begin)
    expect(app.get_by_role("heading", level=1)).to_have_text("Mill race")
    assert app.url == live_server.url + at(link)


def test_an_app_of_an_earlier_version_opens_with_and_without_a_network_and_its_pages_go(page, link, live_server):
    page.evaluate(
        """async ([scope, page]) => {
             await (await caches.open(`coachhub ${scope} earlier`)).put(scope, new Response("<html earlier>"));
             await navigator.serviceWorker.register(`${scope}worker.js`);
           }""",
        [whole(link), at(link)],
    )
    wait_for(page, "async () => !(await caches.keys()).some((name) => name.endsWith(' earlier'))")
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(whole(link))
        expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
        assert page.url == live_server.url + at(link)


def test_a_phone_without_its_cookie_says_what_to_do_and_keeps_no_private_page(page, link):
    page.context.clear_cookies()
    page.reload()
    expect(page.get_by_role("heading")).to_have_text(UNKNOWN)
    wait_for(page, "async () => (await caches.keys()).length === 0")
    page.goto(whole(link))
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")
    wait_until_kept(page)


def test_a_link_that_is_mistyped_takes_nothing_off_the_phone(page, link):
    page.goto(whole(link).replace(link.token, link.nonce + "mistyped"))
    expect(page.get_by_role("heading")).to_have_text("This link no longer works")
    page.wait_for_timeout(500)
    page.context.set_offline(True)
    page.goto(at(link))
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill race")


def test_a_revoked_link_that_is_opened_whole_takes_its_pages_off_the_phone_too(page, link):
    page.goto(at(link, "phone-settings"))  # which follows no clock, and so finds nothing out by itself
    link_revoke(athlete=link.athlete, by=None)
    page.goto(whole(link))
    expect(page.get_by_role("heading")).to_have_text("This link no longer works")
    wait_for(page, "async () => (await caches.keys()).length === 0")


def test_forgetting_leaves_nothing_behind(page, link):
    page.goto(at(link, "phone-settings"))
    expect(page.locator("[data-kept-list]")).to_contain_text("Page week, seen today")
    page.get_by_role("switch", name="Sound").tap()
    page.get_by_text("Forget it all on this phone").tap()
    page.get_by_role("button", name="Forget it", exact=True).tap()
    expect(page.locator("[data-kept]")).to_contain_text("Nothing of yours is kept on this phone any more")
    left = page.evaluate(
        """async () => [await caches.keys(), (await indexedDB.databases()).length, localStorage.length,
                       (await navigator.serviceWorker.getRegistrations()).length]"""
    )
    assert left == [[], 0, 0, 0]
    assert cookie_of(link.nonce) not in names_of_cookies(page)
    page.goto(at(link))
    expect(page.get_by_role("heading")).to_have_text(UNKNOWN)


def test_without_a_network_the_key_stays_and_that_is_said(page, link):
    page.goto(at(link, "phone-settings"))
    page.context.set_offline(True)
    page.get_by_text("Forget it all on this phone").tap()
    page.get_by_role("button", name="Forget it", exact=True).tap()
    expect(page.locator("[data-kept]")).to_contain_text("forget again when there is one")
    page.context.set_offline(False)
    page.get_by_role("button", name="Forget it", exact=True).tap()
    expect(page.locator("[data-kept]")).to_contain_text("Nothing of yours is kept on this phone any more")
    assert cookie_of(link.nonce) not in names_of_cookies(page)


def test_two_links_on_one_phone_do_not_mix(page, link):
    other = link_issue(athlete=Athlete.objects.exclude(pk=link.athlete_id).get(), by=None)
    page.goto(whole(other))
    wait_until_kept(page)
    page.context.set_offline(True)
    for one in (link, other):
        page.goto(at(one))
        expect(page.locator(".phone-state")).to_contain_text(one.athlete.name)


def test_the_browser_finds_the_manifest_whole_and_the_app_installable(page):
    session = page.context.new_cdp_session(page)
    manifest = session.send("Page.getAppManifest")
    assert manifest["errors"] == []
    assert manifest["url"].endswith("app.webmanifest")
    # A private window cannot install anything; nothing else is in the way.
    errors = {error["errorId"] for error in session.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert errors <= {"in-incognito"}


def test_no_request_of_page_or_worker_leaves_the_host(page, link, live_server):
    asked = []
    page.context.on("request", lambda request: asked.append(request.url))
    for name in HEADINGS:
        page.goto(at(link, name))
    page.evaluate(UPDATE)
    page.wait_for_timeout(500)
    assert len(asked) > 30
    assert [url for url in asked if not url.startswith((live_server.url, "blob:", "data:"))] == []
