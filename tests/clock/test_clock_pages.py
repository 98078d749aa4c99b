"""The clock over HTTP: what staff, the wall and a phone are told, how cheaply, and nothing that is not theirs."""

import json
import time
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from athletes.gym.read import today
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Athlete, Gym
from sessions.clock.write import run_change, run_start
from sessions.floor.attendance import attendance_mark
from sessions.models import Circuit, ClassRun, RunChange
from tests import gym
from tests.conftest import publish
from tests.phones import at, phone_of

POLL_QUERIES = 2
ONE_PART = {"kind": "every", "parts": [], "main": 0}  # of a class that is its circuit alone


@pytest.fixture
def week(furnished, coach):
    gym.people(4)
    return publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)


@pytest.fixture
def session(week):
    return week.sessions.get(date=today())


@pytest.fixture
def run(session) -> ClassRun:
    return run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms())


@pytest.fixture
def wall(week) -> str:
    return reverse("sessions:wall-clock", args=[screen_link_issue(by=None).token])


@pytest.fixture
def phone(week) -> str:
    athlete = Athlete.objects.get(board_name="A0001")
    return reverse("sessions:phone-clock", args=[link_issue(athlete=athlete, by=None).token])


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def pause(run) -> None:
    run_change(run=run, key=uuid4(), kind="pause", at_ms=now_ms(), by=None)


def press(client, session, *presses, hour="06:00", **facts):
    body = json.dumps({"hour": hour, "presses": presses, **facts})
    return client.post(reverse("sessions:clock-presses", args=[session.pk]), body, content_type="application/json")


def test_a_screen_gets_what_it_needs_to_go_on_alone(wall, run, session):
    before = now_ms()
    answer = Client().get(wall)
    assert before <= int(answer["Clock-Now"]) <= now_ms()
    told = answer.json()["run"]
    assert told == {
        "key": str(run.key),
        "version": 0,
        "hour": "06:00",
        "starts_ms": run.starts_ms,
        "shape": {"windows_s": [45, 40, 45], "interval_s": 60, "rounds": 5, "partners": 1, "ready_s": 10, **ONE_PART},
        "plan": session.pk,
        "wave": 1,
        "changes": [],
    }
    assert int(answer.json()["seen"]) > 0
    assert len(answer.content) < 380


def test_nothing_new_is_told_in_no_words_but_the_time(wall, run):
    tag = Client().get(wall)["ETag"]
    for known in (tag, f"W/{tag}"):
        answer = Client().get(wall, headers={"If-None-Match": known})
        assert (answer.status_code, answer.content) == (304, b"")
        assert answer["Clock-Now"]
    pause(run)
    answer = Client().get(wall, headers={"If-None-Match": tag})
    assert answer.status_code == 200
    assert [kind for _, kind, _ in answer.json()["run"]["changes"]] == ["pause"]


def test_a_phone_stays_with_the_class_that_its_athlete_came_to(session, run, phone, staff):
    athlete = Athlete.objects.get(board_name="A0001")
    later = run_start(session=session, hour="18:30", key=uuid4(), by=None, at_ms=now_ms() + 1000, ready_s=10)
    assert Client().get(phone).json()["run"]["key"] == str(later.key)
    attendance_mark(session=session, athlete_id=athlete.pk, hour="06:00", by=staff)
    assert Client().get(phone).json()["run"]["key"] == str(run.key)


def test_who_starts_a_class_while_another_runs_is_told_first(staff_client, session, run):
    def page(hour: str) -> str:
        return staff_client.get(reverse("sessions:clock", args=[session.pk]), {"hour": hour}).content.decode()

    assert "The clock of 06:00 still runs." in page("18:30")
    assert "still runs" not in page("06:00")


def test_no_class_is_told_as_briefly(wall, week):
    answer = Client().get(wall)
    assert answer.json()["run"] is None
    assert Client().get(wall, headers={"If-None-Match": answer["ETag"]}).status_code == 304


@pytest.mark.parametrize("place", ["wall", "phone"])
def test_asking_costs_two_statements_at_most_and_one_when_nothing_is_new(
    place, request, run, django_assert_num_queries
):
    url, client = request.getfixturevalue(place), Client()
    pause(run)
    tag = client.get(url)["ETag"]  # and the gym is read, which all screens share for two seconds
    with django_assert_num_queries(POLL_QUERIES):
        client.get(url)
    with django_assert_num_queries(1):
        client.get(url, headers={"If-None-Match": tag})


def test_staff_ask_as_cheaply_besides_signing_in(staff_client, session, run, django_assert_max_num_queries):
    url = reverse("sessions:clock-state", args=[session.pk])
    with django_assert_max_num_queries(POLL_QUERIES + 3):  # login session, account, gym
        told = staff_client.get(url, {"hour": "06:00"}).json()
    assert told["run"]["key"] == str(run.key)
    assert staff_client.get(url, {"hour": "18:30"}).json()["run"] is None


def test_the_wall_gets_names_and_doses_and_asks_again_for_nothing(wall, run, week, coach):
    publish(gym.planned_week(gym.this_monday() + timedelta(days=7), Circuit.objects.get()), coach)
    answer = Client().get(f"{wall}plan/")
    plan = answer.json()["plan"]
    assert plan["name"] == "Mill race"
    assert [(s["name"], s["unit"]) for s in plan["stations"]] == [
        ("Row", "kcal"),
        ("Pull up", ""),
        ("Goblet squat", "× load"),
    ]
    assert plan["stations"][0]["swaps"] == [["a", "Bike"]]
    assert sorted((a["name"], a["group"]) for a in plan["people"]) == [
        ("A0000", 0),
        ("A0001", 1),
        ("A0002", 2),
        ("A0003", 0),
    ]
    assert all(len(a["doses"]) == 3 for a in plan["people"])
    assert "Athlete 0001" not in answer.content.decode()  # full names stay off the wall
    after = Client().get(f"{wall}plan/", {"next": ""}).json()  # a minute after it is over
    assert after["of"] == ""
    assert {"starts_ms", "day", "week_note"} <= set(after["plan"])
    assert Client().get(f"{wall}plan/", headers={"If-None-Match": answer["ETag"]}).status_code == 304


def test_a_phone_gets_its_own_part_only(phone, run, week):
    answer = Client().get(f"{phone}plan/")
    plan = answer.json()["plan"]
    target = week.targets.get(athlete__board_name="A0001", session__date=today(), station=1)
    assert plan["group"] == 1
    row = plan["stations"][0]
    assert (row["movement"], row["dose"], row["unit"]) == ("Row", f"{target.dose:.0f}", "kcal")
    assert row["by"] == target.finish_by_s
    assert row["hold_unit"] == "per 500 m"
    assert not any(name in answer.content.decode() for name in ("A0000", "A0002", "A0003"))


def test_a_phone_says_loads_as_they_stand_on_the_bar(phone, run, week):
    Athlete.objects.update(load_unit="lb")
    units = [station.get("unit", "") for station in Client().get(f"{phone}plan/").json()["plan"]["stations"]]
    assert any(unit.startswith("× ") and unit.endswith(" kg") for unit in units)
    assert not any(unit.endswith(" lb") for unit in units)


def test_a_class_of_others_is_not_on_an_athletes_phone(phone, run, week):
    week.targets.filter(athlete__board_name="A0001", session__date=today()).delete()
    assert Client().get(phone).json()["run"] is None
    assert Client().get(f"{phone}plan/").json()["plan"] is None


@pytest.mark.parametrize("place", ["wall", "phone"])
def test_a_link_that_is_gone_opens_no_clock(place, request, run):
    url = request.getfixturevalue(place)
    if place == "wall":
        screen_link_issue(by=None)
    else:
        link_issue(athlete=Athlete.objects.get(board_name="A0001"), by=None)
    assert [Client().get(path).status_code for path in (url, f"{url}plan/")] == [410, 410]


@pytest.mark.parametrize("name", ["wall-clock", "wall-clock-plan", "phone-clock", "phone-clock-plan"])
def test_a_link_that_was_never_made_opens_no_clock(name, run, owner_client):
    assert owner_client.get(reverse(f"sessions:{name}", args=["x" * 28])).status_code == 410


def test_pressing_starts_and_changes_and_answers_with_the_state(staff_client, session, staff):
    run = str(uuid4())
    start = {"key": run, "kind": "start", "at_ms": now_ms(), "value": 10}
    jump = {"key": str(uuid4()), "kind": "jump", "at_ms": now_ms(), "value": 4, "run": run}
    for _ in range(2):
        answer = press(staff_client, session, start, jump).json()
        assert answer["refused"] == {}
        assert (answer["run"]["key"], answer["run"]["version"]) == (run, 1)
    assert ClassRun.objects.get().started_by == staff
    assert RunChange.objects.get().made_by == staff


def test_a_press_that_is_refused_comes_back_with_its_reason(staff_client, session):
    late = {"key": str(uuid4()), "kind": "pause", "at_ms": now_ms(), "run": str(uuid4())}
    answer = press(staff_client, session, late).json()
    assert "Another coach" in answer["refused"][late["key"]]
    assert answer["run"] is None


@pytest.mark.parametrize(
    "body",
    ["", "[]", "null", "{", '{"hour": "06:00"}', '{"hour": "06:00", "presses": [{"kind": "start"}]}',
     '{"hour": "06:00", "presses": [{"key": "5b1c4a52-2a5e-4a51-9d43-6f3a5d9f1c11", "kind": "pause", "at_ms": 5}]}',
     '{"hour": "06:00", "presses": [{"key": "x", "kind": "fly", "at_ms": 5}]}'],
)  # fmt: skip
def test_presses_that_cannot_be_read_change_nothing(staff_client, session, body):
    url = reverse("sessions:clock-presses", args=[session.pk])
    answer = staff_client.post(url, body, content_type="application/json")
    assert answer.status_code == 422
    assert "Reload the page" in answer.json()["error"]
    assert not ClassRun.objects.exists()


def test_presses_need_the_pages_own_token(staff, session):
    client = Client(enforce_csrf_checks=True)
    client.force_login(staff, backend="django.contrib.auth.backends.ModelBackend")
    assert press(client, session, {}).status_code == 403


def test_the_page_of_a_class_knows_its_time_and_its_circuit(staff_client, session):
    page = staff_client.get(reverse("sessions:clock", args=[session.pk]), {"hour": "18:30"}).content.decode()
    assert 'data-hour="18:30"' in page
    assert "&quot;windows_s&quot;: [45, 40, 45]" in page
    assert "Stop on pain, dizziness or chest discomfort" in page


def test_the_page_of_another_day_says_so_and_has_no_buttons(staff_client, week):
    other = week.sessions.exclude(date=today()).first()
    page = staff_client.get(reverse("sessions:clock", args=[other.pk])).content.decode()
    assert "its clock starts on that day" in page
    assert "data-act" not in page


def test_the_page_of_a_replaced_revision_leads_to_the_one_everyone_sees(staff_client, session, week, coach):
    fresh = publish(week.week, coach).sessions.get(date=today())
    answer = staff_client.get(reverse("sessions:clock", args=[session.pk]), {"hour": "18:30"})
    assert answer.url == f"{reverse('sessions:clock', args=[fresh.pk])}?hour=18:30"


def test_todays_classes_lead_to_their_clocks(staff_client, session, run, week):
    for url in ("/", reverse("sessions:publication", args=[week.pk])):
        page = staff_client.get(url).content.decode()
        assert f"{reverse('sessions:clock', args=[session.pk])}?hour=06:00" in page
        assert f"{reverse('sessions:clock', args=[session.pk])}?hour=18:30" in page
    assert "Open the clock of Mill race </span>06:00 runs" in page
    assert "Start the clock of Mill race </span>18:30</a>" in page
    home = staff_client.get("/").content.decode()
    assert home.count("clock runs") == 1


def test_a_phones_page_has_the_class_today_and_stays_in_memory(week, django_assert_max_num_queries):
    link = link_issue(athlete=Athlete.objects.first(), by=None)
    client = phone_of(link)
    first = client.get(at(link)).content.decode()
    assert f'data-url="{at(link, "phone-clock")}"' in first
    assert "data-live" not in client.get(at(link, "phone-week")).content.decode()
    with django_assert_max_num_queries(2):
        assert client.get(at(link)).content.decode() == first


def test_the_wall_says_which_board_it_shows(wall, week, coach):
    page = wall.removesuffix("clock/")
    shown = Client().get(page)
    assert f'data-board="{shown["Board"]}"' in shown.content.decode()
    assert Client().head(page)["Board"] == shown["Board"]
    gym_row = Gym.objects.get()
    gym_row.local_rules = "Call 112."
    gym_row.save()
    assert Client().head(page)["Board"] != shown["Board"]


def test_staff_looking_at_a_board_see_no_clock(staff_client, session):
    page = staff_client.get(reverse("sessions:board", args=[session.pk])).content.decode()
    assert "data-url" not in page
    assert "A0000" in page
