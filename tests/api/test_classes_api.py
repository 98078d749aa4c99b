"""A class as it runs over the API: who came, the clock, logs, walk-ins and flags, as on the floor sheet."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes.gym.read import today
from athletes.models import Athlete, MachineType
from sessions.clock.write import now_ms
from sessions.models import Attendance, Log, PublishedSession
from tests import gym
from tests.conftest import JSON, publish

HOUR = "06:00"


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(3)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def address(session) -> str:
    return f"/api/v1/classes/{session.pk}/"


def test_classes_are_listed_and_an_old_id_leads_to_what_holds_now(session, address, coach, staff_api):
    listed = staff_api.get("/api/v1/classes/", {"date": str(today())}).json()["results"]
    assert [(one["id"], one["hours"], one["circuit"]) for one in listed] == [(session.pk, [HOUR, "18:30"], "Mill race")]
    publish(session.publication.week, coach)
    assert staff_api.get(address).json()["id"] != session.pk
    assert staff_api.get("/api/v1/classes/0/").status_code == staff_api.get("/api/v1/classes/x/").status_code == 404


def test_who_came_is_marked_and_taken_back(session, address, staff_api):
    athlete = Athlete.objects.first().pk
    sent = {"hour": HOUR, "athlete": athlete, "came": True}
    for _ in range(2):
        came = staff_api.post(f"{address}attendance/", sent, **JSON)
        assert (came.status_code, [row["athlete"] for row in came.json()]) == (200, [athlete])
    assert staff_api.get(f"{address}attendance/?hour=18:30").json() == []
    assert staff_api.get(f"{address}attendance/?day=1").status_code == 400
    for field, value in {"hour": "07:00", "athlete": 0, "came": "yes"}.items():
        answer = staff_api.post(f"{address}attendance/", {**sent, field: value}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])
    for _ in range(2):
        assert staff_api.post(f"{address}attendance/", {**sent, "came": False}, **JSON).json() == []
    PublishedSession.objects.filter(pk=session.pk).update(date=today() + timedelta(days=30))
    early = staff_api.post(f"{address}attendance/", sent, **JSON)
    assert (early.status_code, Attendance.objects.exists()) == (409, False)


def test_the_clock_is_started_pressed_and_followed(address, staff_api):
    assert staff_api.get(f"{address}clock/").json()["run"] is None
    start = {"key": str(uuid4()), "kind": "start", "at_ms": now_ms(), "value": 10}
    pause = {"key": str(uuid4()), "kind": "pause", "at_ms": now_ms(), "run": start["key"]}
    lost = {**pause, "key": str(uuid4()), "run": str(uuid4())}
    for _ in range(2):
        pressed = staff_api.post(f"{address}clock/", {"hour": HOUR, "presses": [start, pause, lost]}, **JSON)
        assert (pressed.status_code, list(pressed.json()["refused"])) == (200, [lost["key"]])
        assert pressed.json()["run"]["key"] == start["key"]
        assert [kind for _, kind, _ in pressed.json()["run"]["changes"]] == ["pause"]
    now = staff_api.get(f"{address}clock/?hour={HOUR}")
    assert now.json()["run"] == pressed.json()["run"]
    assert (
        staff_api.get(f"{address}clock/?hour={HOUR}", headers={"If-None-Match": now.headers["ETag"]}).status_code == 304
    )
    assert staff_api.get(f"{address}clock/?hour=18:30").json()["run"] is None
    assert (
        staff_api.post(f"{address}clock/", {"hour": HOUR, "presses": [{**pause, "run": 3}]}, **JSON).status_code == 400
    )


def test_staff_log_as_planned_or_station_by_station(session, address, staff_api):
    athlete = Athlete.objects.first()
    sent = {"athlete": athlete.pk, "key": str(uuid4()), "done_at": timezone.now().isoformat(), "rpe": 7, "hour": HOUR}
    first, again = (staff_api.post(f"{address}logs/", sent, **JSON) for _ in range(2))
    assert (first.status_code, first.json()) == (201, again.json())
    assert [(entry["rounds"], entry["dose"]) for entry in first.json()["entries"]] == [
        (5, target.dose) for target in session.targets.filter(athlete=athlete).order_by("station")
    ]
    entries = [{"station": 1, "rounds": 4, "dose": 9}]
    later = {**sent, "key": str(uuid4()), "pain": True, "entries": entries, "done_at": timezone.now().isoformat()}
    assert staff_api.post(f"{address}logs/", later, **JSON).status_code == 201
    listed = staff_api.get(f"{address}logs/").json()
    assert [(log["key"], log["pain"], len(log["entries"])) for log in listed] == [(later["key"], True, 1)]
    wrong = {**later, "key": str(uuid4()), "entries": [{"station": 1, "rounds": 40, "dose": 9}]}
    assert "check the figures" in str(staff_api.post(f"{address}logs/", wrong, **JSON).json()["errors"])
    del wrong["entries"], wrong["hour"]
    assert list(staff_api.post(f"{address}logs/", wrong, **JSON).json()["errors"]) == ["hour"]
    [flag] = staff_api.get("/api/v1/flags/?pain=true").json()["results"]
    assert flag["athlete"] == athlete.pk
    seen = [staff_api.post(f"/api/v1/flags/{flag['id']}/seen/").json()["seen_at"] for _ in range(2)]
    assert seen[0] == seen[1]
    assert staff_api.get("/api/v1/flags/").json()["results"] == []
    assert staff_api.post(f"/api/v1/flags/{Log.objects.get(key=sent['key']).pk}/seen/").status_code == 404


def test_a_class_is_logged_in_one_go_and_that_is_undone(address, staff_api):
    sent = {"hour": HOUR, "key": str(uuid4())}
    for _ in range(2):
        assert staff_api.post(f"{address}class-log/", sent, **JSON).json() == {"count": 3}
    assert staff_api.post(f"{address}class-log/", {**sent, "undo": True}, **JSON).json() == {"count": 3}
    assert staff_api.get(f"{address}logs/").json() == []
    assert staff_api.post(f"{address}class-log/", {**sent, "hour": ""}, **JSON).status_code == 400


def test_somebody_walks_in_known_or_new(session, address, staff_api):
    [late] = gym.people(1)
    walk_ins, known = f"{address}walk-ins/", {"hour": HOUR, "athlete": late.pk}
    for _ in range(2):
        assert staff_api.post(walk_ins, known, **JSON).json() == {"athlete": late.pk}
    assert session.targets.filter(athlete=late).count() == 3
    new = {"hour": HOUR, "key": str(uuid4()), "name": "Ada Stone", "board_name": "Ada"}
    one, again = (staff_api.post(walk_ins, new, **JSON) for _ in range(2))
    assert (one.status_code, one.json()) == (201, again.json())
    same = staff_api.post(walk_ins, {**new, "key": str(uuid4())}, **JSON)
    assert (same.status_code, "needs an initial" in str(same.json()["errors"]["name"])) == (400, True)
    assert list(staff_api.post(walk_ins, {"hour": HOUR}, **JSON).json()["errors"]) == ["key", "name", "board_name"]
    assert {row["athlete"] for row in staff_api.get(f"{address}attendance/").json()} == {late.pk, one.json()["athlete"]}
    Athlete.objects.filter(pk=late.pk).update(active=False)
    away = staff_api.post(walk_ins, known, **JSON)
    assert (away.status_code, "does not take part" in away.json()["detail"]) == (409, True)


def test_a_coach_moves_starts_and_doses_and_helps_who_has_no_place(session, address, coach_api, staff_api):
    rows = staff_api.get(f"{address}floor/?hour={HOUR}").json()
    athlete = next(row["athlete"] for row in rows if row["group"] == 0)
    staff_api.post(f"{address}attendance/", {"hour": HOUR, "athlete": athlete, "came": True}, **JSON)
    start = {"hour": HOUR, "athlete": athlete, "group": 2}
    assert staff_api.post(f"{address}starts/", start, **JSON).status_code == 403
    for _ in range(2):
        [moved] = coach_api.post(f"{address}starts/", start, **JSON).json()
        assert (moved["athlete"], moved["group"], moved["came_at"]) == (athlete, 2, HOUR)
    assert coach_api.post(f"{address}starts/", {**start, "group": 9}, **JSON).status_code == 409
    target = session.targets.get(athlete=athlete, station=1)
    tap = {"hour": HOUR, "athlete": athlete, "key": str(uuid4()), "station": 1, "act": "easier"}
    tap |= {"basis": [target.rung, target.dose, target.load_kg]}
    assert staff_api.post(f"{address}doses/", tap, **JSON).status_code == 403
    for _ in range(2):
        changed = coach_api.post(f"{address}doses/", tap, **JSON)
        assert (changed.status_code, changed.json()[0]["dose"] < target.dose) == (200, True)
    late = coach_api.post(f"{address}doses/", {**tap, "key": str(uuid4())}, **JSON)
    assert (late.status_code, "meanwhile" in late.json()["detail"]) == (409, True)
    undo = {**tap, "key": str(uuid4()), "act": "undo", "pin": tap["key"]}
    assert coach_api.post(f"{address}doses/", undo, **JSON).json()[0]["dose"] == target.dose
    assert staff_api.get(f"{address}offers/").json()["waiting"] == 0
    MachineType.objects.get(engine="row").machines.filter(number=2).update(active=False)
    staff_api.post(f"{address}walk-ins/", {"hour": "18:30", "athlete": gym.people(1)[0].pk}, **JSON)
    session.targets.filter(station=1).update(rung=0, dose=8)  # everyone rows
    for who in Athlete.objects.all():
        staff_api.post(f"{address}attendance/", {"hour": "18:30", "athlete": who.pk, "came": True}, **JSON)
    found = staff_api.get(f"{address}offers/?hour=18:30").json()
    assert found["waiting"] == 1
    take = {"hour": "18:30", "athlete": found["offers"][0]["athlete"], "key": str(uuid4()), "act": "rest"}
    assert staff_api.post(f"{address}offers/", take, **JSON).status_code == 403
    assert coach_api.post(f"{address}offers/", take, **JSON).json()["waiting"] == 0


def test_queries_do_not_grow_with_the_class(session, address, staff_api, coach):
    def counts() -> list[int]:
        found = []
        for what in ("", "logs/", "attendance/", "floor/"):
            with CaptureQueriesContext(connection) as queries:
                assert staff_api.get(f"{address}{what}").status_code == 200
            found.append(len(queries))
        return found

    counts()  # what is asked once and then known
    staff_api.post(f"{address}class-log/", {"hour": HOUR, "key": str(uuid4())}, **JSON)
    Attendance.objects.create(athlete=Athlete.objects.first(), session_key=session.key, date=today(), hour=HOUR)
    few = counts()
    for athlete in gym.people(4):
        staff_api.post(f"{address}walk-ins/", {"hour": HOUR, "athlete": athlete.pk}, **JSON)
    staff_api.post(f"{address}class-log/", {"hour": HOUR, "key": str(uuid4())}, **JSON)
    assert counts() == few
