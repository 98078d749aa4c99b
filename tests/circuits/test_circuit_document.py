import re
from copy import deepcopy

import pytest
from django.http import QueryDict

from athletes.models import Movement
from sessions.circuits.document import CircuitSerializer, document_of
from sessions.circuits.forms import nested
from sessions.circuits.page import text_now
from sessions.circuits.read import with_stations
from sessions.circuits.write import circuit_change, circuit_create
from sessions.models import Circuit, StationOption
from tests import gym
from tests.gym import DOCUMENT


def as_fields(client, circuit: Circuit) -> str:
    """A saved circuit in the editor's fields."""
    text = text_now(with_stations(Circuit.objects.all()).get(pk=circuit.pk))
    return client.post("/circuits/fields/", {"text": text}).content.decode()


def errors_of(document) -> dict:
    serializer = CircuitSerializer(data=document)
    assert not serializer.is_valid()
    return serializer.errors


def changed(**fields):
    return {**deepcopy(DOCUMENT), **fields}


def test_a_saved_circuit_gives_its_document_back(furnished):
    saved = gym.circuit()
    document = document_of(with_stations(Circuit.objects.all()).get(pk=saved.pk))
    assert document["stations"][1]["options"][0]["movement"] == "pull-up"
    serializer = CircuitSerializer(data=document)
    assert serializer.is_valid(), serializer.errors
    again = circuit_change(circuit=saved, document=serializer.validated_data)
    assert document_of(with_stations(Circuit.objects.all()).get(pk=again.pk)) == document
    assert StationOption.objects.count() == 5


def test_half_of_a_dose_without_a_range_is_never_kept(furnished):
    saved = gym.circuit()
    assert StationOption.objects.get(station__circuit=saved, movement__slug="bike").least_dose is None


def test_the_same_key_makes_one_circuit(furnished, coach):
    serializer = CircuitSerializer(data=DOCUMENT)
    serializer.is_valid(raise_exception=True)
    key = "11111111-1111-4111-8111-111111111111"
    first = circuit_create(document=serializer.validated_data, by=coach, key=key)
    assert circuit_create(document=serializer.validated_data, by=coach, key=key) == first
    assert Circuit.objects.count() == 1


def test_another_circuit_under_the_same_key_overwrites_nothing(furnished, coach_client):
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "45"}
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal", "key": "11111111-1111-4111-8111-111111111111"}
    coach_client.post("/circuits/new/", fields)
    page = coach_client.post("/circuits/new/", {**fields, "name": "Flow"})
    assert page.status_code == 409
    assert "already used for the circuit “Ebb”" in page.content.decode()
    assert 'value="Flow"' in page.content.decode()
    assert Circuit.objects.get().name == "Ebb"


def test_a_circuit_with_a_movement_that_was_archived_can_still_be_saved(furnished, coach_client):
    saved = gym.circuit()
    Movement.objects.filter(slug="ring-row").update(archived=True)
    page = coach_client.get(f"/circuits/{saved.pk}/").content.decode()
    assert "Ring row" in page
    assert 'value="ring-row"' in as_fields(coach_client, saved)


def test_a_work_window_longer_than_the_interval_is_refused_at_its_station(furnished):
    document = changed()
    document["stations"][1]["work_window_s"] = 70
    assert "longer than the interval" in errors_of(document)["stations"][1]["work_window_s"][0]
    assert errors_of(document)["stations"][0] == {}


def test_a_circuit_needs_a_station(furnished):
    assert "at least one station" in str(errors_of(changed(stations=[]))["stations"])


@pytest.mark.parametrize(
    ("option", "field", "says"),
    [
        ({"movement": "juggling"}, "movement", "no movement"),
        ({"movement": "bike", "dose_kind": "metres"}, "dose_kind", "measured in kcal"),
        ({"movement": "run", "dose_kind": "kcal"}, "dose_kind", "measured in metres"),
        ({"dose": 0}, "dose", "from 1 to 5000"),
        ({"least_dose": 30}, "least_dose", "upside down"),
        ({"movement": "goblet-squat", "dose_kind": "load_repetitions", "load_kg": None}, "load_kg", "which load"),
    ],
)
def test_an_option_that_makes_no_sense_is_refused_on_its_field(furnished, option, field, says):
    document = changed()
    document["stations"][0]["options"][0].update(option)
    assert says in str(errors_of(document)["stations"][0]["options"][0][field])


def test_getting_set_must_leave_time_to_work(furnished):
    Movement.objects.filter(slug="row").update(setup_s=20)
    document = changed()
    document["stations"][0]["work_window_s"] = 20
    assert "takes 20 s to get set" in str(errors_of(document)["stations"][0])


def test_the_editors_fields_become_a_document_whatever_their_numbers():
    post = QueryDict(mutable=True)
    post.update({"name": "Ebb", "interval_s": "60", "rotations": "4", "headroom": ""})
    post.update({"stations.3.work_window_s": "40", "stations.3.options.7.movement": "row"})
    post.update({"stations.10.work_window_s": "30", "stations.x.work_window_s": "1", "stations": "noise"})
    document = nested(post)
    assert [s["work_window_s"] for s in document["stations"]] == ["40", "30"]
    assert document["stations"][0]["options"][0]["movement"] == "row"
    assert document["headroom"] is None


def test_the_editor_keeps_what_was_typed_and_says_what_is_wrong(furnished, coach_client):
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "four", "stations.0.work_window_s": "75"}
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal"}
    page = coach_client.post("/circuits/new/", fields)
    text = page.content.decode()
    assert page.status_code == 422
    assert 'value="four"' in text
    assert 'value="75"' in text
    assert "A valid integer is required" in text
    assert not Circuit.objects.exists()


def test_the_editor_shows_the_whole_sentence_about_a_window(furnished, coach_client):
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "75"}
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal"}
    page = coach_client.post("/circuits/new/", fields).content.decode()
    assert ">The work time is longer than the interval of 60 s. Shorten it.</p>" in page


def test_the_editor_saves(furnished, coach_client):
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "45"}
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal", "key": "11111111-1111-4111-8111-111111111111"}
    assert coach_client.post("/circuits/new/", fields).status_code == 302
    assert coach_client.post("/circuits/new/", fields).status_code == 302
    assert Circuit.objects.get().stations.get().options.get().dose == 15


def test_an_archived_circuit_leaves_the_list_and_can_come_back(furnished, coach_client):
    saved = gym.circuit()
    coach_client.post(f"/circuits/{saved.pk}/archive/")
    assert "Mill race" not in coach_client.get("/circuits/").content.decode().split('<ul class="messages"')[0]
    assert Circuit.objects.get().archived
    coach_client.post(f"/circuits/{saved.pk}/archive/", {"restore": "1"})
    assert not Circuit.objects.get().archived


WRITTEN = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "45"}
WRITTEN |= {"stations.0.options.0.movement": "goblet-squat", "stations.0.options.0.dose_kind": "load_repetitions"}
WRITTEN |= {"stations.0.options.0.dose": "8", "stations.0.options.0.least_dose": "6"}


def test_the_editor_keeps_ranges_ways_of_loading_and_what_gives_way(furnished, coach_client):
    sent = {**WRITTEN, "stations.0.options.0.percent": "75", "headroom": "12.5", "scaling": "rounds"}
    sent |= {"open_last": "on", "stations.0.closed": "on"}
    assert coach_client.post("/circuits/new/", sent).status_code == 302
    circuit = Circuit.objects.get()
    station = circuit.stations.get()
    option = station.options.get()
    assert (circuit.headroom, circuit.scaling, circuit.open_last, station.closed) == (0.125, "rounds", True, True)
    assert (option.dose, option.least_dose, option.percent, option.load_kg) == (8, 6, 75, None)
    page = as_fields(coach_client, circuit)
    assert 'value="12.5"' in page
    assert 'name="open_last" id="open_last" checked' in page
    assert 'name="stations.0.closed" id="stations.0.closed" checked' in page


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"headroom": "90"}, "From 0 to 60 per cent can be left in the tank"),
        ({"headroom": "much"}, "From 0 to 60 per cent can be left in the tank"),
        ({"stations.0.options.0.percent": "120"}, "from 1 to 100 per cent"),
        ({"stations.0.options.0.least_dose": "9"}, "The range is upside down"),
        ({"stations.0.options.0.dose": "nan"}, "A dose is a number from 1 to 5000."),
    ],
)
def test_the_editor_says_what_does_not_fit(furnished, coach_client, sent, says):
    page = coach_client.post("/circuits/new/", {**WRITTEN, "stations.0.options.0.percent": "75", **sent})
    assert page.status_code == 422
    assert says in page.content.decode()
    assert f'value="{next(iter(sent.values()))}"' in page.content.decode()


def test_without_a_number_the_day_says_what_is_left(furnished, coach_client):
    page = coach_client.post("/circuits/fields/", {"text": "12 cal row"}).content.decode()
    assert "Of a hard day. Empty: test 0, hard 10, steady 25, easy 45 %." in page


def test_people_read_of_rounds_and_archives(furnished, coach_client):
    saved = gym.circuit()
    pages = ["/circuits/", "/circuits/?archived", f"/circuits/{saved.pk}/"]
    text = " ".join(coach_client.get(page).content.decode() for page in pages).lower()
    assert "5 rounds" in text
    assert re.findall(r">[^<]*rotation[^<]*<", text) == []
    assert "put away" not in text


def test_a_swap_ladder_names_easier_forms(furnished):
    gym.circuit()
    forms = dict(Movement.objects.filter(easier_form__isnull=False).values_list("slug", "easier_form__slug"))
    assert forms == {"pull-up": "ring-row"}  # a fan bike is no easier rower


def test_an_easier_form_that_is_named_stays(furnished):
    other = Movement.objects.create(name="Banded", slug="banded", kind="repetitions")
    Movement.objects.filter(slug="pull-up").update(easier_form=other)
    gym.circuit()
    assert Movement.objects.get(slug="pull-up").easier_form == other


def test_easier_forms_never_make_a_circle_or_join_what_is_measured_otherwise(furnished):
    Movement.objects.filter(slug="ring-row").update(easier_form=Movement.objects.get(slug="pull-up"))
    document = changed()
    document["stations"][1]["options"].append({"movement": "goblet-squat", "dose_kind": "load_repetitions", "dose": 5})
    document["stations"][1]["options"][2]["load_kg"] = 16
    gym.circuit(document)
    assert Movement.objects.get(slug="pull-up").easier_form is None
    assert Movement.objects.get(slug="ring-row").easier_form.slug == "pull-up"
