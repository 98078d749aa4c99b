"""The starter library: complete, sensible by common practice, and safe to load again and again."""

import re
from itertools import pairwise

import pytest
from django.utils.text import slugify

from athletes.benchmarks.library import ENTRIES
from athletes.benchmarks.starter import starter_load
from athletes.equipment.starter import MACHINES, RACKS, machine_counts, machines_count
from athletes.models import Benchmark, Machine, MachineType, Movement, Rack
from athletes.movements.starter import starter_movements
from tests.coachhub.test_demo import forbidden_in

ENTRIES_BY_NAME = {entry.name: entry for entry in starter_movements()}


def test_there_are_about_ninety_each_with_four_cues_in_words():
    assert 90 <= len(ENTRIES_BY_NAME) <= 110
    for entry in starter_movements():
        for cue in (entry.set_up, entry.drive, entry.recovery, entry.look_for):
            assert cue.endswith("."), entry.name
            assert len(cue) <= 130, entry.name


def test_no_brand_is_named():
    words = " ".join(f"{entry.name} {entry.other_names} {entry.caution}" for entry in starter_movements())
    assert not forbidden_in(words)


def test_what_an_entry_names_is_there():
    keys = {test.key for test in ENTRIES}
    machines = {kind.name for kind in MACHINES}
    for entry in starter_movements():
        assert entry.machine in machines | {""}, entry.name
        assert entry.rack in {*RACKS, ""}, entry.name
        assert set(entry.tests) <= keys, entry.name
        assert (entry.kind == "loaded") == bool(entry.rack), entry.name


def test_no_two_are_called_alike():
    names = [n.casefold() for e in starter_movements() for n in (e.name, *filter(None, re.split(", *", e.other_names)))]
    names = [name for name in names if not re.search(r"\d+ (kg|m)", name)]
    assert len(names) == len(set(names))


def test_an_easier_form_is_easier():
    """Common practice: down a ladder more repetitions are done unbroken, or no skill is needed, or no soreness."""
    for entry in starter_movements():
        if not entry.easier or entry.kind == "loaded":
            continue
        below = ENTRIES_BY_NAME[entry.easier]
        assert entry.kind == below.kind
        spared = (entry.needs_skill, entry.high_eccentric) > (below.needs_skill, below.high_eccentric)
        assert spared or below.best >= entry.best or below.machine != entry.machine, entry.name


def test_what_can_hurt_says_so():
    """Lowering in volume, inversion and bars near the limit carry a caution (common practice)."""
    for entry in starter_movements():
        if entry.high_eccentric:
            assert entry.caution or entry.name == "Walking lunge", entry.name


# The middle of a mixed gym (common practice): lifts in the order in which everyone is strong in them [kg].
STRENGTH = ["Overhead press", "Push press", "Bench press", "Front squat", "Back squat", "Deadlift"]


def test_lifts_stand_in_their_usual_order():
    assert all(ENTRIES_BY_NAME[light].best < ENTRIES_BY_NAME[heavy].best for light, heavy in pairwise(STRENGTH))
    # Front squat about 85 % of the back squat, overhead press about 2/3 of the bench press (common practice)
    assert ENTRIES_BY_NAME["Front squat"].best / ENTRIES_BY_NAME["Back squat"].best == pytest.approx(0.85, abs=0.05)
    assert ENTRIES_BY_NAME["Overhead press"].best / ENTRIES_BY_NAME["Bench press"].best == pytest.approx(0.67, abs=0.05)


@pytest.mark.django_db
def test_loading_fills_an_empty_gym_with_rows_that_the_forms_would_take():
    loaded = starter_load()
    assert loaded.movements == len(ENTRIES_BY_NAME) == Movement.objects.count()
    assert loaded.benchmarks == Benchmark.objects.count() >= 40
    for row in (*Movement.objects.all(), *MachineType.objects.all(), *Rack.objects.all(), *Benchmark.objects.all()):
        row.full_clean()
    assert not Machine.objects.exists()  # how many there are is for the gym to say
    assert Movement.objects.get(name="Row").machine_type.engine == "row"


@pytest.mark.django_db
def test_loading_again_adds_nothing_and_keeps_what_the_gym_changed():
    starter_load()
    Movement.objects.filter(name="Row").update(name="Rudern", setup_s=6)
    Movement.objects.filter(name="Burpee").update(archived=True)
    Benchmark.objects.filter(name="Row 500 m").delete()
    again = starter_load()
    assert (again.movements, again.benchmarks) == (0, 0)
    assert Movement.objects.get(slug="row").setup_s == 6
    assert Movement.objects.get(slug="burpee").archived


@pytest.mark.django_db
def test_a_gym_that_has_some_keeps_its_own():
    rower = MachineType.objects.create(name="Rower", engine="row")
    own = Movement.objects.create(name="My row", slug="row", kind="engine", engine="row", machine_type=rower)
    Movement.objects.create(name="Klimmzug", slug="klimmzug", kind="repetitions", other_names="pull-up, Zug")
    loaded = starter_load()
    assert loaded.movements == len(ENTRIES_BY_NAME) - 2
    assert Movement.objects.get(slug="row").name == own.name
    assert not Movement.objects.filter(slug=slugify("Pull-up")).exists()
    assert MachineType.objects.filter(engine="row").get() == rower


@pytest.mark.django_db
def test_machines_are_counted_up_and_down_and_none_is_lost():
    machines_count({"row": 4, "box": 6})
    assert machine_counts() == {"row": 4, "ski": 0, "bike": 0, "rig": 0, "box": 6, "bench": 0, "lane": 0}
    machines_count({"row": 2})
    assert machine_counts()["row"] == 2
    assert Machine.objects.filter(type__engine="row").count() == 4
    machines_count({"row": 5})
    assert list(Machine.objects.filter(type__engine="row", active=True).values_list("number", flat=True)) == [
        1,
        2,
        3,
        4,
        5,
    ]
