"""One class on five screens: wall, floor sheet and three phones say the same of everyone, whatever happens."""

import time
from collections import defaultdict
from dataclasses import replace
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Error, Page, expect

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Account, Athlete, Machine, MachineType
from sessions.clock.moment import Moment, moment, shape_from
from sessions.clock.read import changes_of
from sessions.clock.write import now_ms, run_change, run_start
from sessions.floor.attendance import attendance_mark
from sessions.floor.write import dose_change
from sessions.models import ClassRun, Log, PublishedSession, StationOption
from sessions.places.write import start_set
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, tap_on, target_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SAMPLES = 40
EVERY_S = 1.4
LONGEST_S = 5.0
PHONES = ("A0000", "A0001", "A0002")
# Of everyone on the wall: the station, from 0, and the number or the word that stands there.
ON_WALL = """() => [...document.querySelectorAll(".w-column")].flatMap((column, station) =>
  [...column.querySelectorAll(".w-one")].map((one) => [
    one.querySelector(".w-who").textContent, station, one.querySelector(".figure").textContent,
  ]))"""
ON_PHONE = """() => {
  const words = (name) => document.querySelector(`[data-live] [data-part=${name}]`)?.textContent ?? "";
  const shown = !document.querySelector("[data-live]").hidden;
  return shown ? [Number(words("number")) - 1, words("dose"), words("phase"), words("left")] : null;
}"""
# Of everyone here on the sheet: the station where they begin, and what stands at each.
ON_SHEET = """() => [...document.querySelectorAll("tr[data-athlete]:not(.is-away)")].map((row) => [
  row.dataset.who, Number(row.dataset.group),
  [...row.querySelectorAll(".floor-cell")].map((cell) =>
    (cell.querySelector(".figure") ?? cell.querySelector(".floor-figure")).textContent.trim()),
])"""


@pytest.fixture
def session(begin_with) -> PublishedSession:
    begin_with(this_week_for_eight)
    return PublishedSession.objects.get(date=today())


def this_week_for_eight(coach: Account) -> None:
    gym.people(8)
    for kind in MachineType.objects.all():
        Machine.objects.bulk_create(Machine(type=kind, number=10 + n) for n in range(4))
    document = {**gym.DOCUMENT, "interval_s": 20, "rotations": 10}
    document["stations"] = [{**station, "work_window_s": 15} for station in gym.DOCUMENT["stations"]]
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit(document)] * 7), coach)


class Screens:
    """The wall, the sheet and the phones of one class, and for how long any of them disagreed about somebody."""

    def __init__(self, wall: Page, sheet: Page, phones: dict[str, Page]):
        self.wall, self.sheet, self.phones = wall, sheet, phones
        self.began: dict[tuple[str, str], float] = {}
        self.longest = 0.0
        self.seen: dict[str, int] = defaultdict(int)

    def sample(self, run: ClassRun) -> None:
        at = self._standing(run)
        on_wall = {name: (station, dose) for name, station, dose in self.wall.evaluate(ON_WALL)}
        try:
            on_sheet = {name: (group, doses) for name, group, doses in self.sheet.evaluate(ON_SHEET)}
        except Error:  # it loads itself anew, for there is another revision
            self.sheet.wait_for_load_state()
            return
        on_phone = {name: page.evaluate(ON_PHONE) for name, page in self.phones.items()}
        if self._standing(run) != at:
            return  # everyone moved on while this was read
        rest = at.phase == "rest" and at.step + 1 < at.rounds * 3
        shift = (at.shift + 1) % 3 if rest else at.shift
        differ = set()
        for name, (group, doses) in on_sheet.items():
            station = (group + shift) % 3
            if on_wall.get(name) != (station, doses[station]):
                differ.add((name, "sheet"))
        for name in set(on_wall) - set(on_sheet):
            differ.add((name, "sheet"))
        for name, shown in on_phone.items():
            self.seen[name] += shown is not None
            if name in on_wall and (shown is None or tuple(shown[:2]) != on_wall[name]):
                differ.add((name, "phone"))
        self._count(differ)

    def _standing(self, run: ClassRun) -> Moment:
        """Where the class stands, whatever second it is."""
        found = moment(shape_from(run.shape), run.starts_ms, changes_of(run.pk), now_ms())
        return replace(found, second=0, left_ms=0)

    def _count(self, differ: set) -> None:
        now = time.monotonic()
        for what in differ:
            began = self.began.setdefault(what, now)
            self.longest = max(self.longest, now - began)
        for what in set(self.began) - differ:
            self.longest = max(self.longest, now - self.began.pop(what))


def test_wall_sheet_and_phones_agree_through_a_whole_class(open_page, session, coach, coach_client):
    people = {athlete.board_name: athlete for athlete in Athlete.objects.all()}
    for name in list(people)[:6]:
        attendance_mark(session=session, athlete_id=people[name].pk, hour=HOUR, by=coach)
    wall = open_page(Client(), width=1920, height=1080)
    wall.goto(reverse("sessions:wall", args=[screen_link_issue(by=None).token]))
    sheet = open_page(coach_client, width=820, height=1180)
    sheet.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour={HOUR}")
    phones = {}
    for name in PHONES:
        phones[name] = open_page(Client(), width=360, height=740, is_mobile=True, has_touch=True)
        phones[name].goto(reverse("sessions:phone", args=[link_issue(athlete=people[name], by=None).token]))
    run = run_start(session=session, hour=HOUR, key=uuid4(), by=coach, at_ms=now_ms(), ready_s=3)
    for page in phones.values():
        expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    screens = Screens(wall, sheet, phones)
    begun_at = {name: group for name, group, _ in sheet.evaluate(ON_SHEET)}

    def easier(name: str, station: int) -> None:
        live = PublishedSession.objects.as_seen(session.key, session.date)
        dose_change(session=live, tap=tap_on(target_of(live, people[name], station), "easier"), by=coach)

    def press(kind: str) -> None:
        run_change(run=run, key=uuid4(), kind=kind, at_ms=now_ms(), by=coach)

    def revise() -> None:
        StationOption.objects.filter(station__position=1, rung=0).update(dose=11)
        week = session.publication.week
        publish(type(week).objects.get(pk=week.pk), coach)

    events = {
        3: lambda: easier("A0000", 1),
        7: lambda: attendance_mark(session=session, athlete_id=people["A0006"].pk, hour=HOUR, by=coach),
        11: lambda: easier("A0001", 2),
        14: lambda: press("pause"),
        16: lambda: press("resume"),
        18: lambda: phones["A0002"].context.set_offline(True),
        23: lambda: phones["A0002"].context.set_offline(False),
        25: lambda: attendance_mark(session=session, athlete_id=people["A0007"].pk, hour=HOUR, by=coach),
        29: revise,
    }
    for sample in range(SAMPLES):
        if event := events.get(sample):
            event()
        screens.sample(run)
        wall.wait_for_timeout(1000 * EVERY_S)
    print(f"\nlongest disagreement of five screens over {SAMPLES} moments: {screens.longest:.1f} s")
    assert screens.longest < LONGEST_S
    assert all(screens.seen[name] > SAMPLES * 0.8 for name in PHONES)
    now = {name: group for name, group, _ in sheet.evaluate(ON_SHEET)}
    assert {name: now[name] for name in begun_at} == begun_at  # nobody who had started was moved
    assert {"A0006", "A0007"} <= set(now)
    for page in phones.values():
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_reload_without_a_network_in_mid_class_keeps_the_clock(open_page, session, coach):
    athlete = Athlete.objects.get(board_name="A0000")
    page = open_page(Client(), width=360, height=740, is_mobile=True, has_touch=True)
    page.goto(reverse("sessions:phone", args=[link_issue(athlete=athlete, by=None).token]))
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    run_start(session=session, hour=HOUR, key=uuid4(), by=coach, at_ms=now_ms(), ready_s=3)
    expect(page.locator("[data-part=phase]")).to_have_text("Work", timeout=15_000)
    before = page.evaluate(ON_PHONE)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("[data-live]")).to_be_visible()
    expect(page.locator("[data-part=link]")).to_contain_text("No network. The clock goes on")
    after = page.evaluate(ON_PHONE)
    assert (after[0] - before[0]) % 3 in (0, 1)  # where it was, or one station on
    shown = page.locator("[data-part=left]").text_content()
    expect(page.locator("[data-part=left]")).not_to_have_text(shown)


def test_who_finds_no_machine_is_told_and_the_coach_is_offered_ways_out(open_page, session, coach, coach_client):
    """One rowing ergometer and no bike: of four people only three have a place, one at each station."""
    Machine.objects.exclude(type__name__icontains="row").update(active=False)
    rowers = Machine.objects.filter(type=MachineType.objects.get(movements__slug="row"))
    rowers.exclude(pk=rowers.first().pk).update(active=False)
    session.targets.filter(station=1).update(rung=0, dose=4)  # everyone rows
    people = list(Athlete.objects.order_by("board_name")[:4])
    for athlete in people:
        attendance_mark(session=session, athlete_id=athlete.pk, hour=HOUR, by=coach)
    sheet = open_page(coach_client, width=820, height=1180)
    sheet.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour={HOUR}")
    offer = sheet.locator(".floor-offer")
    expect(offer).to_have_count(1)
    expect(offer).to_contain_text("has no place: Row: 1 machine")
    name = offer.get_attribute("data-who")
    phone = open_page(Client(), width=360, height=740, is_mobile=True, has_touch=True)
    waits = Athlete.objects.get(board_name=name)
    phone.goto(reverse("sessions:phone", args=[link_issue(athlete=waits, by=None).token]))
    expect(phone.locator("[data-start]")).to_contain_text("Your coach gives you a place")
    offer.get_by_role("button", name="Rest minute").click()
    expect(offer).to_have_count(0)
    expect(phone.locator("[data-start]")).to_contain_text("You start at", timeout=10_000)
    target = target_of(session, waits, 1)
    assert target.rung == -1
    expect(phone.locator("tr[data-station='1']")).to_contain_text("Rest")


def test_the_class_is_logged_in_one_tap_and_that_is_undone_in_another(open_page, session, coach, coach_client):
    for athlete in Athlete.objects.order_by("pk")[:5]:
        attendance_mark(session=session, athlete_id=athlete.pk, hour=HOUR, by=coach)
    run = run_start(session=session, hour=HOUR, key=uuid4(), by=coach, at_ms=now_ms(), ready_s=3)
    run_change(run=run, key=uuid4(), kind="end", at_ms=now_ms(), by=coach)
    sheet = open_page(coach_client, width=820, height=1180)
    sheet.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour={HOUR}")
    log = sheet.locator("[data-class-log]")
    expect(log).to_have_text("Log the 5 left as planned")
    log.click()
    expect(sheet.locator("[data-said]")).to_have_text("5 logged as planned.")
    assert Log.objects.standing().count() == 5
    expect(log).to_have_text("Undo")
    log.click()
    expect(sheet.locator("[data-said]")).to_contain_text("Taken back")
    assert Log.objects.standing().count() == 0


def test_the_second_wave_is_told_that_it_is_next_and_the_first_that_it_is_done(open_page, session, coach, coach_client):
    first, second = Athlete.objects.order_by("board_name")[:2]
    for athlete in (first, second):
        attendance_mark(session=session, athlete_id=athlete.pk, hour=HOUR, by=coach)
    start_set(session=session, athlete_id=second.pk, hour=HOUR, group=0, wave=2)
    phones = {athlete: open_page(Client(), width=360, height=740, is_mobile=True) for athlete in (first, second)}
    for athlete, page in phones.items():
        page.goto(reverse("sessions:phone", args=[link_issue(athlete=athlete, by=None).token]))
    run = run_start(session=session, hour=HOUR, key=uuid4(), by=coach, at_ms=now_ms(), ready_s=3)
    live = {athlete: page.locator("[data-live]") for athlete, page in phones.items()}
    expect(live[second]).to_contain_text("you start when the first is done", timeout=15_000)
    ClassRun.objects.filter(pk=run.pk).update(starts_ms=now_ms() - 400_000)  # more than half of it is done
    run_change(run=run, key=uuid4(), kind="end", at_ms=now_ms(), by=coach)
    expect(live[second]).to_contain_text("your coach starts your wave.", timeout=15_000)
    expect(live[second].locator("[data-part=done]")).to_be_hidden()
    expect(live[first].locator("[data-part=done]")).to_be_visible(timeout=15_000)
    sheet = open_page(coach_client, width=820, height=1180)
    sheet.goto(f"{reverse('sessions:floor', args=[session.pk])}?hour={HOUR}")
    sheet.get_by_role("button", name="Start the second wave").click()
    expect(live[second].locator("[data-part=phase]")).to_have_text("Work", timeout=30_000)
    expect(live[first]).not_to_contain_text("Work")
