"""What the air is taken to be on a day, and whether a wet-bulb globe temperature is fresh enough."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.capacity.air import density_isa, density_moist, pressure_isa
from athletes.equipment.read import density_for
from athletes.equipment.write import air_reading_add
from athletes.models import AirReading


def taken(when: datetime, **measured) -> AirReading:
    return AirReading.objects.create(taken_at=when, **measured)


@pytest.fixture
def noon(gym_row) -> datetime:
    return datetime(2026, 7, 15, 12, 0, tzinfo=gym_row.zone)


def test_without_a_reading_it_is_standard_air_at_the_altitude(noon):
    assert density_for(noon.date()) == (pytest.approx(float(density_isa(640))), None)


def test_a_reading_of_everything_is_taken_as_it_is(noon):
    reading = taken(noon, pressure_hpa=941, temperature_c=19.5, humidity_percent=62)
    assert density_for(noon.date()) == (pytest.approx(float(density_moist(94_100, 19.5, 0.62))), reading)


def test_what_was_not_measured_is_taken_as_usual(noon):
    taken(noon, temperature_c=25)
    density, _ = density_for(noon.date())
    assert density == pytest.approx(float(density_moist(pressure_isa(640), 25, 0.5)))


@pytest.mark.parametrize(
    ("after", "counts"),
    [
        (timedelta(0), True),
        (timedelta(hours=11, minutes=59), True),  # later on that day
        (timedelta(hours=12), False),  # the day after
        (timedelta(days=-7, hours=-12), True),
        (timedelta(days=-7, hours=-13), False),
    ],
)
def test_a_reading_counts_on_its_day_and_for_a_week(noon, after, counts):
    taken(noon + after, temperature_c=20)
    assert (density_for(noon.date())[1] is not None) is counts


def test_the_latest_with_a_temperature_counts(noon):
    earlier = taken(noon - timedelta(hours=3), temperature_c=20)
    taken(noon - timedelta(days=1), temperature_c=28)
    taken(noon, wbgt_c=24)
    assert density_for(noon.date())[1] == earlier


def test_one_query_when_the_gym_is_known(noon, gym_row, django_assert_num_queries):
    taken(noon, temperature_c=20)
    with django_assert_num_queries(1):
        density_for(noon.date(), gym_row)


def test_adding_again_under_the_same_key_keeps_one(gym_row):
    sent = {"key": uuid4(), "by": None, "temperature_c": 20.0}
    first, second = (air_reading_add(**sent) for _ in range(2))  # without a time, each would be of its own moment
    assert first == second
    assert AirReading.objects.count() == 1
    with pytest.raises(ValidationError, match="Something else was kept"):
        air_reading_add(**{**sent, "temperature_c": 21.0})


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"temperature_c": None}, "Give a temperature"),
        ({"taken_at": timezone.now() + timedelta(hours=30)}, "has not come yet"),
        ({"pressure_hpa": 1013.0}, "At 640 m it is about 939 hPa."),
        ({"humidity_percent": 130.0}, "less than or equal to 100"),
    ],
)
def test_what_cannot_be_is_refused_in_words(gym_row, wrong, sentence):
    with pytest.raises(ValidationError) as refused:
        air_reading_add(**{"key": uuid4(), "by": None, "temperature_c": 20.0, **wrong})
    assert sentence in " ".join(refused.value.messages)
    assert not AirReading.objects.exists()
