"""Targets by hand, revisions, builds, who is used to what, flags and whom to test over the API, as on the pages."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.gym.read import today
from athletes.models import Accustomed, Athlete, Movement
from sessions.models import Build, Pin, Publication, Target
from tests import gym
from tests.conftest import JSON, publish

PINS, BUILDS = "/api/v1/pins/", "/api/v1/builds/"


def dose_of(session, athlete) -> float:
    return Target.objects.get(session=session, athlete=athlete, station=1).dose


@pytest.fixture
def session(live_week):
    return live_week.sessions.get()


@pytest.fixture
def sent(session) -> dict:
    pin = {"session_key": str(session.key), "station": 1, "rung": 0, "dose": 11, "reason": "Tested yesterday."}
    return {"athlete": Athlete.objects.first().pk, "key": str(uuid4()), **pin}


def test_a_target_is_set_by_hand_once_and_taken_off(session, sent, coach_api, staff_api):
    before = dose_of(session, sent["athlete"])
    assert staff_api.post(PINS, sent, **JSON).status_code == 403
    kept, again = (coach_api.post(PINS, sent, **JSON) for _ in range(2))
    assert (kept.status_code, kept.json()) == (201, again.json())
    assert (kept.json()["made_by"], dose_of(session, sent["athlete"])) == ("The coach", 11)
    wrong = {"dose": 0, "rung": 9, "station": 9, "session_key": str(uuid4()), "athlete": 0, "reason": " "}
    for field, value in wrong.items():
        answer = coach_api.post(PINS, {**sent, "key": str(uuid4()), field: value}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field]), answer.json()
    listed = staff_api.get(f"{PINS}?session_key={session.key}&taken_off_at__isnull=true").json()["results"]
    assert [pin["id"] for pin in listed] == [kept.json()["id"]]
    address = f"{PINS}{kept.json()['id']}/take-off/"
    assert staff_api.post(address).status_code == 403
    for _ in range(2):
        assert coach_api.post(address).json()["taken_off_at"]
    assert dose_of(session, sent["athlete"]) == before


def test_several_are_set_alike_and_undone_in_a_draft_too(session, sent, coach_api):
    one = coach_api.post(PINS, sent, **JSON).json()
    athletes = list(Athlete.objects.values_list("pk", flat=True))
    many = {**sent, "key": str(uuid4()), "rung": -1, "dose": None, "athletes": athletes}
    del many["athlete"]
    kept = coach_api.post(f"{PINS}many/", many, **JSON)
    assert (kept.status_code, {pin["movement"] for pin in kept.json()}) == (201, {None})
    assert {dose_of(session, athlete) for athlete in athletes} == {0}
    undo = {"pins": [pin["id"] for pin in kept.json()]}
    for count in (5, 0):
        assert coach_api.post(f"{PINS}undo/", undo, **JSON).json() == {"undone": count}
    assert (dose_of(session, sent["athlete"]), Pin.objects.standing().get().pk) == (11, one["id"])
    draft = gym.planned_week(today() + timedelta(days=21 - today().weekday())).sessions.get()
    planned = {**sent, "key": str(uuid4()), "session_key": str(draft.key)}
    assert coach_api.post(PINS, planned, **JSON).status_code == 201


def test_a_publishing_is_stopped_and_an_earlier_revision_comes_back(live_week, coach, coach_api, staff_api):
    def act(publication, what, api=coach_api):
        return api.post(f"/api/v1/publications/{publication}/{what}/")

    for what in ("cancel", "bring-back"):
        assert act(live_week.pk, what, staff_api).status_code == 403
    running = coach_api.post(f"/api/v1/weeks/{live_week.week_id}/publish/").json()["id"]
    refused = act(live_week.pk, "bring-back")
    assert (refused.status_code, "Only a revision" in refused.json()["detail"]) == (409, True)
    for _ in range(2):
        stopped = act(running, "cancel")
        assert (stopped.json()["state"], stopped.json()["running"]) == ("failed", False)
    assert act(live_week.pk, "cancel").json()["state"] == "live"
    publish(live_week.week, coach)
    back = act(live_week.pk, "bring-back")
    assert (back.status_code, back.json()["running"]) == (202, True)
    assert Publication.objects.get(pk=back.json()["id"]).brings_back == live_week


def test_a_build_is_started_once_and_decided(furnished, coach_api, staff_api):
    monday = gym.this_monday() + timedelta(days=7)
    sent = {"key": str(uuid4()), "circuit": gym.circuit().pk, "starts_on": str(monday), "hours": ["18:30", "06:00"]}
    sent |= {"until": str(monday + timedelta(weeks=3)), "first": 15, "last": 27, "eased": 0}
    assert staff_api.post(BUILDS, sent, **JSON).status_code == 403
    for field, value in {"until": None, "first": 600, "grows": "steps", "steps": [5, 6], "hours": []}.items():
        answer = coach_api.post(BUILDS, {**sent, field: value}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field]), answer.json()
    ends = coach_api.post(BUILDS, {**sent, "until": str(monday - timedelta(days=1))}, **JSON)
    assert "ends before it begins" in str(ends.json()["errors"]["non_field_errors"])
    kept, again = (coach_api.post(BUILDS, {**sent, "steps": [5, 6, 8, 9]}, **JSON) for _ in range(2))
    assert (kept.status_code, kept.json()) == (201, again.json())
    build, address = kept.json(), f"{BUILDS}{kept.json()['id']}/"
    assert (build["steps"], build["hours"], len(build["sessions"])) == ([5, 6, 8, 9], ["06:00", "18:30"], 4)
    assert build["sessions"][1] | {"key": ""} == {"key": "", "place": 1, "date": str(monday + timedelta(weeks=1))}
    assert staff_api.get(f"{address}proposal/").status_code == 404
    assert staff_api.post(f"{address}decide/", {"place": 0, "decision": "hold"}, **JSON).status_code == 403
    for _ in range(2):
        held = coach_api.post(f"{address}decide/", {"place": 0, "decision": "hold"}, **JSON).json()
        assert (held["steps"], held["decisions"]) == ([5, 5, 6, 8], [{"place": 0, "decision": "hold"}])
    assert coach_api.post(f"{address}decide/", {"place": 4, "decision": "hold"}, **JSON).status_code == 400
    undone = coach_api.post(f"{address}undo/", {"place": 0}, **JSON).json()
    assert (undone["steps"], undone["decisions"]) == ([5, 6, 8, 9], [])
    same = {**sent, "key": str(uuid4()), "grows": "nothing"}
    assert "steps" in coach_api.post(BUILDS, {**same, "steps": [5, 6, 8, 9]}, **JSON).json()["errors"]
    drawn = coach_api.post(BUILDS, same, **JSON).json()
    assert (drawn["steps"], Build.objects.count()) == ([0, 0, 0, 0], 2)


def test_a_coach_says_who_is_used_to_a_movement_and_takes_it_back(furnished, coach_api, staff_api):
    address, squat = "/api/v1/accustomed/", Movement.objects.get(slug="goblet-squat")
    one, other = (athlete.pk for athlete in gym.people(2))
    sent = {"movement": squat.pk, "athletes": [one, other], "accustomed": True}
    assert staff_api.post(address, sent, **JSON).status_code == staff_api.get(address).status_code == 403
    for _ in range(2):
        said = coach_api.post(address, sent, **JSON)
        assert (said.status_code, [row["accustomed"] for row in said.json()["said"]]) == (200, [True, True])
    coach_api.post(address, {**sent, "athletes": [other], "accustomed": False}, **JSON)
    listed = coach_api.get(f"{address}?movement={squat.pk}&accustomed=false").json()["results"]
    assert [row["athlete"] for row in listed] == [other]
    assert coach_api.post(address, {**sent, "athletes": [0]}, **JSON).status_code == 400
    back = {"movement": squat.pk, "athletes": [one, other]}
    for _ in range(2):
        answer = coach_api.post(f"{address}take-back/", back, **JSON, headers={"Idempotency-Key": "mine"})
        assert (answer.status_code, answer.content) == (204, b"")
    assert not Accustomed.objects.exists()


def test_whom_to_test_is_told_as_on_the_page(furnished, staff_api):
    gym.people(3)
    gym.planned_week()
    found = staff_api.get("/api/v1/retests/").json()
    assert (found["sessions"], found["waiting"]) == (1, [])
    lift = gym.Benchmark.objects.get(slug="goblet-squat").pk
    squat = next(test for test in found["tests"] if test["benchmark"] == lift)
    assert (len(squat["athletes"]), squat["more"], squat["athletes"][0]["last"]) == (3, 0, None)
    assert 0 < squat["athletes"][0]["change"] <= 1
    named = staff_api.get("/api/v1/retests/?show=never&search=0001").json()["tests"]
    own = Athlete.objects.get(board_name="A0001").pk
    assert {one["athlete"] for test in named for one in test["athletes"]} == {own}
    assert staff_api.get("/api/v1/retests/?show=some").status_code == 400
    assert staff_api.get("/api/v1/retests/?q=some").status_code == 400


def test_queries_do_not_grow_with_what_is_listed(furnished, coach, coach_api):
    def counts() -> list[int]:
        found = []
        for what in ("pins", "builds", "accustomed", "retests"):
            with CaptureQueriesContext(connection) as queries:
                assert coach_api.get(f"/api/v1/{what}/").status_code == 200
            found.append(len(queries))
        return found

    def more(count: int) -> None:
        squat, session = Movement.objects.get(slug="goblet-squat"), gym.planned_week().sessions.first()
        for athlete in gym.people(count):
            Pin.objects.create(session_key=session.key, athlete=athlete, station=1, reason="so", made_by=coach)
            Accustomed.objects.create(athlete=athlete, movement=squat, accustomed=True)
            body = {"circuit": session.circuit_id, "starts_on": "2026-12-07", "until": "2026-12-14", "hours": ["06:00"]}
            coach_api.post(BUILDS, body, **JSON)

    more(1)
    counts()  # what is asked once and then known
    few = counts()
    more(4)
    assert counts() == few
