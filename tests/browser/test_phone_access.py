"""Every page of the phone for everybody: axe, keyboard alone, large text, no movement where none is wanted."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Account, Athlete, Limitation, Link
from sessions.logs.write import log_write
from sessions.models import Log, PublishedSession
from tests.browser.axe import findings_in_both_schemes
from tests.browser.beginnings import last_week_and_this_for_two
from tests.browser.test_phone_app import HEADINGS, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NARROW = {"width": 360, "height": 740}
# And to the end, where the button at the thumb stands in its own place: what it covers elsewhere is scrolled free.
OPEN_ALL = """() => {
  document.querySelectorAll("details").forEach((details) => (details.open = true));
  scrollTo(0, document.body.scrollHeight);
}"""
STICKING_OUT = """() => [...document.querySelectorAll("body *:not(.visually-hidden):not(.visually-hidden *)")]
    .filter((part) => part.checkVisibility() && part.getBoundingClientRect().right > innerWidth + 0.5)
    .map((part) => part.outerHTML.slice(0, 120))"""
MOVING = """() => [...document.querySelectorAll("*")].map((part) => getComputedStyle(part))
    .filter((style) => style.scrollBehavior === "smooth" || parseFloat(style.transitionDuration)
        || style.animationName !== "none").length"""


@pytest.fixture
def link(begin_with) -> Link:
    begin_with(two_weeks_with_logs)
    return link_issue(athlete=Athlete.objects.first(), by=None)


def two_weeks_with_logs(coach: Account) -> None:
    """An athlete with a swap, a rest, efforts, and three logs of last week."""
    last_week_and_this_for_two(coach)
    athlete = Athlete.objects.first()
    for session in PublishedSession.objects.order_by("date")[:3]:
        targets = session.targets.filter(athlete=athlete, rung__gte=0)
        entries = [{"station": t.station, "rounds": 4, "dose": t.dose} for t in targets]
        said = {"key": uuid4(), "rpe": 7.0, "pain": False, "stopped": True, "note": "", "entries": entries}
        log_write(athlete=athlete, session=session, content={**said, "done_at": timezone.now()}, source="phone")
    Limitation.objects.create(athlete=athlete, kind="body", patterns=["pull"], starts_on=today())


def at(link: Link, name: str) -> str:
    return reverse(f"sessions:{name}", args=[link.token])


@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_on_any_page_in_light_and_dark(open_page, link, width):
    page, found = open_page(Client(), width=width, height=740, color_scheme="light"), []
    for name in HEADINGS:
        page.goto(at(link, name))
        page.evaluate(OPEN_ALL)
        page.wait_for_timeout(100)
        found += findings_in_both_schemes(page)
        found += [f"{name} sticks out: {part}" for part in page.evaluate(STICKING_OUT)]
    assert not found, "\n".join(found)


def test_axe_finds_nothing_without_a_network_with_logs_that_wait(open_page, link):
    page, found = open_page(Client(), **NARROW, color_scheme="light"), []
    page.goto(at(link, "phone-log"))
    wait_until_kept(page)
    page.context.set_offline(True)
    page.get_by_role("radio", name="7").check()
    page.wait_for_timeout(450)
    page.get_by_role("button", name="Save: all as planned").click()
    expect(page.locator("[data-outbox]")).to_be_visible()
    for name in HEADINGS:
        page.goto(at(link, name))
        page.evaluate(OPEN_ALL)
        expect(page.locator("[data-seen-line]")).to_be_visible()
        found += findings_in_both_schemes(page)
    assert not found, "\n".join(found)


def test_the_whole_log_by_keyboard(open_page, link):
    page = open_page(Client(), **NARROW, reduced_motion="reduce")  # so that scrolling is over when Tab is
    page.goto(at(link, "phone-log"))
    reach(page, "input[name=rpe]")
    page.keyboard.press("Space")
    for _ in range(7):
        page.keyboard.press("ArrowRight")
    reach(page, "[data-part=did] > summary")
    page.keyboard.press("Enter")
    reach(page, "button[data-step='-1']")
    page.keyboard.press("Enter")
    reach(page, "input[name=pain]")
    page.keyboard.press("Space")
    reach(page, "textarea")
    page.keyboard.type("shoulder")
    page.wait_for_timeout(450)  # the finger that rated does not save
    reach(page, "[data-part=keep]")
    page.keyboard.press("Enter")
    expect(page.locator("[data-part=state]")).to_contain_text("Logged, RPE 7. Sent")
    log = Log.objects.get(date=today())
    assert (log.rpe, log.pain, log.note) == (7, True, "shoulder")
    assert log.entries.get(station=log.entries.first().station).rounds == 4


def reach(page: Page, wanted: str) -> None:
    """Tab until something that matches has the focus; whatever has it on the way can be seen."""
    for _ in range(60):
        page.keyboard.press("Tab")
        place = page.evaluate(
            """() => { const box = document.activeElement.getBoundingClientRect();
                 const [x, y] = [box.x + box.width / 2, box.y + Math.min(box.height / 2, 20)];
                 const top = document.elementFromPoint(x, y);
                 const shown = top && (document.activeElement.contains(top) || top.contains(document.activeElement));
                 return [document.activeElement.outerHTML.slice(0, 100), shown]; }"""
        )
        assert place[1], f"hidden under something else: {place[0]}"
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"{wanted} cannot be reached with the Tab key")


def test_text_twice_as_large_fits_every_page(open_page, link):
    page = open_page(Client(), **NARROW)
    found = []
    for name in HEADINGS:
        page.goto(at(link, name))
        page.evaluate("() => document.documentElement.style.setProperty('font-size', '200%')")
        page.evaluate(OPEN_ALL)
        found += [f"{name}: {part}" for part in page.evaluate(STICKING_OUT)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", [{"width": 180, "height": 370}, {"width": 740, "height": 360}], ids=["zoom", "side"])
def test_nothing_stands_over_the_page_when_it_is_zoomed_or_on_its_side(open_page, link, size):
    page = open_page(Client(), **size)
    page.goto(at(link, "phone-log"))
    fixed = """() => [...document.querySelectorAll("*")].map((part) => getComputedStyle(part).position)
        .filter((position) => position === "fixed" || position === "sticky").length"""
    assert page.evaluate(fixed) == 0
    assert page.evaluate("() => document.documentElement.scrollWidth") <= size["width"]


def test_nothing_moves_for_who_wants_no_movement(open_page, link):
    page = open_page(Client(), **NARROW, reduced_motion="reduce")
    for name in HEADINGS:
        page.goto(at(link, name))
        assert page.evaluate(MOVING) == 0, name


def test_a_finger_meets_nothing_smaller_than_it_should_be(open_page, link):
    page = open_page(Client(), **NARROW, has_touch=True, is_mobile=True)
    page.goto(at(link, "phone-log"))
    page.evaluate(OPEN_ALL)
    small = """() => [...document.querySelectorAll(".rpe-key, .phone-steps button, .phone-button, .phone-nav a")]
        .filter((part) => part.checkVisibility()).map((part) => part.getBoundingClientRect())
        .filter((box) => box.width < 44 || box.height < 44).length"""
    assert page.evaluate(small) == 0


def test_a_screen_reader_is_told_numbers_in_words(open_page, link):
    page = open_page(Client(), **NARROW)
    page.goto(at(link, "phone-week"))
    page.evaluate(OPEN_ALL)
    told = page.locator("body").aria_snapshot()
    assert "per five hundred metres" in told
    assert "per 500 m" not in told
    assert " kcal" not in told
