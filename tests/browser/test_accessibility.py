"""axe-core finds nothing against WCAG 2.2 AA on any kind of page, in light and dark; no page scrolls sideways."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page

from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.importing import run as import_run
from athletes.importing.write import import_begin, import_check, import_keep
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import (
    Account,
    AirReading,
    Athlete,
    Benchmark,
    LeverReading,
    Limitation,
    Machine,
    MachineType,
    Movement,
    Override,
    Rack,
)
from coachhub import archive_shelf
from sessions.by_hand.write import pin_set
from sessions.classes.write import parts_write
from sessions.models import Circuit, Log, Pin, PlannedSession, Publication, StationOption, Target
from tests import gym
from tests.browser.axe import findings_in_both_schemes
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = {"width": 360, "height": 740}
SCREEN = {"width": 1920, "height": 1080}
EMPTY_WEEK = date(2031, 3, 3)


@pytest.fixture
def lived_in(begin_with) -> Publication:
    begin_with(a_week_lived_in)
    return Publication.objects.get(state="live")


def a_week_lived_in(coach: Account) -> None:
    """A week published twice, with a capped, a swapped and a resting athlete, and one without a benchmark."""
    gym.people(5)
    gym.people(1, tested=False)
    resting = Athlete.objects.last()
    Limitation.objects.create(athlete=resting, kind="body", patterns=["pull"], starts_on=today())
    circuit = gym.circuit()
    week = gym.planned_week(gym.this_monday(), *[circuit] * 7)
    parts_write(of=week.sessions.first(), parts=gym.class_parts(circuit))
    publish(week, coach)
    StationOption.objects.filter(station__position=1, station__circuit=circuit).update(dose=11)
    link_issue(athlete=Athlete.objects.first(), by=None)
    publish(week, coach)


@pytest.fixture
def check(open_page):
    """Visit pages, prepare each one where it needs it, and collect what is found on all of them."""

    def run(client: Client, visits: dict[str, Callable[[Page], None] | None], **size) -> None:
        page, found = open_page(client, color_scheme="light", **size), []
        for path, prepare in visits.items():
            page.goto(path)
            if prepare:
                prepare(page)
            found += findings_in_both_schemes(page)
            if page.evaluate("() => document.documentElement.scrollWidth > innerWidth"):
                found.append(f"{path} scrolls sideways")
        assert not found, "\n".join(found)

    return run


def preview_shown(page: Page) -> None:
    page.locator("#room-people td").first.click()
    everything_open(page)


def stuck(page: Page) -> None:
    page.locator("#text").fill("every minute, 25 min\n12 cal rwo\n10 log hops\n5 pull-ups")
    page.get_by_role("button", name="make it").wait_for()


def in_fields(page: Page) -> None:
    page.locator("#text").fill("12 cal row\n5 pull-ups")
    page.locator("[data-to-fields]").click()
    page.wait_for_selector("#stations")


def curve_drawn(page: Page) -> None:
    page.click("[data-curve] > summary")
    page.wait_for_selector(".chart .main-svg")
    page.click("[data-table] > summary")


def everything_open(page: Page) -> None:
    page.evaluate("() => document.querySelectorAll('details').forEach((details) => (details.open = true))")


def test_pages_of_weeks_and_circuits(check, coach_client, lived_in):
    session = PlannedSession.objects.first()
    swapped = Target.objects.filter(publication=lived_in, rung=1).first()
    pages = {
        "/": None,
        reverse("sessions:week", args=[lived_in.week.starts_on]): None,
        reverse("sessions:week", args=[EMPTY_WEEK]): None,
        reverse("sessions:planned-change", args=[session.pk]): everything_open,
        reverse("sessions:circuits"): None,
        reverse("sessions:circuit-create"): stuck,
        reverse("sessions:circuit-create") + "?fields": in_fields,
        reverse("sessions:circuit-change", args=[Circuit.objects.get().pk]): preview_shown,
        reverse("sessions:room", args=[session.pk]): everything_open,
        reverse("sessions:publication", args=[lived_in.pk]): None,
        reverse("sessions:publication-changes", args=[lived_in.pk]): None,
        reverse("sessions:target", args=[swapped.pk]): None,
    }
    check(coach_client, pages)


@pytest.fixture
def gym_pages(lived_in, coach) -> dict:
    """Loads, levers and air, each with something to show, and a caution that is set aside."""
    rowers, athlete = MachineType.objects.get(name="rowing ergometer"), Athlete.objects.first()
    MachineType.objects.filter(pk=rowers.pk).update(lever_most=10)
    machine = Machine.objects.filter(type=rowers).first()
    for lever, drag in ((1, 84), (10, 186)):
        LeverReading.objects.create(machine=machine, lever=lever, drag=drag, density=1.15, taken_on=today())
    AirReading.objects.create(taken_at=timezone.now(), temperature_c=20, humidity_percent=50, wbgt_c=17)
    rack = Rack.objects.create(name="Bar", loads=[8, 12], bar_kg=20, pairs=[[20, 4], [2.5, 2]])
    Movement.objects.filter(slug="goblet-squat").update(rack=rack, high_eccentric=True)
    Override.objects.create(
        athlete=athlete, caution="return", starts_on=today(), ends_on=gym.this_monday() + timedelta(days=14),
        reason="Trained elsewhere.", made_by=coach,
    )  # fmt: skip
    return {
        f"/athletes/{athlete.pk}/": everything_open,
        f"/athletes/{athlete.pk}/overrides/": None,
        f"/gym/machines/{rowers.pk}/?drag=120": everything_open,
        f"/gym/machines/{rowers.pk}/?drag=12": None,
        "/gym/loads/": None,
        "/gym/loads/new/": None,
        f"/gym/loads/{rack.pk}/": everything_open,
        "/gym/air/": everything_open,
        f"/movements/{Movement.objects.get(slug='goblet-squat').pk}/": None,
    }


@pytest.mark.parametrize("size", [{}, PHONE], ids=["laptop", "phone"])
def test_pages_of_loads_levers_air_and_cautions(check, coach_client, gym_pages, size):
    check(coach_client, gym_pages, **size)


def test_settings_and_machines_as_the_owner_sees_them(check, owner_client, gym_pages):
    machines = [path for path in gym_pages if path.startswith("/gym/machines/")]
    check(owner_client, {"/gym/": None, **dict.fromkeys(machines)}, **PHONE)


def test_pages_of_athletes_and_benchmarks(check, coach_client, lived_in):
    athlete, row = Athlete.objects.first(), Benchmark.objects.get(slug="2000-m-row")
    effort_record(athlete=athlete, benchmark=row, typed="6:58", performed_on=today(), by=None, confirmed=True)
    pages = {
        "/athletes/": None,
        f"/athletes/{athlete.pk}/": curve_drawn,
        f"/athletes/{Athlete.objects.last().pk}/": None,
        f"/benchmarks/{row.pk}/test-day/": None,
    }
    check(coach_client, pages)


@pytest.fixture
def import_pages(lived_in, coach) -> dict:
    """A file at every step of its way, with something to say at each."""
    lines = ["Athlete;2k row;The Monster;Date", "Athlete 0000;7:10;1:00;03/11/2025", "Nina Nu;7:42.3;;04/11/2025"]
    lines += ["Athlete 0001;soon;;05/11/2025", "Athlete 0002;3:05;;06/11/2025"]
    steps = []
    for _ in range(4):
        content = "\n".join(lines).encode("cp1252")
        steps.append(import_begin(key=uuid4(), filename="tests of autumn.csv", content=content, by=coach))
    for source in steps[1:]:
        import_check(source=source, order="day")
    for source in steps[2:]:
        import_run.run(source.pk)
    import_keep(source=steps[3], create_athletes=True)
    import_run.run(steps[3].pk)
    pages = [f"/athletes/import/{source.pk}/" for source in steps]
    lists = [f"{pages[2]}?show={kind}" for kind in ("questioned", "newcomer")]
    return dict.fromkeys(["/athletes/import/", "/athletes/export/", *pages, *lists], everything_open)


@pytest.mark.parametrize("size", [{}, PHONE], ids=["laptop", "phone"])
def test_pages_of_import_and_export(check, coach_client, import_pages, size):
    check(coach_client, import_pages, **size)


@pytest.mark.parametrize("size", [{}, PHONE], ids=["laptop", "phone"])
def test_archive_and_erasing_as_the_owner_sees_them(check, owner_client, lived_in, settings, tmp_path, size):
    settings.DATA_DIR = tmp_path
    archive_shelf.ask()
    check(owner_client, {"/gym/archive/": everything_open}, **size)
    archive_shelf.make()
    one = f"/athletes/{Athlete.objects.first().pk}/"
    check(owner_client, {"/gym/archive/": everything_open, one: None, f"{one}erase/": None}, **size)


def test_pages_at_the_width_of_a_phone(check, coach_client, lived_in):
    pages = {
        "/": None,
        reverse("sessions:week", args=[lived_in.week.starts_on]): None,
        reverse("sessions:circuit-change", args=[Circuit.objects.get().pk]): preview_shown,
        reverse("sessions:publication-changes", args=[lived_in.pk]): None,
        reverse("sessions:target", args=[lived_in.targets.first().pk]): None,
        f"/athletes/{Athlete.objects.first().pk}/": curve_drawn,
    }
    check(coach_client, pages, **PHONE)


def test_pages_that_need_no_account(check, lived_in):
    athlete = Athlete.objects.first()
    token = link_issue(athlete=athlete, by=None).token
    names = ("sessions:phone", "sessions:phone-week", "sessions:phone-numbers")
    phone = {reverse(name, args=[token]): everything_open for name in names}
    check(Client(), {**phone, "/login/": None, "/a/gone/": None, "/a/nobodyknows1/": None}, **PHONE)


def menu_of_a_dose(page: Page) -> None:
    page.locator("button.floor-dose").first.click()


def logs_of_a_class(page: Page) -> None:
    page.get_by_text("Logs", exact=True).click()


@pytest.fixture
def floor_pages(lived_in) -> dict:
    """A floor sheet with a walk-in to come, a dose set by hand and a log with pain; its log and its walk-ins."""
    session, athlete = lived_in.sessions.get(date=today()), Athlete.objects.first()
    gym.people(1)
    facts = {"session": session, "session_key": session.key, "date": session.date, "done_at": timezone.now()}
    Log.objects.create(key=uuid4(), athlete=athlete, rpe=9, pain=True, note="left knee", source="phone", **facts)
    row = session.definition.stations[0].prescribed.movement.id
    pin = Pin(session_key=session.key, athlete=athlete, station=1, movement_id=row, dose=6, reason="sore")
    pin_set(pin=pin, station=session.definition.stations[0])
    sheet, log = f"/floor/{session.pk}/", f"/floor/{session.pk}/logs/{athlete.pk}/"
    return {
        "/": None,
        sheet: None,
        f"{sheet}?hour=06:00": menu_of_a_dose,
        f"{sheet}?hour=18:30": logs_of_a_class,
        log: None,
        f"{sheet}walk-ins/": None,
    }


@pytest.mark.parametrize("size", [{}, PHONE], ids=["tablet", "phone"])
def test_the_floor_sheet(check, coach_client, floor_pages, size):
    check(coach_client, floor_pages, **size)


def test_the_wall(check, lived_in):
    check(Client(), {reverse("sessions:wall", args=[screen_link_issue(by=None).token]): None}, **SCREEN)
