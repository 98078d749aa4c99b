"""Readings of levers: kept with the air they were taken in, and handed to whoever sets machines."""

from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from athletes.capacity.air import density_isa
from athletes.capacity.drag import Reach
from athletes.equipment.levers import Readings, lever_words, readings_by_machine
from athletes.equipment.read import density_for
from athletes.equipment.write import lever_reading_add
from athletes.gym.read import today
from athletes.models import AirReading, LeverReading, Machine, MachineType


@pytest.fixture
def rower(gym_row) -> Machine:
    type = MachineType.objects.create(name="rowing ergometer", engine="row", lever_most=10)
    return Machine.objects.create(type=type, number=1)


def add(machine: Machine, lever: float, drag: float, **more) -> LeverReading:
    sent = {"machine": machine, "lever": lever, "drag": drag, "taken_on": today(), "by": None, "key": uuid4(), **more}
    return lever_reading_add(**sent)


def test_it_is_kept_with_the_air_of_that_day(rower, gym_row):
    morning = datetime.combine(today(), time(0, 1), gym_row.zone)
    AirReading.objects.create(taken_at=morning, temperature_c=21, humidity_percent=40, pressure_hpa=940)
    assert add(rower, 5, 118).density == density_for(today())[0]


def test_without_a_reading_of_the_air_in_a_week_it_is_standard_air(rower, gym_row):
    long_before = datetime.combine(today() - timedelta(days=8), time(23, 59), gym_row.zone)
    AirReading.objects.create(taken_at=long_before, temperature_c=30)
    assert add(rower, 5, 118).density == pytest.approx(float(density_isa(640)))


def test_the_same_again_keeps_one_and_another_under_its_key_is_said(rower):
    key = uuid4()
    assert add(rower, 5, 118, key=key) == add(rower, 5, 118, key=key)
    with pytest.raises(ValidationError, match="Something else was kept"):
        add(rower, 6, 130, key=key)
    assert LeverReading.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"lever": 11}, "The lever runs from 1 to 10 here."),
        ({"lever": 0.5}, "The lever runs from 1 to 10 here."),
        ({"drag": 20}, "greater than or equal to 40"),
        ({"taken_on": datetime(2999, 1, 1).date()}, "This day has not come yet."),
    ],
)
def test_what_cannot_be_is_refused_in_words(rower, wrong, sentence):
    with pytest.raises(ValidationError) as refused:
        add(rower, **{"lever": 5, "drag": 118, **wrong})
    assert sentence in " ".join(refused.value.messages)


def test_a_machine_without_a_lever_has_no_reading(rower):
    MachineType.objects.update(lever_most=None)
    with pytest.raises(ValidationError, match="has no lever"):
        add(Machine.objects.get(), 5, 118)


def test_readings_come_by_type_and_machine_in_one_query(rower, django_assert_num_queries):
    day = today()
    Machine.objects.create(type=rower.type, number=2)  # never read
    broken = Machine.objects.create(type=rower.type, number=3, active=False)
    skier = Machine.objects.create(type=MachineType.objects.create(name="ski ergometer", engine="ski"), number=1)
    for machine, lever, drag, days in (
        (rower, 10, 186, 40), (rower, 1, 84, 40), (rower, 1, 82, 3), (broken, 1, 80, 3), (skier, 5, 87, 0),
    ):  # fmt: skip
        LeverReading.objects.create(
            machine=machine, lever=lever, drag=drag, density=1.12, taken_on=day - timedelta(days=days)
        )
    with django_assert_num_queries(1):
        found = readings_by_machine([rower.type_id, skier.type_id], day)
    assert found == {
        rower.type_id: [
            Readings(1, [1, 1, 10], [84, 82, 186], [1.12] * 3, [40, 3, 40]),
            Readings(2, [], [], [], []),
        ],
        skier.type_id: [Readings(1, [5], [87], [1.12], [0])],
    }


def test_a_reading_of_a_later_day_is_not_known_yet(rower):
    LeverReading.objects.create(machine=rower, lever=5, drag=118, density=1.12, taken_on=today())
    day_before = today() - timedelta(days=1)
    assert readings_by_machine([rower.type_id], day_before) == {rower.type_id: [Readings(1, [], [], [], [])]}


@pytest.mark.parametrize(
    ("lever", "reach", "words"),
    [
        (6.3, Reach.WITHIN, "lever 6.5"),
        (1, Reach.BELOW, "lever 1, and that gives more: no lower one was read"),
        (10, Reach.ABOVE, "lever 10, and that gives less: no higher one was read"),
        (6, Reach.ROUGH, "about lever 6: only one lever was read"),
    ],
)
def test_what_the_readings_do_not_say_is_not_made_up(lever, reach, words):
    assert lever_words(lever, reach) == words
