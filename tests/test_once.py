"""What is sent twice is kept once, even when both arrive at the same moment."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.models import AirReading
from athletes.once import insert_once, kept_before

CONTENT = ("temperature_c",)


def reading(key, temperature_c: float) -> AirReading:
    return AirReading(key=key, taken_at=timezone.now(), temperature_c=temperature_c)


@pytest.mark.django_db
def test_the_second_of_two_at_once_gets_the_first():
    key = uuid4()
    first = insert_once(reading(key, 20), CONTENT)
    assert insert_once(reading(key, 20), CONTENT) == first  # as if the first had not been there to be found
    with pytest.raises(ValidationError, match="Something else was kept"):
        insert_once(reading(key, 21), CONTENT)
    assert list(AirReading.objects.all()) == [first]


@pytest.mark.django_db
def test_nothing_was_kept_under_a_fresh_key():
    insert_once(reading(uuid4(), 20), CONTENT)
    assert kept_before(reading(uuid4(), 20), CONTENT) is None


@pytest.mark.django_db
def test_what_no_row_may_hold_is_refused_before():
    with pytest.raises(ValidationError, match="less than or equal to 50"):
        insert_once(reading(uuid4(), 99), CONTENT)
