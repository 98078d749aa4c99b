import re
from copy import deepcopy
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Gym, Machine, Movement
from sessions.by_hand.write import pin_set
from sessions.circuits.definition import Definition
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.freeze import definition_of, definition_of_document
from sessions.models import Pin
from sessions.room.panel import panel_of
from sessions.room.preview import RoomNote, RoomPreview, room_preview
from sessions.room.stations import WAYS
from sessions.targets.occasion import Occasion
from sessions.weeks.days import occasion_on
from tests import gym
from tests.conftest import publish
from tests.gym import DOCUMENT


def definition(document=DOCUMENT) -> Definition:
    serializer = CircuitSerializer(data=document)
    serializer.is_valid(raise_exception=True)
    return definition_of_document(serializer.validated_data)


def preview(document=DOCUMENT, intent: str = "hard", classes: int = 1) -> RoomPreview:
    written = definition(document)
    return room_preview(
        definition=written, occasion=occasion_on(today(), Gym.objects.get(), written, intent), classes=classes
    )


def doses(room: RoomPreview) -> list[float]:
    return [target.dose for row in room.rows for target in row.targets]


def one_station(**option) -> dict:
    return {**deepcopy(DOCUMENT), "stations": [{"work_window_s": 45, "options": [option]}]}


def test_the_preview_is_what_publishing_then_freezes(furnished, coach):
    gym.people(6)
    planned = gym.planned_week().sessions.get()
    written = definition_of(planned.circuit)
    room = room_preview(definition=written, occasion=Occasion(day=planned.date, intent=planned.intent))
    seen = {(t.athlete_id, t.station): (t.rung, t.dose, t.rounds) for row in room.rows for t in row.targets}
    publication = publish(planned.week, coach)
    assert {(t.athlete_id, t.station): (t.rung, t.dose, t.rounds) for t in publication.targets.all()} == seen


def test_everyone_is_counted_once_at_every_station(furnished):
    gym.people(6)
    gym.people(2, tested=False)
    for station in preview().stations:
        assert sum(getattr(station, way) for way in WAYS) == 8
    assert [row.never_tested for row in preview().rows].count(True) == 2


def test_who_was_never_tested_gets_less_and_is_told_to_go_by_feel(furnished):
    gym.people(1, tested=False)
    room = preview()
    card = room.rows[0].cards[0]
    assert card.reduced
    assert float(card.dose) <= 10  # two thirds of 15
    assert "First time" in card.why[0]
    assert room.stations[0].untested == 1


def test_an_easier_day_asks_for_less_and_leaves_more(furnished):
    gym.people(6)
    hard, easy = preview(), preview(intent="easy")
    assert sum(doses(easy)) < sum(doses(hard))
    assert [t.rung for row in easy.rows for t in row.targets] == [t.rung for row in hard.rows for t in row.targets]
    assert all(e.left > h.left for e, h in zip(easy.rows, hard.rows, strict=True))


def test_everyone_sees_the_rounds_as_prescribed_and_the_room_its_curve(furnished):
    gym.people(8)
    room = preview()
    assert all(0 <= row.as_prescribed <= 40 for row in room.rows)
    people = [holds for _, holds in room.curve]
    assert people == sorted(people, reverse=True)
    assert len(room.curve) == 5
    minutes = definition().minutes
    assert f"{minutes:g}" in [of for of, _ in room.curve]
    longer = {**DOCUMENT, "rotations": 11}
    assert f"{definition(longer).minutes:g}" in [of for of, _ in preview(longer).curve]


def test_sets_of_a_lift_are_not_held_for_minutes(furnished):
    gym.people(3)
    assert preview(one_station(movement="goblet-squat", dose_kind="load_repetitions", dose=8, load_kg=24)).curve == []


def test_the_foot_of_a_range_is_as_prescribed(furnished):
    gym.people(30)
    document = one_station(movement="row", dose_kind="kcal", dose=16, least_dose=12)
    room, written = preview(document), definition(document)
    panel = panel_of(room, written)["people"]
    within = [row for row in room.rows if row.targets[0].rung == 0 and 12 <= row.targets[0].dose < 16]
    under = [row for row in room.rows if row.targets[0].rung == 0 and row.targets[0].dose < 12]
    assert within
    assert under
    for row in within:
        assert "as-prescribed" in row.marks.split()
        assert row.cells[0].plain
        assert not any("instead of" in sentence for sentence in panel[row.athlete.pk]["at"][0].get("why", []))
    for row in under:
        assert "less" in row.marks.split()
        [why] = panel[row.athlete.pk]["at"][0]["why"]
        assert f"{row.targets[0].dose:g} instead of 12–16 calories" in why
        assert "you" not in why.lower()
    counted = [row for row in room.rows if row.targets[0].dose >= 12]
    assert room.stations[0].as_prescribed == len(counted)


def test_each_third_is_told_by_what_differs_and_once_where_nothing_does(furnished):
    gym.people(12)
    easy = preview(one_station(movement="row", dose_kind="kcal", dose=2))
    [everyone] = easy.expected
    assert everyone.who == "all"
    assert "less" not in everyone.words
    hard = preview(one_station(movement="row", dose_kind="kcal", dose=17, least_dose=16))
    assert [one.who for one in hard.expected] == ["strong", "middling", "weak"]
    assert hard.expected[2].words.endswith("% left, less at 1")


def test_a_note_names_five_and_counts_the_others():
    people = tuple(Athlete(name=f"Athlete {place}") for place in range(8))
    note = RoomNote("Row: nothing on the ladder for 8 people.", people)
    assert (note.named, note.more) == (people[:5], 3)


def test_a_range_is_said_as_it_was_written_and_swaps_have_letters(furnished):
    gym.people(8)
    station = preview().stations[1]
    assert station.written == "4–8"
    assert station.swapped == sum(swap.people for swap in station.swaps)
    assert [swap.mark for swap in station.swaps] == ["a"] * len(station.swaps)


def test_a_broken_machine_is_a_shortage(furnished):
    gym.people(30)
    assert any("rowing ergometer" in sentence for sentence in preview(classes=2).shortages)
    Machine.objects.filter(type__engine="row").update(active=False)
    assert any("0 on the floor" in sentence for sentence in preview(classes=2).shortages)
    Machine.objects.filter(type__engine="row").update(active=True)
    assert preview(classes=30).shortages == []


def test_an_empty_room_is_no_error(furnished):
    room = preview()
    assert (room.rows, room.stations) == ([], [])


def test_a_movement_nobody_may_do_becomes_rest_and_the_coach_hears_of_it(furnished):
    [athlete] = gym.people(1)
    limitation = athlete.limitations.create(kind="skill", starts_on=today() - timedelta(days=3))
    limitation.movements.set(Movement.objects.filter(slug="goblet-squat"))
    room = preview()
    card = room.rows[0].cards[2]
    assert (card.movement, card.rest, card.prescribed) == ("Rest", True, "Goblet squat")
    assert "Goblet squat: nothing on the ladder for 1 person; add something easier." in [
        note.says for note in room.notes
    ]


def test_a_minor_is_set_by_the_coach(furnished, coach_client):
    [athlete] = gym.people(1)
    Athlete.objects.filter(pk=athlete.pk).update(born=today() - timedelta(days=16 * 365))
    room = preview()
    assert all(card.with_coach for card in room.rows[0].cards)
    assert room.stations[0].with_coach == 1
    planned = gym.planned_week().sessions.get()
    assert "with coach" in coach_client.get(reverse("sessions:room", args=[planned.pk])).content.decode()


def test_a_movement_nobody_was_ever_tested_on_is_taken_as_written(furnished):
    gym.people(8)
    for benchmark in ("goblet-squat", "1500-m-run", "1-min-row-calories"):
        for athlete in Athlete.objects.all():
            Effort.objects.create(
                athlete=athlete,
                benchmark=Benchmark.objects.get(slug=benchmark),
                value=40,
                repetitions=5,
                typed="40",
                performed_on=today(),
            )
    Movement.objects.create(name="Sandbag carry", slug="carry", kind="hold", involvement={"grip": 1})
    room = preview(one_station(movement="carry", dose_kind="seconds", dose=30))
    assert max(doses(room)) == 30
    assert all(row.targets[0].rung == 0 for row in room.rows)


def test_an_athlete_with_zeros_only_still_gets_something_to_do(furnished, record):
    [athlete] = gym.people(1, tested=False)
    record(athlete, Benchmark.objects.get(slug="pull-ups-unbroken"), "0")
    room = preview()
    target = room.rows[0].targets[1]
    assert target.rung == 1  # ring rows
    assert target.dose >= 1


@pytest.mark.parametrize("way", [{"percent": 75}, {"reserve": 2}, {"load_kg": 24}])
def test_a_load_is_written_in_three_ways(furnished, way):
    gym.people(4)
    room = preview(one_station(movement="goblet-squat", dose_kind="load_repetitions", dose=8, **way))
    assert all(row.targets[0].load_kg > 0 for row in room.rows)
    assert 1 <= len(room.stations[0].loads) <= 3


def test_the_preview_page_shows_unsaved_work_and_waits_for_half_written_fields(furnished, coach_client):
    gym.people(2)
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "45"}
    page = coach_client.post("/circuits/preview/", fields)
    assert "as soon as every station" in page.content.decode()
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal", "headroom": "20"}
    page = coach_client.post("/circuits/preview/", fields).content.decode()
    assert "Athlete 0001" in page
    assert "hard day: about 20 % left in the tank" in page
    easy = coach_client.post("/circuits/preview/", {**fields, "intent": "easy"}).content.decode()
    assert "easy day: about 45 % left in the tank" in easy


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=5)
    counts = []
    for more in (2, 40):
        gym.people(more)
        with CaptureQueriesContext(connection) as queries:
            preview()
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 28 + 4  # four of them are this test's own


@pytest.mark.parametrize("kind", ["pull-up", "ring-row"])
def test_loads_and_repetitions_come_as_whole_numbers(furnished, kind):
    gym.people(4)
    document = deepcopy(DOCUMENT)
    document["stations"][1]["options"][0]["movement"] = kind
    room = preview(document)
    assert all(dose == int(dose) for dose in doses(room))
    assert Athlete.objects.count() == len(room.rows)


def test_rows_can_be_picked_by_what_decided(furnished, coach, coach_client):
    """A target set by hand and a swap are two different things to a coach."""
    [weak, strong, _] = gym.people(3)
    planned = gym.planned_week().sessions.get()
    option = planned.circuit.stations.get(position=1).options.get(rung=0)
    pin = Pin(session_key=planned.key, athlete=strong, station=1, movement=option.movement, dose=9, reason="x")
    pin_set(pin=pin, station=definition_of(planned.circuit).stations[0])
    page = coach_client.get(reverse("sessions:room", args=[planned.pk])).content.decode()
    tabs = dict(re.findall(r'value="([\w-]*)"[^>]*><span>[^<]+<span class="soft">(\d+)', page))
    assert (tabs["by-hand"], tabs[""]) == ("1", "3")
    rows = re.findall(r'data-marks="([^"]*)" data-athlete="(\d+)', page)
    by_athlete = {athlete: marks.split() for marks, athlete in rows}
    assert "by-hand" in by_athlete[str(strong.pk)]
    assert "swapped" in by_athlete[str(weak.pk)]
    assert "by-hand" not in by_athlete[str(weak.pk)]
