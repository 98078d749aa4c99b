"""The same job through /api/v1/, under the same rules."""

from datetime import date
from uuid import uuid4

import pytest
from django.test import Client

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Benchmark, Effort
from sessions.models import Circuit, Publication, Week
from sessions.publishing import run as publishing
from tests import gym
from tests.conftest import JSON
from tests.gym import DOCUMENT


def test_the_whole_job_over_the_api(furnished, coach_api):
    athlete = coach_api.post("/api/v1/athletes/", {"name": "Ada Stone", "board_name": "Ada"}, **JSON).json()
    benchmark = Benchmark.objects.get(slug="2000-m-row")
    effort = {"athlete": athlete["id"], "benchmark": benchmark.pk, "typed": "8:05", "performed_on": str(today())}
    assert coach_api.post("/api/v1/efforts/", effort, **JSON).json()["value"] == 485
    circuit = coach_api.post("/api/v1/circuits/", DOCUMENT, **JSON).json()
    assert circuit["stations"][0]["options"][1]["movement"] == "bike"
    session = {"weekday": 1, "circuit": circuit["id"], "hours": ["06:00"], "intent": "hard"}
    week = coach_api.post("/api/v1/weeks/", {"starts_on": "2026-11-23", "sessions": [session]}, **JSON)
    assert week.status_code == 201, week.content
    answer = coach_api.post(f"/api/v1/weeks/{week.json()['id']}/publish/")
    assert (answer.status_code, answer.json()["state"]) == (202, "queued")
    publishing.run(answer.json()["id"])
    assert coach_api.get(f"/api/v1/publications/{answer.json()['id']}/").json()["state"] == "live"
    targets = coach_api.get("/api/v1/targets/", {"athlete": athlete["id"]}).json()["results"]
    assert len(targets) == 3
    assert targets[0]["card"]["hold_unit"] == "per 500 m"


def test_the_room_preview_over_the_api(furnished, staff_api):
    gym.people(2)
    circuit = gym.circuit()
    room = staff_api.get(f"/api/v1/circuits/{circuit.pk}/room/").json()
    assert len(room["rows"]) == 2
    assert {cell["station"] for cell in room["rows"][0]["stations"]} == {1, 2, 3}


def test_an_effort_sent_twice_with_its_key_is_one(furnished, staff_api):
    [athlete] = gym.people(1, tested=False)
    effort = {"athlete": athlete.pk, "benchmark": Benchmark.objects.get(slug="2000-m-row").pk, "typed": "8:05"}
    effort |= {"performed_on": str(today()), "key": str(uuid4())}
    first, second = (staff_api.post("/api/v1/efforts/", effort, **JSON).json() for _ in range(2))
    assert first["id"] == second["id"]
    assert Effort.objects.count() == 1


def test_a_questioned_effort_answers_409_and_is_kept_when_confirmed(furnished, staff_api):
    [athlete] = gym.people(1, tested=False)
    effort = {"athlete": athlete.pk, "benchmark": Benchmark.objects.get(slug="2000-m-row").pk, "typed": "3:20"}
    effort |= {"performed_on": str(today())}
    answer = staff_api.post("/api/v1/efforts/", effort, **JSON)
    assert answer.status_code == 409
    assert answer.json()["question"]
    assert staff_api.post("/api/v1/efforts/", {**effort, "confirmed": True}, **JSON).status_code == 201


@pytest.mark.parametrize(("typed", "day", "field"), [("fast", None, "typed"), ("8:05", "2999-01-01", "performed_on")])
def test_a_wrong_effort_is_refused_on_its_field(furnished, staff_api, typed, day, field):
    [athlete] = gym.people(1, tested=False)
    effort = {"athlete": athlete.pk, "benchmark": Benchmark.objects.get(slug="2000-m-row").pk, "typed": typed}
    answer = staff_api.post("/api/v1/efforts/", {**effort, "performed_on": day or str(today())}, **JSON)
    assert answer.status_code == 400
    assert field in answer.json()["errors"]


def test_an_effort_is_voided_never_deleted(furnished, staff_api):
    gym.people(1)
    effort = Effort.objects.first()
    assert staff_api.delete(f"/api/v1/efforts/{effort.pk}/").status_code in (403, 405)
    answer = staff_api.post(f"/api/v1/efforts/{effort.pk}/void/", {"reason": "wrong athlete"}, **JSON)
    assert answer.json()["void_reason"] == "wrong athlete"
    assert staff_api.post(f"/api/v1/efforts/{effort.pk}/void/", {}, **JSON).status_code == 400


def test_publishing_twice_at_once_is_refused_in_words(furnished, coach_api):
    gym.people(1)
    week = gym.planned_week()
    coach_api.post(f"/api/v1/weeks/{week.pk}/publish/")
    answer = coach_api.post(f"/api/v1/weeks/{week.pk}/publish/")
    assert answer.status_code == 409
    assert "right now" in answer.json()["detail"]
    assert Publication.objects.count() == 1


def test_staff_may_not_write_circuits_or_publish(furnished, staff_api):
    week = gym.planned_week()
    assert staff_api.post("/api/v1/circuits/", DOCUMENT, **JSON).status_code == 403
    assert staff_api.post(f"/api/v1/weeks/{week.pk}/publish/").status_code == 403
    assert staff_api.get("/api/v1/circuits/").status_code == 200


def test_a_circuit_over_the_api_has_the_same_rules_as_the_editor(furnished, coach_api):
    stations = [{**DOCUMENT["stations"][0], "work_window_s": 90}]
    answer = coach_api.post("/api/v1/circuits/", {**DOCUMENT, "stations": stations}, **JSON)
    assert "longer than the interval" in str(answer.json()["errors"]["stations"])
    assert not Circuit.objects.exists()


def test_writing_a_week_again_replaces_its_sessions_and_keeps_known_keys(furnished, coach_api):
    circuit = gym.circuit()
    session = {"weekday": 1, "circuit": circuit.pk, "hours": ["06:00"], "intent": "hard", "note": ""}
    week = coach_api.post("/api/v1/weeks/", {"starts_on": "2026-11-23", "sessions": [session]}, **JSON).json()
    key = week["sessions"][0]["key"]
    body = {"starts_on": "2026-11-23", "note": "tide", "sessions": [{**session, "key": key, "weekday": 3}]}
    again = coach_api.put(f"/api/v1/weeks/{week['id']}/", body, **JSON).json()
    assert [(s["key"], s["weekday"]) for s in again["sessions"]] == [(key, 3)]
    assert Week.objects.get().starts_on == date(2026, 11, 23)
    moved = coach_api.put(f"/api/v1/weeks/{week['id']}/", {"starts_on": "2026-12-21"}, **JSON)
    assert "stays where it is" in str(moved.json())
    other = {"starts_on": "2026-12-21", "sessions": [{**session, "key": key}]}
    assert "belongs to a session of another week" in str(coach_api.post("/api/v1/weeks/", other, **JSON).json())
    wrong = coach_api.post("/api/v1/weeks/", {"starts_on": "2026-11-24"}, **JSON)
    assert "Monday" in str(wrong.json())


def test_a_link_reads_its_own_targets_and_nobody_elses(live_week):
    one, other = Athlete.objects.all()[:2]
    client = Client(headers={"Authorization": f"Link {link_issue(athlete=one, by=None).token}"})
    targets = client.get("/api/v1/my/targets/").json()["results"]
    assert {target["athlete"] for target in targets} == {one.pk}
    assert {e["athlete"] for e in client.get("/api/v1/my/benchmarks/").json()["results"]} == {one.pk}
    assert client.get("/api/v1/targets/", {"athlete": other.pk}).status_code == 403


@pytest.mark.parametrize(
    "url", ["athletes", "efforts", "circuits", "weeks", "publications", "targets", "benchmarks", "movements"]
)
def test_the_number_of_queries_of_a_list_does_not_grow(furnished, coach, coach_api, url, django_assert_max_num_queries):
    from tests.conftest import publish

    gym.people(2)
    publish(gym.planned_week(None, *[gym.circuit()] * 3), coach)
    gym.people(10)
    for _ in range(3):
        gym.circuit()
    with django_assert_max_num_queries(9):
        assert coach_api.get(f"/api/v1/{url}/").status_code == 200
