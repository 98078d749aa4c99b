"""The room preview over the API: whatever is sent, an answer or a sentence, and nothing is kept."""

from copy import deepcopy
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from athletes.gym.read import today
from athletes.models import Benchmark, Movement
from sessions.models import Circuit, Publication, Target
from tests import gym
from tests.conftest import JSON
from tests.gym import DOCUMENT

URL = "/api/v1/room-preview/"
STATION = {
    "station", "rung", "movement", "dose", "dose_kind", "load_kg", "rounds", "hold", "finish_by_s", "headroom",
    "probability", "reason",
}  # fmt: skip


def ask(client: Client, circuit: dict = DOCUMENT, **sent):
    return client.post(URL, {"circuit": circuit, "day": str(today()), "intent": "hard", **sent}, **JSON)


def changed(station: int = 0, rung: int = 0, **option) -> dict:
    document = deepcopy(DOCUMENT)
    document["stations"][station]["options"][rung].update(option)
    return document


def test_it_answers_everyone_at_every_station_and_keeps_nothing(furnished, staff_api):
    athletes = gym.people(5)
    gym.people(1, tested=False)
    answer = ask(staff_api)
    assert answer.status_code == 200, answer.content
    room = answer.json()
    assert set(room) == {"rows", "notes"}
    assert {row["athlete"] for row in room["rows"]} >= {athlete.pk for athlete in athletes}
    for row in room["rows"]:
        assert [cell["station"] for cell in row["stations"]] == [1, 2, 3]
        assert all(set(cell) == STATION for cell in row["stations"])
    first = room["rows"][0]["stations"]
    assert (first[0]["movement"], first[0]["dose_kind"]) == ("row", "kcal")
    assert first[0]["hold"] > 50
    assert first[2]["load_kg"] > 0
    assert not any(model.objects.exists() for model in (Circuit, Publication, Target))


def test_an_easier_day_asks_for_less(furnished, staff_api):
    gym.people(6)
    hard, steady, easy, test = (
        sum(cell["dose"] for row in ask(staff_api, intent=intent).json()["rows"] for cell in row["stations"])
        for intent in ("hard", "steady", "easy", "test")
    )
    assert easy < steady <= hard <= test


def test_the_room_of_a_kept_circuit_answers_alike(furnished, staff_api):
    gym.people(3)
    kept = gym.circuit()
    assert staff_api.get(f"/api/v1/circuits/{kept.pk}/room/").json() == ask(staff_api).json()


@pytest.mark.parametrize(
    ("circuit", "says"),
    [
        (changed(dose=7, least_dose=9), "upside down"),
        (changed(station=2, load_kg=None, percent=0), "from 1 to 100 per cent"),
        (changed(station=2, load_kg=None, percent=120), "from 1 to 100 per cent"),
        (changed(station=2, load_kg=None), "Say which load"),
        (changed(dose="nan"), "A dose is a number"),
        (changed(movement="juggling"), "no movement"),
        ({**DOCUMENT, "stations": []}, "at least one station"),
        ({**DOCUMENT, "headroom": 0.9}, "left in the tank"),
        ("circuit", "Invalid data"),
    ],
)
def test_a_circuit_that_makes_no_sense_is_refused_in_words(furnished, staff_api, circuit, says):
    gym.people(1)
    answer = ask(staff_api, circuit)
    assert answer.status_code == 400
    assert says in str(answer.json()["errors"]["circuit"])


@pytest.mark.parametrize(
    ("sent", "field", "says"),
    [
        ({"intent": "brutal"}, "intent", "Choose hard, steady, easy or test."),
        ({"intent": None}, "intent", "null"),
        ({"day": "2026-13-01"}, "day", "Write the day as 2026-12-01"),
        ({"day": "tomorrow"}, "day", "Write the day as 2026-12-01"),
        ({"day": "0001-01-01"}, "day", "from the year 2000"),
        ({"day": "9999-12-31"}, "day", "from the year 2000"),
        ({"day": None}, "day", "null"),
    ],
)
def test_a_day_that_does_not_exist_is_refused_in_words(furnished, staff_api, sent, field, says):
    answer = ask(staff_api, **sent)
    assert answer.status_code == 400
    assert says in str(answer.json()["errors"][field])


def test_a_ladder_of_which_every_rung_is_forbidden_is_rest_and_says_what_to_add(furnished, staff_api):
    [athlete] = gym.people(1)
    limitation = athlete.limitations.create(kind="skill", starts_on=today() - timedelta(days=3))
    limitation.movements.set(Movement.objects.filter(slug__in=["pull-up", "ring-row"]))
    room = ask(staff_api).json()
    cell = room["rows"][0]["stations"][1]
    assert (cell["rung"], cell["dose"], cell["rounds"]) == (-1, 0, 0)
    assert "Nothing here" in cell["reason"]
    assert "Pull up: nothing on the ladder for 1 person; add something easier." in room["notes"]


def test_a_movement_nobody_was_ever_tested_on_and_an_athlete_with_zeros_only(furnished, staff_api, record):
    [athlete] = gym.people(1, tested=False)
    record(athlete, Benchmark.objects.get(slug="pull-ups-unbroken"), "0")
    Movement.objects.create(name="Sandbag carry", slug="carry", kind="hold", involvement={"grip": 1})
    document = changed(movement="carry", dose_kind="seconds", dose=30, least_dose=None)
    answer = ask(staff_api, document)
    assert answer.status_code == 200
    cells = answer.json()["rows"][0]["stations"]
    assert 0 < cells[0]["dose"] <= 30
    assert cells[1]["movement"] == "ring-row"


def test_machines_that_run_short_are_among_the_notes(furnished, staff_api):
    gym.people(20)
    assert any("rowing ergometer" in sentence for sentence in ask(staff_api).json()["notes"])


def test_an_empty_gym_has_an_empty_room(furnished, staff_api):
    assert ask(staff_api).json()["rows"] == []


def test_queries_do_not_grow_with_athletes(furnished, staff_api):
    ask(staff_api)  # what is asked once and then known
    counts = []
    for more in (2, 30):
        gym.people(more)
        with CaptureQueriesContext(connection) as queries:
            ask(staff_api)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 36


def test_strangers_see_nothing(furnished):
    assert ask(Client()).status_code in (401, 403)
