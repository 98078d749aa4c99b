import re
from copy import deepcopy
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Gym, Machine, Movement
from sessions.by_hand.write import pin_set
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.freeze import definition_of, definition_of_document
from sessions.models import Pin
from sessions.room.preview import WAYS, room_preview
from tests import gym
from tests.conftest import publish
from tests.gym import DOCUMENT


def definition(document=DOCUMENT) -> dict:
    serializer = CircuitSerializer(data=document)
    serializer.is_valid(raise_exception=True)
    return definition_of_document(serializer.validated_data, headroom=0.15)


def preview(**options):
    return room_preview(definition=definition(), gym=Gym.objects.get(), day=today(), **options)


def test_the_preview_is_what_publishing_then_freezes(furnished, coach):
    gym.people(6)
    seen = {(row.athlete.pk, card.number): (card.movement, card.dose) for row in preview().rows for card in row.cards}
    publication = publish(gym.planned_week(), coach)
    for target in publication.targets.all():
        name = target.session.definition.option_of(target).movement.name if target.rung >= 0 else "Rest"
        movement, dose = seen[target.athlete_id, target.station]
        assert (movement, float(dose or 0)) == (name, target.dose)


def test_it_says_who_has_no_benchmark_and_who_is_capped_and_why(furnished):
    [tested, untested] = [gym.people(1)[0], gym.people(1, tested=False)[0]]
    rows = {row.athlete: row for row in preview().rows}
    assert rows[untested].never_tested
    assert not rows[tested].never_tested
    station = preview().stations[0]
    assert sum(getattr(station, way) for way in WAYS) == 2
    assert (station.cautioned, station.untested) == (1, 1)  # the one without a benchmark
    capped = [card for row in rows.values() for card in row.cards if card.capped or card.swap]
    assert capped
    assert all(1 <= len(card.why) <= 3 for card in capped)


def test_a_machine_known_from_another_one_counts_as_untested_and_says_so(furnished):
    gym.people(1)
    document = {**deepcopy(DOCUMENT), "stations": [deepcopy(DOCUMENT["stations"][0])]}
    document["stations"][0]["options"] = [{"movement": "bike", "dose_kind": "kcal", "dose": 12}]
    room = room_preview(definition=definition(document), gym=Gym.objects.get(), day=today())
    assert (room.stations[0].carried, room.stations[0].untested) == (1, 0)
    assert "carried over from 2000 m row" in " ".join(room.rows[0].cards[0].why)


def test_someone_untested_is_capped_and_told_so(furnished):
    gym.people(1, tested=False)
    card = preview().rows[0].cards[0]
    assert (card.dose, card.wanted, card.capped) == ("10", "15", True)
    assert "70 % is the most for someone untested" in card.why[0]


def test_an_easy_day_asks_for_less(furnished):
    gym.people(6)
    hard = [dose for row in preview().rows for dose in row.doses]
    easy = [dose for row in preview(intent=0.8).rows for dose in row.doses]
    assert sum(easy) < sum(hard)


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


def test_a_movement_nobody_may_do_becomes_rest_for_them(furnished):
    [athlete] = gym.people(1)
    limitation = athlete.limitations.create(kind="skill", starts_on=today() - timedelta(days=3))
    limitation.movements.set(Movement.objects.filter(slug="goblet-squat"))
    card = preview().rows[0].cards[2]
    assert (card.movement, card.rest, card.prescribed) == ("Rest", True, "Goblet squat")


def test_the_preview_page_shows_unsaved_work_and_waits_for_half_written_fields(furnished, coach_client):
    gym.people(2)
    fields = {"name": "Ebb", "interval_s": "60", "rotations": "4", "stations.0.work_window_s": "45"}
    page = coach_client.post("/circuits/preview/", fields)
    assert "as soon as every station" in page.content.decode()
    fields |= {"stations.0.options.0.movement": "row", "stations.0.options.0.dose": "15"}
    fields |= {"stations.0.options.0.dose_kind": "kcal"}
    page = coach_client.post("/circuits/preview/", fields)
    assert "Athlete 0001" in page.content.decode()


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished):
    counts = []
    for more in (2, 40):
        gym.people(more)
        with CaptureQueriesContext(connection) as queries:
            preview()
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 20  # two of them are this test's own


@pytest.mark.parametrize("kind", ["pull-up", "ring-row"])
def test_loads_and_repetitions_come_as_whole_numbers(furnished, kind):
    gym.people(4)
    document = deepcopy(DOCUMENT)
    document["stations"][1]["options"][0]["movement"] = kind
    room = room_preview(definition=definition(document), gym=Gym.objects.get(), day=today())
    assert all(dose == int(dose) for row in room.rows for dose in row.doses)
    assert Athlete.objects.count() == len(room.rows)


def test_the_summary_says_what_decided_and_rows_can_be_picked(furnished, coach, coach_client):
    """A caution, a target set by hand and a swap are three different things to a coach."""
    [weak, strong, new] = gym.people(3)
    planned = gym.planned_week().sessions.get()
    Athlete.objects.filter(pk=new.pk).update(joined_on=planned.date)
    option = planned.circuit.stations.get(position=1).options.get(rung=0)
    pin = Pin(session_key=planned.key, athlete=strong, station=1, movement=option.movement, dose=9, reason="x")
    pin_set(pin=pin, station=definition_of(planned.circuit, headroom=0.1).stations[0])
    page = coach_client.get(reverse("sessions:room", args=[planned.pk])).content.decode()
    row, *_ = re.findall(r'<p class="small">(.*?)</p>', page)
    assert "1 with a caution" in row
    assert "1 by hand" in row
    rows = re.findall(r'data-marks="([^"]*)">\s*<th scope="row"><a href="/athletes/(\d+)/', page)
    by_athlete = {athlete: marks.split() for marks, athlete in rows}
    assert "by-hand" in by_athlete[str(strong.pk)]
    assert "swapped" in by_athlete[str(weak.pk)]
    assert "by-hand" not in by_athlete[str(weak.pk)]
