"""The ten circuits to begin with: read without a doubt by our own reader, and of sensible length."""

import pytest

from athletes.benchmarks.starter import starter_load
from athletes.equipment.starter import machines_count
from athletes.models import Machine
from sessions.circuits.starter import KEYS, offers, starter_circuit_add, starter_circuits
from sessions.circuits.text.reading import read
from sessions.circuits.whiteboard import known_names
from sessions.circuits.write import circuit_archive
from sessions.models import Circuit

FLOOR = {"row": 4, "ski": 2, "bike": 2, "rig": 6, "box": 6, "bench": 0, "lane": 1}


@pytest.fixture
def library(db) -> None:
    starter_load()
    machines_count(FLOOR)


def test_there_are_ten_of_which_three_begin():
    assert len({entry.key for entry in starter_circuits()}) == 10
    assert sum(entry.first for entry in starter_circuits()) == 3
    assert {entry.intent for entry in starter_circuits()} == {"hard", "steady", "easy"}
    assert KEYS.version == 5


def test_each_line_is_read_without_a_guess(library):
    for entry in starter_circuits():
        reading = read(entry.text, known_names())
        assert reading.unread == [], entry.name
        assert not [line.remarks for line in reading.lines if line.remarks], entry.name


def test_all_fit_a_furnished_room_and_last_as_long_as_a_class_allows(library):
    for offer in offers():
        assert offer.fits, offer.circuit.name
        checked = offer.checked
        on_the_clock = checked["interval_s"] * checked["partners"] * checked["rotations"] * len(checked["stations"])
        assert 10 <= (checked["limit_s"] or on_the_clock) / 60 <= 30


def test_the_next_machine_takes_the_place_of_one_that_is_not_here(library):
    machines_count({"row": 0})
    mixed = next(offer for offer in offers() if offer.circuit.slug == "three-for-a-mixed-room")
    assert mixed.without == ["rowing ergometer"]
    assert [option["movement"].name for option in mixed.checked["stations"][0]["options"]] == ["Ski"]


def test_machines_for_few_say_for_how_many(library):
    machines_count({"rig": 1})
    mixed = next(offer for offer in offers() if offer.circuit.slug == "three-for-a-mixed-room")
    assert mixed.most == 3  # three stations of which one is on the rig


def test_without_the_library_none_fits(db):
    assert not Machine.objects.exists()
    assert {tuple(offer.lacks) for offer in offers()} == {("the starter library",)}


def test_one_that_the_gym_changed_stays_as_it_is(library, coach):
    offer = offers()[0]
    circuit = starter_circuit_add(offer=offer, by=coach)
    Circuit.objects.filter(pk=circuit.pk).update(name="Ours", rotations=4)
    circuit_archive(circuit=Circuit.objects.get(), archived=True)
    again = starter_circuit_add(offer=offer, by=coach)
    assert (again.pk, again.name, again.rotations, again.archived) == (circuit.pk, "Ours", 4, False)
