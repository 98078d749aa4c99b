"""The log on a phone: few taps, nothing lost, nothing doubled, and honest about what is sent."""

import contextlib
import os
import signal
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, expect
from rest_framework.response import Response

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Link
from sessions.api import logs as api
from sessions.models import Log, Target
from tests.browser.beginnings import last_week_and_this_for_two
from tests.browser.chromium import ARGUMENTS, shell
from tests.browser.test_phone_app import wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = {"width": 360, "height": 740}
PATIENT_MS = 60_000  # a phone that was killed reads its disk anew, and waits before it sends again


@pytest.fixture
def link(begin_with) -> Link:
    begin_with(last_week_and_this_for_two)
    return link_issue(athlete=Athlete.objects.first(), by=None)


@pytest.fixture
def page(open_page, link) -> Page:
    page = open_page(Client(), **PHONE, has_touch=True, is_mobile=True)
    page.goto(at(link))
    return page


@pytest.fixture
def frank_page(chromium, link, live_server) -> Page:
    """A page whose server refuses, which the browser calls an error in its console."""
    context = chromium.new_context(viewport=PHONE, base_url=live_server.url)
    page, errors = context.new_page(), []
    page.on("pageerror", lambda error: errors.append(error))
    page.goto(at(link))
    yield page
    context.close()
    assert errors == []


def at(link: Link, name: str = "phone-log") -> str:
    return reverse(f"sessions:{name}", args=[link.token])


def rate(page: Page, rpe: int) -> None:
    page.get_by_role("radio", name=str(rpe)).first.check()


def keep(page: Page, words: str = "Save") -> None:
    page.wait_for_timeout(450)  # the finger that rated does not save
    page.get_by_role("button", name=words).first.click()


def wait_until(page: Page, holds: Callable[[], bool]) -> None:
    """Playwright's own waiting takes the promise of an answer for the answer."""
    deadline = time.monotonic() + PATIENT_MS / 1000
    while not holds():
        assert time.monotonic() < deadline
        page.wait_for_timeout(50)


def wait_for(page: Page, count: int) -> None:
    wait_until(page, lambda: Log.objects.count() >= count)


def test_everything_as_planned_is_three_taps_from_the_first_page(page, link):
    page.goto(at(link, "phone"))
    page.get_by_role("link", name="Log it").first.tap()
    page.get_by_role("radio", name="7").tap()
    page.wait_for_timeout(450)  # the finger that rated does not save
    page.get_by_role("button", name="Save: all as planned").tap()
    expect(page.locator("[data-part=state]")).to_contain_text("Logged, RPE 7. Sent today")
    log = Log.objects.get()
    asked = Target.objects.filter(session=log.session, athlete=link.athlete, rung__gte=0)
    assert (log.date, log.rpe, log.pain, log.stopped) == (today(), 7, False, False)
    assert {(e.station, e.rounds, e.dose) for e in log.entries.all()} == {(t.station, 5, t.dose) for t in asked}


def test_what_was_done_otherwise_is_counted_up_and_down(page):
    page.get_by_text("What I did").tap()
    first = page.locator("[data-station='1']:visible")
    asked = float(first.get_by_label("kcal in each").input_value())
    first.get_by_role("button", name="− Rounds").tap()
    first.get_by_role("button", name="+ kcal").tap()
    expect(page.locator("[data-part=planned]")).to_have_text("not all as planned")
    page.get_by_text("Stopped early").tap()
    page.get_by_label("Note").fill("left knee")
    rate(page, 9)
    keep(page)
    wait_for(page, 1)
    entry = Log.objects.get().entries.get(station=1)
    assert (entry.rounds, entry.dose) == (4, asked + 1)
    assert (Log.objects.get().stopped, Log.objects.get().note) == (True, "left knee")


def test_buttons_stop_at_nothing_and_at_the_most(page):
    page.get_by_text("What I did").tap()
    rounds = page.locator("[data-station='1']:visible").get_by_label("Rounds")
    for words, end in (("− Rounds", "0"), ("+ Rounds", "10")):
        for _ in range(12):
            page.locator("[data-station='1']:visible").get_by_role("button", name=words).tap()
        assert rounds.input_value() == end


def test_a_phone_that_the_link_is_limited_to_sends_its_logs(page, link):
    page.goto(at(link, "phone-settings"))
    page.get_by_role("button", name="Open on this phone alone").tap()
    expect(page.get_by_text("Your link opens on this phone alone.")).to_be_visible()
    page.goto(at(link))
    rate(page, 7)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("Logged, RPE 7. Sent today")
    assert Log.objects.get().rpe == 7


def test_what_an_earlier_version_left_on_the_phone_is_sent(frank_page, link, unreachable):
    """Its logs name the whole link, and the server may have refused them when that was limited to this phone."""
    for rpe in (6, 7):
        rate(frank_page, rpe)
        keep(frank_page)
        expect(frank_page.locator("[data-part=state]")).to_contain_text(f"RPE {rpe}, not sent yet")
    frank_page.evaluate(AS_REFUSED, link.token)
    unreachable.undo()
    frank_page.reload()
    wait_for(frank_page, 2)
    expect(frank_page.locator("[data-outbox]")).to_be_hidden()


def test_a_phone_whose_cookies_were_cleared_sends_when_the_link_is_opened_again(frank_page, link):
    frank_page.context.clear_cookies()
    rate(frank_page, 5)
    keep(frank_page)
    expect(frank_page.locator("[data-outbox]")).to_contain_text("Open it again on this phone")
    assert not Log.objects.exists()
    frank_page.goto(at(link))
    wait_for(frank_page, 1)
    expect(frank_page.locator("[data-outbox]")).to_be_hidden()


def test_a_log_without_a_network_says_so_and_goes_by_itself_later(page, link):
    wait_until_kept(page)
    page.context.set_offline(True)
    page.goto(at(link))
    rate(page, 6)
    keep(page)
    expect(page.locator("[data-part=state]")).to_have_text("Kept on this phone, RPE 6, not sent yet.")
    page.goto(at(link, "phone"))
    expect(page.locator("[data-logged]")).to_contain_text("not sent yet")
    expect(page.locator("[data-unsent]")).to_contain_text("1 log is not sent yet.")
    assert not Log.objects.exists()
    page.context.set_offline(False)
    expect(page.locator("[data-logged]")).to_contain_text("Logged, RPE 6. Sent today")
    expect(page.locator("[data-unsent]")).to_be_hidden()
    assert Log.objects.get().rpe == 6


def test_it_goes_too_when_every_page_is_closed(page, link):
    """The page asks to be told when there is a network again, and the service worker sends then. The browser's shell
    knows no such thing, so the test stands in for it."""
    page.evaluate("() => { window.asked = []; SyncManager.prototype.register = async (tag) => { asked.push(tag); }; }")
    wait_until_kept(page)
    page.context.set_offline(True)
    rate(page, 5)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("not sent yet")
    wait_until(page, lambda: "logs" in page.evaluate("() => window.asked"))
    context, origin = page.context, page.evaluate("() => location.origin")
    other = context.new_page()
    page.close()
    context.set_offline(False)
    session, found = context.new_cdp_session(other), []
    session.on("ServiceWorker.workerRegistrationUpdated", lambda news: found.extend(news["registrations"]))
    other.goto(f"{origin}/healthy")
    session.send("ServiceWorker.enable")
    other.wait_for_timeout(300)
    facts = {"origin": origin, "registrationId": found[0]["registrationId"], "tag": "logs", "lastChance": False}
    session.send("ServiceWorker.dispatchSyncEvent", facts)
    wait_for(other, 1)
    assert Log.objects.get().rpe == 5


def test_a_correction_takes_the_place_of_what_was_logged(page, link):
    rate(page, 6)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("Sent today")
    page.reload()
    expect(page.get_by_role("radio", name="6")).to_be_checked()
    rate(page, 8)
    keep(page, "Save the correction")
    expect(page.locator("[data-part=state]")).to_contain_text("RPE 8. Sent today")
    assert [log.rpe for log in Log.objects.filter(replaced=False)] == [8]


def test_a_log_that_is_refused_stays_says_why_and_can_be_mended(frank_page, link, monkeypatch):
    def refuse(**given):
        raise ValidationError("Station 1: check the figures.")

    monkeypatch.setattr(api, "log_write", refuse)
    rate(frank_page, 6)
    keep(frank_page)
    expect(frank_page.locator("[data-outbox]")).to_contain_text("not taken: Station 1: check the figures.")
    monkeypatch.undo()
    frank_page.reload()
    expect(frank_page.locator("[data-outbox]")).to_contain_text("check the figures")
    assert not Log.objects.exists()
    frank_page.get_by_role("link", name="Change it and keep it again").click()
    rate(frank_page, 7)
    keep(frank_page, "Save the correction")
    expect(frank_page.locator("[data-outbox]")).to_be_hidden()
    assert Log.objects.get().rpe == 7


def test_a_refused_log_can_be_discarded_in_two_steps(frank_page, monkeypatch):
    def refuse(**given):
        raise ValidationError("Station 1: check the figures.")

    monkeypatch.setattr(api, "log_write", refuse)
    rate(frank_page, 6)
    keep(frank_page)
    frank_page.get_by_role("button", name="Discard").click()
    expect(frank_page.locator("[data-outbox] li")).to_have_count(1)
    frank_page.get_by_role("button", name="Discard for good").click()
    expect(frank_page.locator("[data-outbox]")).to_be_hidden()


def test_what_an_old_link_could_not_send_the_new_one_sends(frank_page, link):
    new = link_issue(athlete=link.athlete, by=None)
    rate(frank_page, 4)
    keep(frank_page)
    expect(frank_page.locator("[data-outbox]")).to_contain_text("ask staff for your new link")
    frank_page.goto(at(new))
    wait_for(frank_page, 1)
    assert Log.objects.get().rpe == 4
    expect(frank_page.locator("[data-outbox]")).to_be_hidden()


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 200, "content_type": "text/html", "body": "<p>Welcome to our network. Sign in.</p>"},
        {"status": 200, "content_type": "application/json", "body": "{}"},
        {"status": 302, "headers": {"Location": "/healthy"}},
    ],
)
def test_only_the_servers_own_word_counts_as_sent(open_page, link, answer):
    """A network that wants a signature first answers for every address."""
    page = open_page(Client(), **PHONE, service_workers="block")
    page.route("**/api/v1/my/logs/", lambda route: route.fulfill(**answer))
    page.goto(at(link))
    rate(page, 6)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("not sent yet")
    page.unroute("**/api/v1/my/logs/")
    page.reload()
    expect(page.locator("[data-part=state]")).to_contain_text("Logged, RPE 6. Sent today")
    assert Log.objects.get().rpe == 6


def test_an_earlier_session_is_one_tap_further(page):
    page.get_by_text("Another session").tap()
    yesterday = today() - timedelta(days=1)
    choice = page.locator(f"[data-choice][data-date='{yesterday}']")
    choice.get_by_role("link", name="Log it").tap()
    expect(page.locator("[data-part=when]")).to_contain_text(f"{yesterday:%A} {yesterday.day}")
    keep(page, "Log without a rating")
    wait_for(page, 1)
    assert Log.objects.get().date == yesterday


def test_without_scripts_the_form_goes_on_its_own(open_page, link):
    page = open_page(Client(), **PHONE, java_script_enabled=False)
    page.goto(at(link))
    rate(page, 7)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("Logged, RPE 7.")
    assert Log.objects.get().rpe == 7


# ---- killed half-way ----


@pytest.fixture
def start_phone(chromium, live_server, tmp_path) -> Callable[[], BrowserContext]:
    """A browser that keeps what it has on disk, as a phone does, each time begun anew."""
    folder = tmp_path / "phone"

    def start() -> BrowserContext:
        return chromium.browser_type.launch_persistent_context(
            folder, executable_path=shell(), args=ARGUMENTS, viewport=PHONE, base_url=live_server.url
        )

    yield start
    kill_browser(folder)


def kill_browser(folder: Path) -> None:
    """End the browser that this test started on its own folder, as a phone does that has no battery left."""
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            words = (process / "cmdline").read_text().split("\0")
            if f"--user-data-dir={folder}" in words and not any(word.startswith("--type=") for word in words):
                os.kill(int(process.name), signal.SIGKILL)


@pytest.fixture
def unreachable(monkeypatch) -> pytest.MonkeyPatch:
    """A server that takes no log, until it is undone: a browser may call its own offline mode off when it starts."""
    monkeypatch.setattr(api.MyLogsView, "post", lambda *given: Response(status=503))
    return monkeypatch


def test_what_is_typed_before_the_phone_has_looked_at_what_it_keeps_stays(chromium, link, live_server, unreachable):
    context = chromium.new_context(viewport=PHONE, base_url=live_server.url, service_workers="block")
    page, held = context.new_page(), []
    page.goto(at(link))
    page.get_by_label("Note").fill("first")
    rate(page, 6)
    keep(page)
    expect(page.locator("[data-part=state]")).to_contain_text("not sent yet")
    page.route("**/phone/log.js", lambda route: held.append(route))
    page.goto(at(link), wait_until="commit")
    page.get_by_label("Note").fill("second")
    wait_until(page, lambda: held)
    held.pop().continue_()
    expect(page.locator("[data-part=state]")).to_contain_text("not sent yet")
    expect(page.get_by_label("Note")).to_have_value("second")
    expect(page.get_by_role("radio", name="6")).to_be_checked()
    context.close()


AS_REFUSED = """async (token) => {
  const [{ name }] = (await indexedDB.databases()).filter(({ name }) => name.startsWith("coachhub "));
  const result = (request) => new Promise((found) => (request.onsuccess = () => found(request.result)));
  const base = await result(indexedDB.open(name));
  const logs = base.transaction("logs", "readwrite").objectStore("logs");
  const [first] = await result(logs.getAll());
  await result(logs.put({ ...first, state: "refused", status: 401, by: token, why: "This link no longer works." }));
  base.close();
}"""
# The notes of the logs that are written on this phone: the page may still be saying "not sent yet" of an earlier one.
NOTES = """async () => {
  const [{ name }] = (await indexedDB.databases()).filter(({ name }) => name.startsWith("coachhub "));
  const result = (request) => new Promise((found) => (request.onsuccess = () => found(request.result)));
  const base = await result(indexedDB.open(name));
  const logs = await result(base.transaction("logs").objectStore("logs").getAll());
  base.close();
  return logs.map(({ log }) => log.note);
}"""


def kept_soon(page: Page, note: str) -> bool:
    """Whether the phone keeps a log with this note within twenty seconds."""
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        if note in page.evaluate(NOTES):
            return True
        page.wait_for_timeout(50)
    return False


def log_offline(page: Page, link: Link, numbers: range) -> None:
    for number in numbers:
        day = today() - timedelta(days=number % 5)
        key = Log._meta.get_field("session").related_model.objects.filter(date=day).first().key
        for _ in range(3):  # on a very busy machine the page may not hear yet; a person looks, and writes it again
            page.goto(f"{at(link)}?on={day}.{key}")
            page.get_by_label("Note").fill(f"log {number}")
            # A click may miss while lines come in above.
            page.locator(":is([data-part=keep], [data-part=without]):visible").press("Enter")
            expect(page.locator("[data-part=state]")).to_contain_text("not sent yet", timeout=PATIENT_MS)
            if kept_soon(page, f"log {number}"):
                break
        assert f"log {number}" in page.evaluate(NOTES)


def test_twenty_logs_without_a_network_all_arrive_once_though_the_browser_is_killed(
    start_phone, link, tmp_path, unreachable
):
    context = start_phone()
    page = context.pages[0]
    page.goto(at(link))
    wait_until_kept(page)
    context.set_offline(True)
    log_offline(page, link, range(10))
    kill_browser(tmp_path / "phone")

    context = start_phone()
    context.set_offline(True)
    page = context.pages[0]
    page.goto(at(link))
    expect(page.locator("[data-unsent]")).to_contain_text("10 logs are not sent yet.", timeout=PATIENT_MS)
    log_offline(page, link, range(10, 20))
    unreachable.undo()
    context.set_offline(False)
    # A page that could not send waits longer every time, up to five minutes. Opened anew, as a person does, it sends.
    page.goto(at(link))
    wait_for(page, 3)
    kill_browser(tmp_path / "phone")  # in the middle of sending

    context = start_phone()
    page = context.pages[0]
    page.goto(at(link))
    expect(page.locator("[data-unsent]")).to_be_hidden(timeout=PATIENT_MS)
    wait_for(page, 20)
    assert sorted(Log.objects.values_list("note", flat=True)) == sorted(f"log {number}" for number in range(20))
    standing = {log.date: int(log.note.split()[1]) for log in Log.objects.filter(replaced=False)}
    assert standing == {today() - timedelta(days=back): 15 + back for back in range(5)}
