"""The wall while classes run: everything on it is read from 5 m, and it is left alone for a day."""

import re
from statistics import median
from uuid import uuid4

import pytest
from django.db.models import F
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.gym.read import today
from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Gym, Machine, MachineType
from sessions.clock.write import now_ms, run_change, run_start
from sessions.models import Circuit, ClassRun, PlannedSession, PublishedSession, RunChange, Week
from tests import gym
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MINUTE = 60_000
# Capitals of the site's letters are 0.703 em; on 55 inches a pixel of 1080p is 0.634 mm, and what is read at a distance
# has capitals of at least its 250th part (common practice in signage). 8 m: 32 mm, 72 px.
NAME_SHARE = {12: 72 / 1080, 24: 72 / 1080, 42: 40 / 1080}  # of the screen's height; 42 alone, not in pairs: 4.4 m
DOSE_SHARE = {12: 90 / 1080, 24: 80 / 1080, 42: 40 / 1080}
# In place of the network: a server whose time is the page's, so that both are in the test's hand.
WORLD = """(() => {
  window.world = { run: null, plan: null, down: false, asked: 0 };
  window.fetch = async (address, options = {}) => {
    world.asked += 1;
    if (world.down) throw new TypeError("Failed to fetch");
    const tag = JSON.stringify(world.run ?? 0).length;
    const headers = { "Clock-Now": String(Date.now()), ETag: `"${tag}"`, Board: document.body.dataset.board };
    if (options.method === "HEAD") return new Response(null, { headers });
    const runs = world.run && !address.endsWith("?next");
    const of = runs ? `${world.run.key} ${world.run.plan}` : "";
    const told = { of, plan: world.plan, run: world.run, seen: "1" };
    return new Response(JSON.stringify(told), { headers });
  };
})()"""
SCROLLS = """() => {
  const { scrollHeight, scrollWidth } = document.documentElement;
  return scrollHeight > innerHeight || scrollWidth > innerWidth;
}"""
# Sizes of the shown letters, as shares of the screen's height.
SIZES = """(selector) => [...document.querySelectorAll(selector)]
  .filter((part) => part.offsetParent && part.textContent)
  .map((part) => parseFloat(getComputedStyle(part).fontSize) / innerHeight)"""
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
# Whom each column shows: names that lie wholly in it.
COLUMNS = """() => [...document.querySelectorAll(".w-column")].map((column) => {
  const line = column.querySelector(".w-people").getBoundingClientRect();
  return [...column.querySelectorAll(".w-one")].filter((one) => {
    const [box, who] = [one.getBoundingClientRect(), one.querySelector(".w-who")];
    const inside = box.top >= line.top - 1 && box.bottom <= line.bottom + 1 && line.bottom <= innerHeight;
    return inside && who.scrollWidth <= who.clientWidth + 1;
  }).map((one) => one.querySelector(".w-who").textContent);
})"""


def open_wall(open_page, coach, people: int, partners: int = 1, size=(1920, 1080), stations: int = 3):
    """(the wall's page, today's session) of a full circuit in a room of `people`."""
    gym.people(people)
    Gym.objects.update(local_rules="Emergency: call 112, say “the old mill, yard door”. First aid hangs by that door.")
    for kind in MachineType.objects.all():
        Machine.objects.bulk_create(Machine(type=kind, number=100 + n) for n in range(people))
    circuit = gym.circuit({**gym.DOCUMENT, "stations": gym.DOCUMENT["stations"] * (stations // 3)})
    Circuit.objects.update(partners=partners)
    circuit.refresh_from_db()
    week = publish(gym.planned_week(gym.this_monday(), *[circuit] * 7), coach)
    publish(gym.planned_week(None, circuit), coach)  # which comes next on a Sunday evening
    page = open_page(Client(), *size)
    return page, week.sessions.get(date=today())


def go(page: Page) -> None:
    page.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))


def begin(session: PublishedSession, ready_s: int = 3):
    return run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms(), ready_s=ready_s)


def press(run, kind: str, value: int = 0) -> None:
    run_change(run=run, key=uuid4(), kind=kind, value=value, at_ms=now_ms(), by=None)


def earlier(run, by_ms: int) -> None:
    """As if a run and all that was pressed had been that much earlier."""
    RunChange.objects.filter(run=run).update(at_ms=F("at_ms") - by_ms)
    moved = {"starts_ms": F("starts_ms") - by_ms, "over_ms": F("over_ms") - by_ms, "version": F("version") + 1}
    ClassRun.objects.filter(pk=run.pk).update(**moved)


def names_shown(page: Page) -> set[str]:
    return {name for column in page.evaluate(COLUMNS) for name in column}


def everyone() -> set[str]:
    return set(Athlete.objects.values_list("board_name", flat=True))


def works(page: Page) -> None:
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)


@pytest.mark.parametrize("people", [12, 24, 42])
def test_everyone_is_on_the_wall_with_dose_large_enough(open_page, furnished, coach, people):
    page, session = open_wall(open_page, coach, people, stations=6)
    go(page)
    expect(page.locator("[data-part=left]")).to_have_text(re.compile("^(06:00|18:30)$"))  # by the time of day
    begin(session)
    works(page)
    page.wait_for_timeout(300)
    assert names_shown(page) == everyone()
    assert not page.evaluate(SCROLLS)
    names, doses = page.evaluate(SIZES, ".w-who"), page.evaluate(SIZES, ".w-dose .figure")
    assert median(names) >= NAME_SHARE[people]
    assert median(doses) >= DOSE_SHARE[people]
    assert min(names) >= 0.6 * NAME_SHARE[people]
    assert min(page.evaluate(SIZES, ".w-left")) >= 0.15
    mm = median(names) * 1080 * 0.703 * 0.634
    print(f"\n{people} people: names have capitals of {mm:.0f} mm on 55 inches, read at {mm * 0.25:.1f} m")
    expect(page.locator(".w-foot")).to_contain_text("Stop on pain, dizziness or chest discomfort")
    foot, columns = page.locator(".w-foot").bounding_box(), page.locator(".w-columns").bounding_box()
    assert columns["y"] + columns["height"] <= foot["y"]


def test_a_larger_screen_shows_the_same_larger(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 12, size=(3840, 2160))
    go(page)
    begin(session)
    works(page)
    page.wait_for_timeout(300)
    assert names_shown(page) == everyone()
    assert median(page.evaluate(SIZES, ".w-who")) >= 60 / 1080


def test_a_load_that_is_not_everyones_leaves_room_for_the_name(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 9)
    names = ("Caoimhe", "Maximilian", "Ólafur")
    for athlete, name in zip(Athlete.objects.order_by("pk"), names, strict=False):
        Athlete.objects.filter(pk=athlete.pk).update(board_name=name)
    for n, target in enumerate(session.targets.filter(station=3, rung__gte=0)):
        session.targets.filter(pk=target.pk).update(load_kg=12.5 + 2.5 * n)
    go(page)
    run = begin(session)
    works(page)
    for interval in range(3):
        press(run, "jump", interval)
        page.wait_for_timeout(1_500)
        assert names_shown(page) == everyone()
    expect(page.locator(".w-load").filter(has_text="×12.5")).to_have_count(1)


def test_stations_keep_their_columns_and_people_go_one_to_the_right(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 7)
    go(page)
    run = begin(session)
    works(page)
    assert page.locator(".w-number").all_text_contents() == ["1", "2", "3"]
    page.wait_for_timeout(300)
    first = page.evaluate(COLUMNS)
    assert sorted(map(len, first)) == [2, 2, 3]
    press(run, "jump", 1)
    expect(page.locator(".w-column").nth(1).locator(".w-who").first).to_have_text(first[0][0])
    page.wait_for_timeout(300)
    assert page.evaluate(COLUMNS) == [first[2], first[0], first[1]]
    name = first[0][0]
    target = session.targets.get(athlete__board_name=name, station=2)
    line = page.locator(".w-column").nth(1).locator(".w-one", has_text=name)
    expect(line.locator(".figure")).to_have_text(f"{target.dose:.0f}")
    expect(page.locator("[data-part=then]")).to_have_text("rest at 0:45")


def test_of_partners_the_one_who_works_stands_out(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 6, partners=2)
    go(page)
    run = begin(session)
    works(page)
    first = page.locator(".w-column").first
    works_first, waits_first = first.locator(".w-who").first, first.locator(".w-partner").first
    one, other = works_first.text_content(), waits_first.text_content()
    assert {one, other} <= everyone()
    press(run, "jump", 1)
    expect(works_first).to_have_text(other)
    expect(waits_first).to_have_text(one)
    press(run, "jump", 2)
    expect(page.locator(".w-column").nth(1).locator(".w-who").first).to_have_text(one)


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
    assert seen == everyone()


def test_a_class_that_has_been_over_for_a_minute_gives_way_to_the_next(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 4)
    go(page)
    run = begin(session)
    expect(page.locator("[data-part=phase]")).to_have_text("Get ready", timeout=15_000)
    press(run, "end")
    expect(page.locator("[data-part=phase]")).to_have_text("Done", timeout=15_000)
    earlier(run, 61_000)
    expect(page.locator("[data-wall]")).to_have_attribute("data-state", "before", timeout=15_000)
    expect(page.locator("[data-part=phase]")).to_have_text("Mill race")
    expect(page.locator("[data-part=round]")).to_have_text(re.compile("^(today|tomorrow|now|in .* min)$"))


def test_another_revision_comes_by_itself_and_a_link_that_is_gone_says_so(open_page, furnished, coach):
    page, session = open_wall(open_page, coach, 4)
    go(page)
    expect(page.locator("[data-part=note]")).not_to_contain_text("towel")
    PlannedSession.objects.update(note="Bring a towel. " + 12 * "We go outside. ")
    for week in Week.objects.all():
        publish(week, coach)
    expect(page.locator("[data-part=note]")).to_contain_text("Bring a towel.", timeout=5_000)
    note, rule = (page.locator(f"[data-part={part}]").bounding_box() for part in ("note", "rule"))
    assert note["y"] >= rule["y"] + rule["height"]  # nothing strikes it through
    screen_link_issue(by=None)
    expect(page.get_by_role("heading")).to_contain_text("no longer works", timeout=10_000)


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
    station = {"unit": "kcal", "written": "14 kcal", "swaps": [["a", "Bike"]]}
    plan = {
        "name": "Mill race",
        "interval_s": 60,
        "stations": [{**station, "name": name} for name in ("Row", "Bike", "Ski")],
        "people": [
            {
                "name": f"A{n:04d}",
                "group": n % 3,
                "pair": n // 3,
                "turn": 0,
                "doses": [{"dose": str(10 + n % 7), "unit": "kcal", "by": 40, "mark": "" if n % 5 else "a"}] * 3,
            }
            for n in range(42)
        ],
    }
    wall, kept, before = page.locator("[data-wall]"), [], re.compile("^before$")
    for hour in range(8):
        page.evaluate(START, [SHAPE, plan, hour])
        page.clock.run_for(MINUTE)
        expect(wall).not_to_have_attribute("data-state", before)
        page.evaluate(PRESS, "pause")
        page.clock.run_for(2 * MINUTE)
        expect(page.locator("[data-part=phase]")).to_have_text("Paused")
        page.evaluate(PRESS, "resume")
        page.clock.run_for(4 * MINUTE)
        expect(wall).not_to_have_attribute("data-state", before)
        page.evaluate("(down) => { world.down = down; }", hour % 2 == 1)
        page.clock.run_for(8 * MINUTE)  # minute 15 of a class of 15 minutes that stood still for 2
        expect(wall).not_to_have_attribute("data-state", before)
        page.clock.run_for(5 * MINUTE)
        if hour % 2:  # what comes next is not known until there is a network
            expect(wall).to_have_attribute("data-state", "over")
            expect(page.locator("[data-link]")).to_contain_text("No connection since")
        else:
            expect(wall).to_have_attribute("data-state", before)  # over, though nobody said so
        page.evaluate("() => { world.down = false; world.run = null; }")
        page.clock.run_for(40 * MINUTE)
        expect(wall).to_have_attribute("data-state", before)
        expect(page.locator("[data-link]")).to_have_text("")
        kept.append(numbers_of(page))
    asked = page.evaluate("() => world.asked")
    half, end = kept[3], kept[-1]
    print(f"\n8 h on the wall, asked {asked} times; after hour 4 {half}, after hour 8 {end}")
    assert asked > 10_000
    assert abs(end["nodes"] - half["nodes"]) < 5  # a line of words more or less; a class has hundreds
    assert end["listeners"] == half["listeners"]
    assert end["heap"] <= 1.05 * half["heap"]
