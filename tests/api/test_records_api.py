"""Limitations, leave, merges, test days and imports over the API: what the pages do, by the same rules."""

from base64 import b64encode
from datetime import timedelta
from uuid import uuid4

import pytest

from athletes.api.imports import CheckSerializer
from athletes.api.people import LimitationSerializer
from athletes.api.trials import PlanSerializer
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Import, ImportRemark, Limitation, Machine, Movement, TestDay
from tests import gym
from tests.conftest import JSON, api_of


@pytest.fixture
def plan(furnished) -> dict:
    return {"date": str(today()), "starts_at": "18:00"}


@pytest.fixture
def row_2k(furnished) -> Benchmark:
    return Benchmark.objects.get(slug="2000-m-row")


@pytest.fixture
def planned(staff_api, plan, row_2k):
    """A test day of two athletes in a 2000 m row, and its address."""
    people = gym.people(2)
    tests = [{"athlete": athlete.pk, "benchmark": row_2k.pk} for athlete in people]
    answer = staff_api.post("/api/v1/test-days/", {**plan, "tests": tests}, **JSON)
    assert answer.status_code == 201, answer.content
    day = answer.json()["test_day"]
    assert {slot["athlete"] for slot in day["slots"]} == {athlete.pk for athlete in people}
    return people, f"/api/v1/test-days/{day['id']}/"


def test_a_limitation_is_kept_once_and_ends(staff_api, make_athlete, gym_row):
    sent = {"athlete": make_athlete().pk, "kind": "body", "starts_on": str(today()), "key": str(uuid4())}
    refused = staff_api.post("/api/v1/limitations/", sent, **JSON)
    assert refused.status_code == 400
    assert list(refused.json()["errors"]) == ["patterns"]
    early = staff_api.post(
        "/api/v1/limitations/", {**sent, "patterns": ["pull"], "review_on": sent["starts_on"]}, **JSON
    )
    assert list(early.json()["errors"]) == ["review_on"]
    kept = [staff_api.post("/api/v1/limitations/", {**sent, "patterns": ["pull"]}, **JSON) for _ in range(2)]
    assert [answer.status_code for answer in kept] == [201, 201]
    ended = staff_api.post(f"/api/v1/limitations/{kept[0].json()['id']}/end/")
    assert ended.json()["review_on"] == str(today())
    assert Limitation.objects.count() == 1


def test_who_goes_away_takes_no_part_until_the_day_they_are_back(staff_api, make_athlete, gym_row):
    address = f"/api/v1/athletes/{make_athlete().pk}/"
    wrong = {"leave_from": str(today()), "leave_until": str(today())}
    assert staff_api.patch(address, wrong, **JSON).status_code == 400
    away = staff_api.patch(address, wrong | {"leave_until": str(today() + timedelta(days=9))}, **JSON)
    assert (away.status_code, away.json()["active"]) == (200, False)


def test_a_caution_is_set_aside_once_by_a_coach_and_ends(coach_api, staff_api, make_athlete, furnished):
    sent = {"athlete": make_athlete().pk, "caution": "return", "ends_on": str(today() + timedelta(days=7))}
    sent |= {"reason": "Trained elsewhere.", "key": str(uuid4())}
    assert staff_api.post("/api/v1/overrides/", sent, **JSON).status_code == 403
    squat = Movement.objects.get(slug="goblet-squat")
    Movement.objects.filter(pk=squat.pk).update(high_eccentric=True)
    of_one = coach_api.post("/api/v1/overrides/", {**sent, "movement": squat.pk}, **JSON)
    assert (of_one.status_code, list(of_one.json()["errors"])) == (400, ["movement"])
    blank = coach_api.post("/api/v1/overrides/", {**sent, "reason": " "}, **JSON)
    assert (blank.status_code, blank.json()["errors"]["reason"][0][:12]) == (400, "Say in a few")
    late = coach_api.post("/api/v1/overrides/", {**sent, "ends_on": str(today() + timedelta(days=400))}, **JSON)
    assert (late.status_code, list(late.json()["errors"])) == (400, ["ends_on"])
    made = [coach_api.post("/api/v1/overrides/", sent, **JSON) for _ in range(2)]
    assert [answer.status_code for answer in made] == [201, 201]
    assert made[0].json() == made[1].json()
    ended = coach_api.post(f"/api/v1/overrides/{made[0].json()['id']}/end/")
    assert ended.json()["ends_on"] == str(today())
    [seen] = staff_api.get("/api/v1/overrides/", {"athlete": sent["athlete"]}).json()["results"]
    assert (seen["caution"], seen["reason"]) == ("return", "Trained elsewhere.")


def test_machines_are_listed_added_and_taken_off_the_floor(owner, staff_api, furnished):
    [rowers] = staff_api.get("/api/v1/machine-types/", {"engine": "row"}).json()["results"]
    here = staff_api.get("/api/v1/machines/", {"type": rowers["id"], "page_size": 100}).json()["results"]
    assert [machine["number"] for machine in here] == list(range(1, len(here) + 1))
    new = {"type": rowers["id"], "number": len(here) + 7}
    assert staff_api.post("/api/v1/machines/", new, **JSON).status_code == 403
    owner_api = api_of(owner)
    made = owner_api.post("/api/v1/machines/", new, **JSON)
    assert (made.status_code, made.json()["number"]) == (201, len(here) + 1)
    again = owner_api.post("/api/v1/machines/", {**new, "number": 1}, **JSON)
    assert again.json() == here[0]
    address = f"/api/v1/machines/{here[0]['id']}/"
    assert staff_api.post(f"{address}take-off/").status_code == 403
    moved = [owner_api.post(f"{address}{way}/").json()["active"] for way in ("take-off", "take-off", "put-back")]
    assert moved == [False, False, True]


def test_two_who_are_one_are_merged_and_parted(coach_api, staff_api, make_athlete, row_2k, record):
    keep, gone = make_athlete(), make_athlete("Ada Stone-Hill")
    record(gone, row_2k, "7:42.3")
    assert staff_api.post("/api/v1/merges/", {"keep": keep.pk, "gone": gone.pk}, **JSON).status_code == 403
    same = coach_api.post("/api/v1/merges/", {"keep": keep.pk, "gone": keep.pk}, **JSON)
    assert same.status_code == 400
    made = coach_api.post("/api/v1/merges/", {"keep": keep.pk, "gone": gone.pk}, **JSON)
    assert made.status_code == 201
    assert keep.efforts.count() == 1
    undo = f"/api/v1/merges/{made.json()['id']}/undo/"
    assert [coach_api.post(undo).status_code for _ in range(2)] == [200, 200]
    assert Athlete.objects.get(pk=gone.pk).efforts.count() == 1


def test_results_of_a_test_day_are_kept_questioned_and_met(staff_api, planned, row_2k):
    (ada, ben), address = planned
    entry = {"athlete": ada.pk, "benchmark": row_2k.pk, "typed": "3:20", "key": str(uuid4())}
    questioned = staff_api.post(f"{address}entries/", entry, **JSON)
    assert (questioned.status_code, questioned.json()["state"]) == (409, "questioned")
    kept = [staff_api.post(f"{address}entries/", {**entry, "confirmed": True}, **JSON) for _ in range(2)]
    assert [answer.status_code for answer in kept] == [200, 200]
    met = staff_api.post(f"{address}entries/", {**entry, "typed": "7:42", "key": str(uuid4())}, **JSON)
    assert (met.status_code, met.json()["state"], met.json()["cell"]["typed"]) == (409, "changed", "3:20")
    stopped = {**entry, "athlete": ben.pk, "typed": "stopped", "key": str(uuid4())}
    ends = [staff_api.post(f"{address}entries/", {**stopped, "typed": typed}, **JSON) for typed in ("stopped", "dnf")]
    assert [answer.status_code for answer in ends] == [200, 200]
    seen = {"base": ends[0].json()["effort"], "key": str(uuid4())}
    nonsense = staff_api.post(f"{address}entries/", {**stopped, **seen, "typed": "fast"}, **JSON)
    assert (nonsense.status_code, list(nonsense.json()["errors"])) == (400, ["typed"])
    other = staff_api.post(f"{address}entries/", {**entry, **seen, "athlete": ben.pk, "key": entry["key"]}, **JSON)
    assert (other.status_code, other.json()["cell"]["typed"]) == (409, "stopped")
    shown = {cell["athlete"]: cell["typed"] for cell in staff_api.get(f"{address}entries/").json()}
    assert shown == {ada.pk: "3:20", ben.pk: "stopped"}
    assert Effort.objects.filter(performed_on=today(), athlete=ada).count() == 1


def test_a_test_day_is_moved_from_where_it_was_seen_and_removed_by_a_coach(staff_api, coach_api, plan, planned):
    _, address = planned
    move = {"seen_date": plan["date"], "seen_starts_at": "18:00", **plan, "starts_at": "19:30"}
    assert staff_api.post(f"{address}move/", move, **JSON).json()["test_day"]["starts_at"] == "19:30:00"
    assert staff_api.post(f"{address}move/", {**move, "starts_at": "20:00"}, **JSON).status_code == 409
    assert staff_api.delete(address).status_code == 403
    assert coach_api.delete(address).status_code == 204
    assert not TestDay.objects.exists()


def test_a_machine_that_is_named_twice_takes_one_at_a_time(staff_api, plan, row_2k):
    machine = Machine.objects.filter(type=row_2k.movement.machine_type).first()
    tests = [{"athlete": athlete.pk, "benchmark": row_2k.pk} for athlete in gym.people(2)]
    sent = {**plan, "tests": tests, "machines": [machine.pk] * 2}
    slots = staff_api.post("/api/v1/test-days/", sent, **JSON).json()["test_day"]["slots"]
    assert [(slot["heat"], slot["machine"]) for slot in slots] == [(1, machine.pk), (2, machine.pk)]


def test_who_comes_unplanned_is_added_as_far_as_they_may_be_tested(staff_api, coach_api, planned, make_athlete, row_2k):
    _, address = planned
    late = make_athlete()
    Limitation.objects.create(athlete=late, kind="body", patterns=["pull"], starts_on=today())
    sent = {"athlete": late.pk, "benchmarks": [row_2k.pk]}
    assert "a limitation" in staff_api.post(f"{address}add/", sent, **JSON).json()["detail"]
    sent["insisted"] = "With one arm."
    assert staff_api.post(f"{address}add/", sent, **JSON).status_code == 403
    added = coach_api.post(f"{address}add/", sent, **JSON).json()
    assert [slot["insisted"] for slot in added["test_day"]["slots"] if slot["athlete"] == late.pk] == ["With one arm."]
    assert added["left_out"] == []


def test_a_day_says_who_should_not_be_tested_and_they_are_taken_off(staff_api, planned):
    people, address = planned
    assert staff_api.get(f"{address}kept-out/").json() == {"kept_out": []}
    Limitation.objects.create(athlete=people[0], kind="illness", starts_on=today())
    [words] = staff_api.get(f"{address}kept-out/").json()["kept_out"]
    assert words.startswith(f"{people[0]} (")
    for _ in range(2):
        answer = staff_api.post(f"{address}take-off/", {"athlete": people[0].pk}, **JSON).json()
        assert answer["left_out"] == []
        assert people[0].pk not in {slot["athlete"] for slot in answer["test_day"]["slots"]}
    assert staff_api.post(f"{address}take-off/", {"athlete": 10**9}, **JSON).status_code == 400


def test_only_a_coach_has_somebody_tested_all_the_same(staff_api, coach_api, make_athlete, plan, row_2k):
    minor = make_athlete(born=today() - timedelta(days=16 * 365))
    plan = {**plan, "tests": [{"athlete": minor.pk, "benchmark": row_2k.pk}]}
    assert "under 18" in str(staff_api.post("/api/v1/test-days/", plan, **JSON).json()["errors"])
    plan["insisted"] = [{"athlete": minor.pk, "reason": "The guardian is here."}]
    assert staff_api.post("/api/v1/test-days/", plan, **JSON).status_code == 403
    slots = coach_api.post("/api/v1/test-days/", plan, **JSON).json()["test_day"]["slots"]
    assert [slot["insisted"] for slot in slots] == ["The guardian is here."]


def test_a_table_is_checked_kept_and_taken_back(coach_api, staff_api, make_athlete, row_2k):
    make_athlete()
    table = "name,date,2000 m row\nAda Stone,2026-03-02,7:42.3\nSomeone Else,2026-03-02,7:50\n"
    assert staff_api.post("/api/v1/imports/", {"text": table}, **JSON).status_code == 403
    assert coach_api.post("/api/v1/imports/", {"text": table, "content": "eA=="}, **JSON).status_code == 400
    address = f"/api/v1/imports/{coach_api.post('/api/v1/imports/', {'text': table}, **JSON).json()['id']}/"
    short = coach_api.post(f"{address}check/", {"parts": [{"uses": ["name"]}]}, **JSON)
    assert short.status_code == 400
    assert coach_api.post(f"{address}check/", {}, **JSON).json()["state"] == "checked"
    remarks = coach_api.get(f"{address}remarks/?page_size=2").json()
    assert (remarks["count"], [remark["kind"] for remark in remarks["results"]]) == (3, ["kept", "newcomer"])
    kept = remarks["results"][0]
    assert (kept["benchmark"], kept["performed_on"], kept["result"]) == ("2000 m row", "2026-03-02", "7:42.3")
    assert coach_api.get(f"{address}remarks/?page=2").status_code == 404
    assert coach_api.post(f"{address}reread/", {"part": 1, "heading_row": 1}, **JSON).status_code == 400
    assert coach_api.post(f"{address}reread/", {"part": 0, "heading_row": 1}, **JSON).json()["state"] == "matching"
    assert coach_api.post(f"{address}check/", {}, **JSON).json()["state"] == "checked"
    assert coach_api.post(f"{address}keep/", {"create_athletes": True}, **JSON).json()["state"] == "done"
    assert coach_api.post(f"{address}keep/", {}, **JSON).status_code == 409
    assert Effort.objects.standing().count() == 2
    assert coach_api.post(f"{address}cancel/").status_code == 409
    seen = coach_api.get(address).json()
    assert [coach_api.delete(address).status_code for _ in range(2)] == [204, 204]
    assert coach_api.get(address).json() == seen
    taken = [coach_api.post(f"{address}take-back/").json()["state"] for _ in range(2)]
    assert taken == ["taken_back", "taken_back"]
    assert not Effort.objects.standing().exists()
    assert Import.objects.count() == Athlete.objects.count() == 1


def test_who_is_meant_and_what_minutes_mean_is_said_over_the_api_too(coach_api, make_athlete, row_2k):
    ada = make_athlete()
    table = "name,date,2000 m row (min)\nAda S.,2026-03-02,7.42\n"
    address = f"/api/v1/imports/{coach_api.post('/api/v1/imports/', {'text': table}, **JSON).json()['id']}/"
    checked = coach_api.post(f"{address}check/", {"parts": [{"point": "hundredths"}]}, **JSON).json()
    assert checked["counts"]["doubtful"] == 1
    assert ImportRemark.objects.get(kind="kept").result == "7:25.2"
    for people in ({"Ben S.": ada.pk}, {"Ada S.": ada.pk + 1}):
        assert coach_api.post(f"{address}check/", {"people": people}, **JSON).status_code == 400
    said = {"people": {"Ada S.": ada.pk}, "parts": [{"point": "seconds"}]}
    assert "doubtful" not in coach_api.post(f"{address}check/", said, **JSON).json()["counts"]
    assert coach_api.post(f"{address}keep/", {}, **JSON).json()["state"] == "done"
    assert [effort.value for effort in ada.efforts.all()] == [462]


def test_a_file_that_is_worked_on_is_stopped_before_it_is_kept_anew_or_forgotten(coach_api, make_athlete, row_2k):
    make_athlete()
    sent = {"text": "name,date,2000 m row\nAda Stone,2026-03-02,4:01\n"}
    address = f"/api/v1/imports/{coach_api.post('/api/v1/imports/', sent, **JSON).json()['id']}/"
    coach_api.post(f"{address}check/", {}, **JSON)
    Import.objects.update(state=Import.State.KEEPING)
    ImportRemark.objects.filter(kind=ImportRemark.Kind.QUESTIONED).update(wanted=True)
    assert coach_api.post(f"{address}keep/", {}, **JSON).status_code == 409
    assert ImportRemark.objects.filter(wanted=True).count() == 1
    assert coach_api.delete(address).status_code == 409
    assert coach_api.post(f"{address}cancel/").json()["state"] == "matching"
    assert coach_api.delete(address).status_code == 204
    assert coach_api.get(address).status_code == 404


@pytest.mark.parametrize(("field", "sent"), [("text", "a," * 600), ("content", "UEsDBA==")])
def test_what_cannot_be_read_is_said_of_the_field_it_came_in(coach_api, gym_row, field, sent):
    answer = coach_api.post("/api/v1/imports/", {field: sent}, **JSON)
    assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])


def test_a_file_of_3_mb_is_taken_and_too_much_is_a_problem(coach_api, gym_row):
    table = b"name,date,note\n" + b"".join(b"Ada Stone,2026-03-02,%s\n" % (b"x" * 3000) for _ in range(1000))
    sent = {"filename": "results.csv", "content": b64encode(table).decode()}
    assert coach_api.post("/api/v1/imports/", sent, **JSON).json()["parts"][0]["rows"] == 1000
    answer = coach_api.post("/api/v1/limitations/", sent, **JSON)
    assert (answer.status_code, answer.headers["Content-Type"]) == (413, "application/problem+json")
    assert "more than this page takes" in answer.json()["detail"]


def test_lists_of_rows_are_looked_up_at_once(staff_api, plan, row_2k, django_assert_num_queries):
    people = [athlete.pk for athlete in gym.people(5)]
    plan["tests"] = [{"athlete": athlete, "benchmark": row_2k.pk} for athlete in people]
    with django_assert_num_queries(2):
        assert PlanSerializer(data=plan).is_valid()
    body = {"athlete": people[0], "kind": "body", "starts_on": plan["date"]}
    body["movements"] = list(Movement.objects.values_list("pk", flat=True)[:9])
    with django_assert_num_queries(2):
        assert LimitationSerializer(data=body).is_valid()
    assert staff_api.post("/api/v1/limitations/", body, **JSON).json()["movements"] == body["movements"]
    plan["tests"] += [{"athlete": 10**9, "benchmark": row_2k.pk}]
    refused = staff_api.post("/api/v1/test-days/", plan, **JSON)
    assert "the id 1000000000." in str(refused.json()["errors"]["tests"])
    names = CheckSerializer(data={"names": {f"name {number}": row_2k.pk for number in range(41)}})
    assert not names.is_valid()
