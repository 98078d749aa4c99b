"""The room over the API: kinds of machines, loads that the gym owns, readings of levers and air, the settings."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes.gym.read import today
from athletes.models import AirReading, Gym, LeverReading, Machine, MachineType, Movement, Rack
from tests.conftest import JSON, api_of

RACKS = "/api/v1/racks/"


def test_loads_are_added_changed_and_removed_by_a_coach(furnished, staff_api, coach_api):
    sent = {"name": "Kettlebells", "loads": [16, 8, 12, 16]}
    assert staff_api.post(RACKS, sent, **JSON).status_code == 403
    kept = coach_api.post(RACKS, sent, **JSON)
    assert (kept.status_code, kept.json()["loads"]) == (201, [8, 12, 16])
    again = coach_api.post(RACKS, sent, **JSON)
    assert (again.status_code, list(again.json()["errors"])) == (400, ["name"])
    address = f"{RACKS}{kept.json()['id']}/"
    bar = {"bar_kg": 20, "pairs": [{"plate_kg": 2.5, "pairs": 2}, {"plate_kg": 20, "pairs": 4}]}
    changed = coach_api.patch(address, bar, **JSON, headers={"If-Match": coach_api.get(address).headers["ETag"]})
    assert changed.json()["pairs"] == [{"plate_kg": 20, "pairs": 4}, {"plate_kg": 2.5, "pairs": 2}]
    assert staff_api.get(RACKS).json()["results"] == [changed.json()]
    wrong = {
        "bar_kg": {"bar_kg": None},
        "pairs": {"pairs": bar["pairs"] + [{"plate_kg": 20, "pairs": 1}]},
        "pairs ": {"pairs": [{"pairs": 1}]},
        "non_field_errors": {"loads": [], "bar_kg": None, "pairs": []},
    }
    for field, one in wrong.items():
        answer = coach_api.patch(address, one, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field.strip()])
    many = [{"plate_kg": 0.125 * 2**n, "pairs": 20} for n in range(5)] + [{"plate_kg": 0.013, "pairs": 20}]
    assert "leave out the smallest" in str(coach_api.patch(address, {"pairs": many}, **JSON).json()["errors"]["pairs"])
    squat = Movement.objects.get(slug="goblet-squat")
    coach_api.patch(f"/api/v1/movements/{squat.pk}/", {"rack": "Kettlebells"}, **JSON)
    assert Rack.objects.get().movements.get() == squat
    assert coach_api.delete(address).status_code == 204
    assert coach_api.get(f"/api/v1/movements/{squat.pk}/").json()["rack"] is None


def test_readings_of_levers_are_kept_once_and_removed(furnished, staff_api):
    rower, bike = Machine.objects.filter(type__engine="row").first(), Machine.objects.get(type__engine="bike")
    MachineType.objects.filter(engine="row").update(lever_most=10)
    sent = {"machine": rower.pk, "lever": 5, "drag": 118, "taken_on": str(today()), "key": str(uuid4())}
    first, again = (staff_api.post("/api/v1/lever-readings/", sent, **JSON) for _ in range(2))
    assert (first.status_code, first.json()) == (201, again.json())
    assert 1 < first.json()["density"] < 1.3
    tomorrow = str(today() + timedelta(days=1))
    wrongs = [({"lever": 12}, "lever"), ({"machine": bike.pk}, "lever")]
    wrongs += [({"taken_on": day}, "taken_on") for day in (tomorrow, "0001-01-01")]
    for wrong, field in wrongs:
        answer = staff_api.post("/api/v1/lever-readings/", {**sent, "key": str(uuid4()), **wrong}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])
    other = staff_api.post("/api/v1/lever-readings/", {**sent, "drag": 130}, **JSON)
    assert (other.status_code, "Something else was kept" in str(other.json())) == (400, True)
    listed = staff_api.get("/api/v1/lever-readings/", {"machine": rower.pk}).json()["results"]
    assert [row["id"] for row in listed] == [first.json()["id"]]
    assert staff_api.delete(f"/api/v1/lever-readings/{listed[0]['id']}/").status_code == 204
    assert not LeverReading.objects.exists()


def test_readings_of_the_air_are_kept_once_and_removed(furnished, staff_api):
    sent = {"temperature_c": 21.5, "humidity_percent": 40, "key": str(uuid4())}
    first, again = (staff_api.post("/api/v1/air-readings/", sent, **JSON) for _ in range(2))
    assert (first.status_code, first.json()) == (201, again.json())
    assert first.json()["density"] == pytest.approx(1.19, abs=0.02)
    late = (timezone.now() + timedelta(hours=1)).isoformat()
    wrong = {"taken_at": {"taken_at": late}, "pressure_hpa": {"pressure_hpa": 800}}
    wrong["non_field_errors"] = {"temperature_c": None}
    for field, one in wrong.items():
        answer = staff_api.post("/api/v1/air-readings/", {**sent, "key": str(uuid4()), **one}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])
    heat = staff_api.post("/api/v1/air-readings/", {"wbgt_c": 24}, **JSON).json()
    assert heat["density"] is None
    assert staff_api.delete(f"/api/v1/air-readings/{heat['id']}/").status_code == 204
    assert AirReading.objects.get().pk == first.json()["id"]


def test_the_owner_adds_and_changes_kinds_of_machines(furnished, coach_api, owner):
    api, kinds = api_of(owner), "/api/v1/machine-types/"
    assert coach_api.post(kinds, {"name": "ski ergometer"}, **JSON).status_code == 403
    made = api.post(kinds, {"name": "ski ergometer", "engine": "ski", "lever_most": 10}, **JSON)
    assert (made.status_code, made.json()["kcal_base"]) == (201, 300)
    assert api.post(kinds, {"name": "ski ergometer"}, **JSON).status_code == 400
    rower = MachineType.objects.get(engine="row")
    refused = api.patch(f"{kinds}{rower.pk}/", {"engine": "ski"}, **JSON)
    assert (refused.status_code, list(refused.json()["errors"])) == (400, ["engine"])
    tag = coach_api.get(f"{kinds}{rower.pk}/").headers["ETag"]
    for status in (200, 412):
        changed = api.patch(f"{kinds}{rower.pk}/", {"lever_most": 10}, **JSON, headers={"If-Match": tag})
        assert changed.status_code == status
    assert api.delete(f"{kinds}{rower.pk}/").status_code == 405


def test_the_owner_reads_and_changes_the_settings(furnished, coach_api, owner):
    api = api_of(owner)
    assert coach_api.get("/api/v1/gym/").status_code == 403
    kept = api.get("/api/v1/gym/")
    assert (kept.json()["class_times"], kept.json()["sure"]) == (["06:00", "18:30"], 0.9)
    tag = {"If-Match": kept.headers["ETag"]}
    changed = api.patch("/api/v1/gym/", {"class_times": ["7:15", "06:00"], "sure": 0.95}, **JSON, headers=tag)
    assert (changed.status_code, changed.json()["class_times"]) == (200, ["06:00", "07:15"])
    assert api.patch("/api/v1/gym/", {"sure": 0.8}, **JSON, headers=tag).status_code == 412
    for field, value in {
        "headroom_easy": 0.1,
        "heat_first_c": 35,
        "time_zone": "Atlantis",
        "sure": 0.5,
        "name": "A\nB",
    }.items():
        answer = api.patch("/api/v1/gym/", {field: value}, **JSON)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])
    assert (Gym.objects.get().sure, Gym.objects.get().class_times) == (0.95, ["06:00", "07:15"])
    Gym.objects.all().delete()
    assert (api.get("/api/v1/gym/").status_code, Gym.objects.count()) == (200, 0)
    assert api.patch("/api/v1/gym/", {"name": "Weir"}, **JSON).json()["name"] == Gym.objects.get().name == "Weir"
