"""The wall while classes run: everything on it is read from 5 m, and it is left alone for a day."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Gym
from sessions.clock.write import now_ms, run_change, run_start
from sessions.models import Circuit, PublishedSession
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SCREENS = [(1920, 1080), (3840, 2160)]
MINUTE = 60_000
LEAST_TEXT_SHARE = 0.02  # of the screen's height, for names and what is done: 22 px at 1080p
# In place of the network: a server whose time is the page's, so that both are in the test's hand.
WORLD = """(() => {
  window.world = { run: null, plan: null, down: false, asked: 0 };
  window.fetch = async (address, options = {}) => {
    world.asked += 1;
    if (world.down) throw new TypeError("Failed to fetch");
    const tag = JSON.stringify(world.run ?? 0).length;
    const headers = { "Clock-Now": String(Date.now()), ETag: `"${tag}"`, Board: document.body.dataset.live };
    if (options.method === "HEAD") return new Response(null, { headers });
    const told = String(address).endsWith("plan/") ? { plan: world.plan } : { run: world.run };
    return new Response(JSON.stringify(told), { headers });
  };
})()"""
SCROLLS = """() => {
  const { scrollHeight, scrollWidth } = document.documentElement;
  return scrollHeight > innerHeight || scrollWidth > innerWidth;
}"""
SMALLEST = """(selector) => {
  const shown = [...document.querySelectorAll(selector)].filter((part) => part.offsetParent && part.textContent);
  return Math.min(...shown.map((part) => parseFloat(getComputedStyle(part).fontSize))) / innerHeight;
}"""
START = """([shape, plan, number]) => {
  const starts_ms = Date.now() + 10000;
  world.plan = plan;
  world.run = { key: `run ${number}`, version: 0, hour: "06:00", starts_ms, shape, plan: number, changes: [] };
}"""
PRESS = """(kind) => {
  const changes = [...world.run.changes, [Date.now(), kind, 0]];
  world.run = { ...world.run, version: changes.length, changes };
}"""
SHAPE = {"windows_s": [45, 40, 45], "interval_s": 60, "rounds": 5, "partners": 1, "ready_s": 10}


def open_wall(open_page, coach, people: int, partners: int = 1, size=(1920, 1080), **options):
    """(the wall's page, today's session) of a full circuit in a room of `people`."""
    gym.people(people)
    Gym.objects.update(local_rules="Emergency: call 112, say “the old mill, yard door”. First aid hangs by that door.")
    circuit = gym.circuit()
    Circuit.objects.update(partners=partners)
    circuit.refresh_from_db()
    week = publish(gym.planned_week(gym.this_monday(), *[circuit] * 7), coach)
    page = open_page(Client(), *size, **options)
    return page, week.sessions.get(date=today())


def go(page: Page) -> None:
    page.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))


def begin(session: PublishedSession, ready_s: int = 3):
    return run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms(), ready_s=ready_s)


def press(run, kind: str, value: int = 0) -> None:
    run_change(run=run, key=uuid4(), kind=kind, value=value, at_ms=now_ms(), by=None)


def names_shown(page: Page) -> set[str]:
    """Names that lie wholly in their line and on the screen."""
    return set(
        page.evaluate(
            """() => [...document.querySelectorAll(".live-name:not([hidden])")].filter((name) => {
                const [box, line] = [name.getBoundingClientRect(), name.closest(".live-group").getBoundingClientRect()];
                const who = name.querySelector(".live-who");
                const inside = box.top >= line.top - 1 && box.bottom <= line.bottom + 1 && line.bottom <= innerHeight;
                return inside && who.scrollWidth <= who.clientWidth;
              }).map((name) => name.querySelector(".live-who").textContent)"""
        )
    )


@pytest.mark.parametrize("size", SCREENS, ids=["1080p", "4K"])
def test_everyone_is_on_the_wall_with_dose_large_enough(open_page, furnished, coach, size):
    page, session = open_wall(open_page, coach, 42, size=size)
    go(page)
    expect(page.locator("[data-page]")).to_be_visible()
    begin(session)
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    expect(page.locator("[data-page]")).to_be_hidden()
    assert names_shown(page) == set(Athlete.objects.values_list("board_name", flat=True))
    assert not page.evaluate(SCROLLS)
    for part in (".live-who", ".live-dose .figure", ".live-station .station-name", ".live-after"):
        assert page.evaluate(SMALLEST, part) >= LEAST_TEXT_SHARE, part
    assert page.evaluate(SMALLEST, ".live-left .figure") >= 0.25
    expect(page.locator(".live-foot")).to_contain_text("Stop on pain, dizziness or chest discomfort")
    foot, lines = page.locator(".live-foot").bounding_box(), page.locator(".live-groups").bounding_box()
    assert lines["y"] + lines["height"] <= foot["y"]


def test_a_load_that_is_not_everyones_leaves_room_for_the_name(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 9)
    names = ("Caoimhe", "Maximilian", "Ólafur")
    for athlete, name in zip(Athlete.objects.order_by("pk"), names, strict=False):
        Athlete.objects.filter(pk=athlete.pk).update(board_name=name)
    for n, target in enumerate(session.targets.filter(station=3, rung__gte=0)):
        session.targets.filter(pk=target.pk).update(load_kg=12.5 + 2.5 * n)
    go(page)
    run = begin(session)
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    for interval in range(3):
        press(run, "jump", interval)
        expect(page.locator(".live-group .station-number").first).to_have_text(str(interval + 1))
        assert names_shown(page) == set(Athlete.objects.values_list("board_name", flat=True))


def test_groups_keep_their_lines_and_go_from_station_to_station(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 7)
    go(page)
    run = begin(session)
    numbers, then = page.locator(".live-group .station-number"), page.locator(".live-after")
    first = page.locator(".live-group").first
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    assert numbers.all_text_contents() == ["1", "2", "3"]
    assert then.all_text_contents() == ["then 2 Pull up", "then 3 Goblet squat", "then 1 Row"]
    assert first.locator(".live-who").all_text_contents() == ["A0000", "A0003", "A0006"]
    press(run, "jump", 1)
    expect(numbers.first).to_have_text("2")
    assert numbers.all_text_contents() == ["2", "3", "1"]
    assert first.locator(".live-who").all_text_contents() == ["A0000", "A0003", "A0006"]
    target = session.targets.get(athlete__board_name="A0003", station=2)
    expect(first.locator(".live-name").nth(1).locator(".figure")).to_have_text(f"{target.dose:.0f}")
    press(run, "jump", 14)
    expect(then.first).to_have_text("the last one")


def test_of_partners_the_one_who_works_stands_out(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 6, partners=2)
    go(page)
    run = begin(session)
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    waits = page.locator(".live-group").first.locator(".live-name.is-waiting .live-who")
    expect(waits).to_have_text(["A0001"])
    expect(page.locator(".live-after").first).to_have_text("then partners change")
    press(run, "jump", 1)
    expect(waits).to_have_text(["A0000"])
    expect(page.locator(".live-after").first).to_have_text("then 2 Pull up")


def test_a_long_room_takes_turns_and_loses_nobody(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 120)
    page.clock.install()
    go(page)
    run = begin(session)
    seen = set()
    expect(page.locator("[data-part=phase]")).to_have_text("Get ready", timeout=15_000)
    press(run, "jump", 0)
    page.clock.run_for(4_000)
    for _ in range(5):
        page.clock.run_for(6_000)
        page.wait_for_timeout(50)
        seen |= names_shown(page)
    assert seen == set(Athlete.objects.values_list("board_name", flat=True))


def test_a_class_that_is_over_gives_way_to_the_board(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 4)
    page.clock.install()
    go(page)
    run = begin(session)
    expect(page.locator("[data-part=phase]")).to_have_text("Get ready", timeout=15_000)
    press(run, "end")
    for _ in range(3):
        page.clock.run_for(1_500)
        page.wait_for_timeout(200)
    expect(page.locator("[data-part=phase]")).to_have_text("Done")
    page.clock.run_for(61_000)
    expect(page.locator("[data-page]")).to_be_visible()
    expect(page.locator("[data-live-clock]")).to_be_hidden()


def test_another_board_comes_by_itself_and_a_link_that_is_gone_says_so(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 4)
    page.clock.install()
    go(page)
    week = session.publication.week
    week.note = "Bring a towel."
    week.save()
    publish(week, coach)
    page.clock.run_for(MINUTE)
    expect(page.locator(".wall-foot")).to_contain_text("Bring a towel.")
    screen_link_issue(by=None)
    page.clock.run_for(5_000)
    expect(page.get_by_role("heading")).to_contain_text("no longer works")


def numbers_of(page: Page) -> dict:
    """What the page holds after a collection: DOM nodes, listeners, bytes of scripts."""
    devtools = page.context.new_cdp_session(page)
    for _ in range(3):
        devtools.send("HeapProfiler.collectGarbage")
    counters = devtools.send("Memory.getDOMCounters")
    used = devtools.send("Runtime.getHeapUsage")["usedSize"]
    devtools.detach()
    return {"nodes": counters["nodes"], "listeners": counters["jsEventListeners"], "heap": used}


def test_eight_hours_with_eight_classes_and_a_network_that_drops_leave_no_trace(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 42)
    page.add_init_script(WORLD)
    page.clock.install()
    go(page)
    plan = {
        "name": "Mill race",
        "stations": [{"name": name, "unit": "kcal", "rungs": ["a Bike"]} for name in ("Row", "Bike", "Ski")],
        "athletes": [
            {
                "name": f"A{n:04d}",
                "group": n % 3,
                "turn": 0,
                "doses": [[str(10 + n % 7), "kcal", "a" if n % 5 == 0 else ""]] * 3,
            }
            for n in range(42)
        ],
    }
    live, kept = page.locator("[data-live-clock]"), []
    for hour in range(8):
        page.evaluate(START, [SHAPE, plan, hour])
        page.clock.run_for(MINUTE)
        expect(live).to_be_visible()
        page.evaluate(PRESS, "pause")
        page.clock.run_for(2 * MINUTE)
        expect(page.locator("[data-part=phase]")).to_have_text("Paused")
        page.evaluate(PRESS, "resume")
        page.clock.run_for(4 * MINUTE)
        expect(live).to_be_visible()
        page.evaluate("(down) => { world.down = down; }", hour % 2 == 1)
        page.clock.run_for(8 * MINUTE)  # minute 15 of a class of 15 minutes that stood still for 2
        expect(live).to_be_visible()
        page.clock.run_for(5 * MINUTE)
        expect(live).to_be_hidden()  # over, though nobody said so
        if hour % 2:
            expect(page.locator("[data-link]")).to_contain_text("No connection since")
        page.evaluate("() => { world.down = false; world.run = null; }")
        page.clock.run_for(40 * MINUTE)
        expect(page.locator("[data-link]")).to_have_text("")
        kept.append(numbers_of(page))
    asked = page.evaluate("() => world.asked")
    half, end = kept[3], kept[-1]
    print(f"\n8 h on the wall, asked {asked} times; after hour 4 {half}, after hour 8 {end}")
    assert asked > 10_000
    assert (end["nodes"], end["listeners"]) == (half["nodes"], half["listeners"])
    assert end["heap"] <= 1.05 * half["heap"]
