"""Athletes, movements and benchmarks over the API: the same rules as on the pages."""

from uuid import uuid4

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from athletes.gym.read import today
from athletes.models import ApiAnswer, Athlete, AuditEntry, Effort, Estimate, MachineType, Movement
from sessions.floor.logs import as_planned, floor_log_write
from tests import gym
from tests.conftest import JSON, publish


def test_an_athlete_gets_a_link_from_the_first_day(staff_api):
    answer = staff_api.post("/api/v1/athletes/", {"name": "Ada Stone", "board_name": "Ada"}, **JSON)
    assert answer.status_code == 201
    assert Athlete.objects.get(pk=answer.json()["id"]).links.count() == 1


def test_a_new_body_mass_brings_estimates_up_to_date(staff_api, make_athlete, row_2000, record):
    athlete = make_athlete()
    record(athlete, row_2000, "7:42.3")
    before = Estimate.objects.get(engine="row").mean
    assert staff_api.patch(f"/api/v1/athletes/{athlete.pk}/", {"body_mass_kg": 95}, **JSON).status_code == 200
    assert Estimate.objects.get(engine="row").mean != before


def test_a_date_of_birth_lies_in_the_past(staff_api, make_athlete):
    sent = {"name": "Ben Hill", "board_name": "Ben", "born": str(today())}
    answers = [
        staff_api.post("/api/v1/athletes/", sent, **JSON),
        staff_api.patch(f"/api/v1/athletes/{make_athlete().pk}/", {"born": str(today())}, **JSON),
    ]
    for answer in answers:
        assert answer.status_code == 400
        assert "lies in the past" in answer.json()["errors"]["born"][0]


@pytest.mark.parametrize("name", ["Ada\nStone", "Ada\x0bStone", "Ada\u2028Stone"])
def test_a_name_stands_on_one_line(staff_api, name):
    answer = staff_api.post("/api/v1/athletes/", {"name": name, "board_name": name[:24]}, **JSON)
    assert answer.status_code == 400
    assert set(answer.json()["errors"]) == {"name", "board_name"}


def test_another_result_under_an_old_key_is_refused(staff_api, make_athlete, row_2000):
    effort = {"athlete": make_athlete().pk, "benchmark": row_2000.pk, "typed": "8:05", "performed_on": str(today())}
    effort |= {"key": str(uuid4()), "confirmed": True}
    assert staff_api.post("/api/v1/efforts/", effort, **JSON).status_code == 201
    answer = staff_api.post("/api/v1/efforts/", {**effort, "typed": "8:01"}, **JSON)
    assert answer.status_code == 400
    assert "sent before" in str(answer.json())
    assert Effort.objects.get().typed == "8:05"


@pytest.mark.parametrize("change", [{"fixed": 500}, {"measure": "distance_in_time"}, {"movement": "ski"}])
def test_what_a_benchmark_measures_stays_once_there_are_efforts(coach_api, make_athlete, row_2000, record, change):
    Movement.objects.create(name="Ski", slug="ski", kind="engine", engine="ski")
    record(make_athlete(), row_2000, "7:42.3")
    answer = coach_api.patch(f"/api/v1/benchmarks/{row_2000.pk}/", change, **JSON)
    assert answer.status_code == 400
    assert "Make a new benchmark instead." in answer.json()["errors"][next(iter(change))][0]
    assert coach_api.patch(f"/api/v1/benchmarks/{row_2000.pk}/", {"name": "Two kilometres"}, **JSON).status_code == 200


def test_a_benchmark_without_efforts_may_be_changed(coach_api, row_2000):
    assert coach_api.patch(f"/api/v1/benchmarks/{row_2000.pk}/", {"fixed": 500}, **JSON).status_code == 200


def test_a_coach_writes_movements(coach_api, row_2000, pull_ups, monkeypatch, django_capture_on_commit_callbacks):
    sends = []
    monkeypatch.setattr("athletes.movements.write.send", sends.append)
    MachineType.objects.create(name="rig")
    sent = {"name": "Ring row", "slug": "ring-row", "kind": "repetitions", "involvement": {"pull": 0.8}}
    answer = coach_api.post("/api/v1/movements/", {**sent, "machine_type": "rig", "cue_drive": "Elbows back."}, **JSON)
    assert answer.status_code == 201
    assert answer.json()["cues"] == {"Drive": "Elbows back."}
    address = f"/api/v1/movements/{answer.json()['id']}/"
    with django_capture_on_commit_callbacks(execute=True):
        assert coach_api.patch(address, {"introductory": 40, "needs_skill": True}, **JSON).json()["introductory"] == 40
        assert sends == []
    with django_capture_on_commit_callbacks(execute=True):
        answer = coach_api.patch(address, {"typical_best": 12}, **JSON)
    assert (answer.json()["typical_best"], answer.json()["machine_type"]) == (12, "rig")
    assert sends == ["athletes.estimates_refresh"]  # as on the page: everybody's estimates are centred on it
    above = f"/api/v1/movements/{pull_ups.movement_id}/"
    assert coach_api.patch(above, {"easier_form": "ring-row"}, **JSON).json()["easier_form"] == "ring-row"
    assert list(coach_api.patch(address, {"easier_form": "pull-up"}, **JSON).json()["errors"]) == ["easier_form"]
    answer = coach_api.patch(f"/api/v1/movements/{row_2000.movement_id}/", {"engine": "ski"}, **JSON)
    assert answer.status_code == 400
    assert "Make a new movement instead." in answer.json()["errors"]["engine"][0]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"engine": ""}, "engine"), ({"kind": "hold"}, "engine"), ({"machine_type": "fan bike"}, "machine_type")],
)
def test_a_movement_has_the_rules_of_the_page(coach_api, wrong, field):
    MachineType.objects.create(name="fan bike", engine="bike")
    sent = {"name": "Row", "slug": "row", "kind": "engine", "engine": "row", **wrong}
    answer = coach_api.post("/api/v1/movements/", sent, **JSON)
    assert answer.status_code == 400
    assert set(answer.json()["errors"]) == {field}


def test_staff_change_the_cues_and_nothing_else(staff_api, row_movement):
    url, sent = f"/api/v1/movements/{row_movement.pk}/", {"cue_drive": "Legs first.", "typical_best": 99, "name": "X"}
    assert staff_api.patch(url, sent, **JSON).status_code == 200
    row_movement.refresh_from_db()
    assert (row_movement.name, row_movement.cue_drive, row_movement.typical_best) == ("Row", "Legs first.", 20)
    assert staff_api.post("/api/v1/movements/", {"name": "Y"}, **JSON).status_code == 403


def test_a_personal_link_is_renewed_and_revoked_and_its_address_is_kept_nowhere(staff_api, make_athlete, gym_row):
    athlete = make_athlete()
    address, key = f"/api/v1/athletes/{athlete.pk}/link", {"Idempotency-Key": "mine"}
    first, other = (staff_api.post(f"{address}/renew/", headers=key).json()["address"] for _ in range(2))
    assert first != other
    assert not ApiAnswer.objects.exists()
    opens = [Client().get(one.removeprefix(settings.SITE_URL), follow=True).status_code for one in (first, other)]
    assert opens == [410, 200]
    for _ in range(2):
        assert staff_api.post(f"{address}/revoke/").status_code == 204
    assert Client().get(other.removeprefix(settings.SITE_URL)).status_code == 410
    assert staff_api.post("/api/v1/athletes/0/link/renew/").status_code == 404
    entered = set(AuditEntry.objects.values_list("page", "changed", "athlete_id"))
    assert entered == {(f"api:athlete-link-{what}", True, athlete.pk) for what in ("renew", "revoke")}


def test_what_an_athlete_can_do_is_told_as_numbers_and_the_figures_to_coaches(furnished, staff_api, coach_api):
    [athlete] = gym.people(1)
    address = f"/api/v1/athletes/{athlete.pk}/estimates/"
    seen, whole = staff_api.get(address).json(), coach_api.get(address).json()
    row = next(one for one in whole if one["engine"] == "row")
    assert [(said["of"], said["unit"]) for said in row["said"]][:2] == [("best for 60 s", "W"), ("time for 500 m", "s")]
    assert row["said"][2]["value"] == pytest.approx(420, rel=0.05)
    assert set(row["figures"]) == {"CP", "W′", "k"}
    assert seen == [{**one, "sd": None, "figures": None} for one in whole]
    assert AuditEntry.objects.filter(page="api:athlete-estimates", athlete_id=athlete.pk).count() == 2


def test_progress_is_told_in_numbers_to_coaches(live_week, coach, coach_api, staff_api):
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    session, athlete = week.sessions.get(date=today()), Athlete.objects.first()
    entries = as_planned(session=session, athlete=athlete, rounds=5)
    said = {"key": uuid4(), "rpe": 7, "done_at": timezone.now(), "pain": False, "stopped": False, "note": ""}
    floor_log_write(session=session, athlete=athlete, content={**said, "entries": entries}, by=coach)
    address = f"/api/v1/athletes/{athlete.pk}/progress/"
    assert staff_api.get(address).status_code == 403
    found = coach_api.get(address).json()
    row = next(one for one in found["benchmarks"] if one["unit"] == "s")
    assert (row["results"][0]["value"], row["results"][0]["best"]) == (420, True)
    assert row["expected"]["low"] < 420 < row["expected"]["high"]
    assert [(one["date"], one["load"], one["share"]) for one in found["sessions"]] == [(str(today()), 105, 1)]
    assert (len(found["weeks"]), found["weeks"][-1]["load"]) == (26, 105)
    assert coach_api.get(f"/api/v1/athletes/{gym.people(1, tested=False)[0].pk}/progress/").json()["benchmarks"] == []
    assert coach_api.get("/api/v1/athletes/0/progress/").status_code == 404
