from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.capacity.air import pressure_isa
from athletes.formatting import number
from athletes.models import Account, AirReading
from athletes.selectors.gym import gym
from athletes.services.once import insert_once, kept_before

MEASURED = ("pressure_hpa", "temperature_c", "humidity_percent", "wbgt_c")
# Weather moves the pressure of a place by less than that nearly always (ours); reduced to sea level it is farther off.
MOST_OFF_HPA = 60.0

REDUCED = (
    "Weather reports say what it would be at sea level: give what a barometer in this room shows, or leave it empty."
)


def air_reading_add(
    *, key: UUID, by: Account | None, taken_at: datetime | None = None, **measured: float | None
) -> AirReading:
    """Keep what was measured of the air, by the names in MEASURED; `taken_at` None is now.

    The same again under the same `key` returns the reading that is kept. Raises ValidationError, by field.
    """
    reading = AirReading(key=key, taken_at=taken_at or timezone.now(), entered_by=by, **measured)
    content = (*MEASURED, "taken_at") if taken_at else MEASURED
    if kept := kept_before(reading, content):
        return kept
    if reading.taken_at > timezone.now():
        raise ValidationError({"taken_at": "This moment has not come yet. Give the time of the reading."})
    if reading.temperature_c is None and reading.wbgt_c is None:
        raise ValidationError("Give a temperature, or a wet-bulb globe temperature, or both.")
    if reading.pressure_hpa is not None:
        _refuse_another_height(reading.pressure_hpa)
    return insert_once(reading, content)


def air_reading_remove(*, reading: AirReading) -> None:
    """Take a wrong reading out. What was computed with it stays: readings of levers keep their density."""
    reading.delete()


def _refuse_another_height(pressure_hpa: float) -> None:
    """A weather report gives pressure as it would be at sea level, and that is the usual slip."""
    altitude = gym().altitude_m
    usual = float(pressure_isa(altitude)) / 100.0
    if abs(pressure_hpa - usual) > MOST_OFF_HPA:
        here = f"At {number(altitude, 0)} m it is about {number(usual, 0)} hPa."
        raise ValidationError({"pressure_hpa": f"{here} {REDUCED}"})
