"""Screens and a class: one clock on two phones and a wall, whatever their own clocks say and when the network drops."""

import json
import random
import time
from dataclasses import asdict, replace
from pathlib import Path
from statistics import median
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Athlete
from sessions.clock.moment import Change, Shape, is_half_done, moment, over_ms, shape_from, words_shape
from sessions.clock.write import run_change, run_start
from sessions.models import ClassRun, PublishedSession
from tests.browser.beginnings import this_week_for_four

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
CASES = json.loads((Path(__file__).parents[1] / "clock" / "clock_cases.json").read_text())
SKEW_MS = 150
FIELDS = ("state", "phase", "round", "rounds", "step", "shift", "turn", "second", "left_ms", "part", "length_s")
# A device whose own clock is wrong; `trueNow` is the machine's, by which all of them are measured.
WRONG_CLOCK = """(() => {
  const True = Date;
  window.trueNow = True.now.bind(True);
  window.Date = class extends True {
    constructor(...facts) { facts.length ? super(...facts) : super(trueNow() + SHIFT); }
    static now() { return trueNow() + SHIFT; }
  };
})()"""
# Keeps when a part of the page came to say what.
WATCH = """(selector) => {
  const node = document.querySelector(selector);
  window.seen = [];
  const changes = { childList: true, characterData: true, subtree: true };
  new MutationObserver(() => seen.push([trueNow(), node.textContent])).observe(node, changes);
}"""
COUNT_SOUND = """(() => {
  window.made = 0;
  const Made = AudioContext;
  window.AudioContext = class extends Made { constructor() { super(); made += 1; } };
})()"""
COUNT_FLASHES = """() => {
  window.flashes = 0;
  const look = () => (flashes += document.body.classList.contains("is-flash"));
  new MutationObserver(look).observe(document.body, { attributes: true });
}"""


@pytest.fixture
def session(begin_with) -> PublishedSession:
    begin_with(this_week_for_four)
    return PublishedSession.objects.get(date=today())


@pytest.fixture
def begin(session):
    def start(ready_s: int = 3) -> ClassRun:
        return run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms(), ready_s=ready_s)

    return start


@pytest.fixture
def phone(open_page, session):
    """Today's page of an athlete, on a device whose clock is `shift_ms` wrong and whose network takes `slow_ms`."""

    def open_as(number: int, shift_ms: int = 0, slow_ms: int = 0) -> Page:
        page = open_page(Client(), width=360, height=740, is_mobile=True, has_touch=True)
        page.add_init_script(WRONG_CLOCK.replace("SHIFT", str(shift_ms)))
        slow(page, slow_ms)
        athlete = Athlete.objects.get(board_name=f"A{number:04d}")
        page.goto(reverse("sessions:phone", args=[link_issue(athlete=athlete, by=None).token]))
        return page

    return open_as


@pytest.fixture
def wall(open_page, session):
    def open_as(shift_ms: int = 0) -> Page:
        page = open_page(Client(), width=1920, height=1080)
        page.add_init_script(WRONG_CLOCK.replace("SHIFT", str(shift_ms)))
        page.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
        return page

    return open_as


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def press(run: ClassRun, kind: str, value: int = 0) -> None:
    run_change(run=run, key=uuid4(), kind=kind, value=value, at_ms=now_ms(), by=None)


def slow(page: Page, ms: int) -> None:
    """A network on which every answer takes longer."""
    facts = {"offline": False, "latency": ms, "downloadThroughput": -1, "uploadThroughput": -1}
    page.context.new_cdp_session(page).send("Network.emulateNetworkConditions", facts)


def spreads(pages: list[Page], seconds: float) -> list[float]:
    """How far apart [ms] the screens came to show each second, over a while in which all seconds differ."""
    for page in pages:
        page.evaluate(WATCH, "[data-part=left]")
    pages[0].wait_for_timeout(1000 * seconds)
    shown = [dict(reversed([(text, at) for at, text in page.evaluate("() => seen")])) for page in pages]
    common = set.intersection(*map(set, shown))
    assert len(common) >= seconds - 2
    return [max(times) - min(times) for times in ([one[text] for one in shown] for text in common)]


def all_show(pages: list[Page], phase: str) -> None:
    for page in pages:
        expect(page.locator("[data-part=phase]")).to_have_text(phase, timeout=15_000)


def random_cases(count: int) -> list[dict]:
    chance, cases = random.Random(20261125), []
    for _ in range(count):
        interval = chance.randint(30, 300)
        windows = tuple(chance.randint(5, interval) for _ in range(chance.randint(1, 10)))
        shape = Shape(windows, interval, chance.randint(1, 8), chance.choice([1, 2]), chance.randint(3, 60))
        length = shape.total_ms
        kinds = ("pause", "resume", "jump", "rounds", "end")
        if chance.random() < 0.5:
            words = [words_shape(chance.randint(1, 12)) for _ in range(chance.randint(1, 4))]
            main = chance.randint(0, len(words))
            shape = replace(shape, parts=(*words[:main], shape, *words[main:]), main=main)
            length += sum(part.total_ms for part in words)
            kinds = (*kinds, "part", "length")
        pressed = [
            Change(chance.randint(-5_000, length + 30_000), chance.choice(kinds), chance.randint(1, 30))
            for _ in range(chance.randint(0, 7))
        ]
        cases.append({"shape": shape, "changes": pressed, "now": chance.randint(-20_000, 2 * length)})
    return cases


def test_the_screens_module_says_what_the_servers_does(open_page, gym_row):
    page = open_page(Client())
    page.goto("/login/")
    run = """async (cases) => {
      const clock = await import("/static/sessions/clock/clock.js");
      return cases.map(({shape, start, changes, now}) => [
        clock.moment(shape, start, changes, now),
        clock.overMs(shape, start, changes),
        clock.isHalfDone(shape, clock.moment(shape, start, changes, now)),
      ]);
    }"""
    start = CASES["start_ms"]
    shapes = {name: shape_from(kept) for name, kept in CASES["shapes"].items()}
    by_hand = [
        {
            "shape": shapes[c["shape"]],
            "changes": [Change(start + at, k, v) for at, k, v in c["changes"]],
            "now": start + c["now"],
        }
        for c in CASES["cases"]
    ]
    for begins, cases in ((start, by_hand), (0, random_cases(1500))):
        sent = [
            {
                "shape": asdict(case["shape"]),
                "start": begins,
                "changes": [[c.at_ms, c.kind, c.value] for c in case["changes"]],
                "now": case["now"],
            }
            for case in cases
        ]
        for case, (found, over, half) in zip(cases, page.evaluate(run, sent), strict=True):
            at = moment(case["shape"], begins, case["changes"], case["now"])
            assert found == asdict(at), case
            assert half == is_half_done(case["shape"], at), case
            assert over == over_ms(case["shape"], begins, case["changes"]), case
    found = page.evaluate(
        run,
        [
            {**sent[0], "shape": CASES["shapes"][c["shape"]], "start": start, "changes": [], "now": start + c["now"]}
            for c in CASES["cases"]
        ],
    )
    assert [
        [at[name] for name in FIELDS] for (at, *_), c in zip(found, CASES["cases"], strict=True) if not c["changes"]
    ] == [c["expect"] for c in CASES["cases"] if not c["changes"]]


def test_an_athletes_own_part_of_a_moment(open_page, gym_row):
    page = open_page(Client())
    page.goto("/login/")
    run = """async ({shape, now, group, partner}) => {
      const clock = await import("/static/sessions/clock/clock.js");
      return clock.placeOf(shape, clock.moment(shape, 0, [], now), group, partner);
    }"""
    for case in CASES["places"]:
        assert page.evaluate(run, {**case, "shape": CASES["shapes"][case["shape"]]}) == case["expect"], case["about"]
    [case] = CASES["stations"]
    moved = """async ({shape, expect}) => {
      const { stationOf } = await import("/static/sessions/clock/clock.js");
      return expect.map(([group, shift]) => [group, shift, stationOf(shape, group, shift)]);
    }"""
    assert page.evaluate(moved, {**case, "shape": CASES["shapes"][case["shape"]]}) == case["expect"]


def test_the_servers_time_is_read_off_the_quickest_answer(open_page, gym_row):
    page = open_page(Client())
    page.goto("/login/")
    offset = page.evaluate(
        """async () => {
          const { serverTime } = await import("/static/sessions/clock/follow.js");
          const time = serverTime();
          const device = Date.now();
          // The server is 5 000 ms ahead. A slow way there, a slow way back, and a quick one both ways.
          time.learn(device, device + 900, device + 5000 + 850);
          time.learn(device, device + 700, device + 5000 + 40);
          time.learn(device, device + 20, device + 5000 + 12);
          time.learn(device, device + 800, device + 5000 + 700);
          return time.now() - Date.now();
        }"""
    )
    assert offset == pytest.approx(5002, abs=1.5)


def test_two_phones_and_a_wall_follow_one_clock_through_pause_and_jump(phone, wall, begin):
    run = begin()
    pages = [phone(0, shift_ms=-12_345, slow_ms=40), phone(1, shift_ms=3_600_000, slow_ms=90), wall(shift_ms=37_000)]
    all_show(pages, "Work")
    found = spreads(pages, 6)
    press(run, "pause")
    all_show(pages, "Paused")
    assert len({page.locator("[data-part=left]").text_content() for page in pages}) == 1
    press(run, "resume")
    press(run, "jump", 7)
    all_show(pages, "Work")
    for page in pages:
        expect(page.locator("[data-part=round]")).to_contain_text("ound 3 of 5")
    found += spreads(pages, 6)
    print(f"\nthree screens show the same second within {median(found):.0f} ms (median), {max(found):.0f} ms (most)")
    assert median(found) < SKEW_MS


def test_the_clock_goes_on_when_the_network_drops(phone, wall, begin):
    begin()
    pages = [phone(0, shift_ms=5_000), wall()]
    all_show(pages, "Work")
    pages[0].wait_for_timeout(2_000)  # several answers: the time is right
    for page in pages:
        page.context.set_offline(True)
    expect(pages[0].locator("[data-part=link]")).to_contain_text("The clock goes on", timeout=15_000)
    expect(pages[1].locator("[data-link]")).to_contain_text("No connection since", timeout=30_000)
    assert median(spreads(pages, 5)) < SKEW_MS
    run = ClassRun.objects.get()
    at = moment(shape_from(run.shape), run.starts_ms, [], now_ms())
    shown = pages[0].locator("[data-part=left]").text_content().split(":")
    assert abs(60 * int(shown[0]) + int(shown[1]) - at.second) <= 1
    for page in pages:
        page.context.set_offline(False)
    expect(pages[1].locator("[data-link]")).to_have_text("", timeout=30_000)


def test_a_phone_says_where_to_be_with_which_dose_and_the_page_is_a_tap_away(phone, begin, session):
    begin()
    page = phone(1)
    all_show([page], "Work")
    live = page.locator("[data-live]")
    target = session.targets.get(athlete__board_name="A0001", station=2)
    expect(live.locator("[data-part=number]")).to_have_text("2")
    expect(live.locator("[data-part=now]")).to_have_text("Ring row" if target.rung else "Pull up")
    expect(live.locator("[data-part=dose]")).to_have_text(f"{target.dose:.0f}")
    expect(live.locator("[data-part=by]")).to_have_text(f"0:{target.finish_by_s:02.0f}")
    expect(live.locator("[data-part=then]")).to_contain_text("then 3 Goblet squat ")
    live.get_by_role("button", name="More").tap()
    expect(live).to_be_hidden()
    expect(page.locator("tr[data-station='2']")).to_be_visible()
    page.get_by_role("button", name="Back to the clock").tap()
    expect(live.locator("[data-part=now]")).to_be_visible()
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 360


def test_changes_are_announced_and_seconds_are_not(phone, begin):
    run = begin()
    page = phone(0)
    all_show([page], "Work")
    page.wait_for_timeout(1_200)
    page.evaluate(WATCH, "[data-part=said]")
    page.wait_for_timeout(4_000)
    assert page.evaluate("() => seen") == []
    press(run, "pause")
    all_show([page], "Paused")
    assert "Paused" in page.locator("[data-part=said]").text_content()


def test_sound_waits_for_a_tap_and_less_motion_means_no_flash(phone, begin, open_page, session):
    run = begin()
    page = phone(0)
    page.emulate_media(reduced_motion="reduce")
    page.add_init_script(COUNT_SOUND)
    page.reload()
    all_show([page], "Work")
    page.evaluate(COUNT_FLASHES)
    press(run, "jump", 1)
    expect(page.locator("[data-part=left]")).to_have_text("0:00", timeout=15_000)
    page.wait_for_timeout(500)
    assert page.evaluate("() => [made, flashes]") == [0, 0]
    page.get_by_role("button", name="More").tap()
    expect(page.get_by_role("switch", name="Flash")).to_be_hidden()
    page.get_by_role("switch", name="Sound").tap()
    expect(page.get_by_role("switch", name="Sound")).to_have_attribute("aria-checked", "true")
    assert page.evaluate("() => made") == 1
    page.reload()
    expect(page.get_by_role("switch", name="Sound", include_hidden=True)).to_have_attribute(
        "aria-checked", "true", timeout=15_000
    )
