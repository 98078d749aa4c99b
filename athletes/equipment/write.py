from datetime import date, datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from athletes.capacity.air import pressure_isa
from athletes.equipment.read import density_for
from athletes.gym.read import gym, today
from athletes.models import Account, AirReading, LeverReading, Machine, MachineType, Movement, Rack
from athletes.once import insert_once, kept_before
from athletes.signals import room_changed
from athletes.words import number


@transaction.atomic
def machine_add(*, type: MachineType, number: int) -> Machine:
    """The next machine of a type, by the number that was offered: the same number again changes nothing.

    Numbers are painted on machines, so none is given twice and none is left out.
    """
    MachineType.objects.select_for_update().get(pk=type.pk)
    machine, is_new = type.machines.get_or_create(number=min(number, next_number(type)))
    if is_new:
        room_changed.send(Machine)
    return machine


def next_number(type: MachineType) -> int:
    return (type.machines.aggregate(last=Max("number"))["last"] or 0) + 1


@transaction.atomic
def machine_move(*, machine: Machine, active: bool) -> Machine:
    """Put a machine on the floor or take it off, for instance to be mended."""
    machine.active = active
    machine.save(update_fields=["active"])
    room_changed.send(Machine)
    return machine


FIRST_DAY = date(2000, 1, 1)  # no reading is older
CONTENT = ("machine_id", "lever", "drag", "taken_on")


def lever_reading_add(
    *, machine: Machine, lever: float, drag: float, taken_on: date, by: Account | None, key: UUID
) -> LeverReading:
    """Keep the drag factor that a machine showed at a lever, with the density of that day's air.

    The density is what the air is taken to be on that day, so that a reading of today shows today what was read. The
    same again under the same `key` returns the reading that is kept. Raises ValidationError, by field.
    """
    reading = LeverReading(machine=machine, lever=lever, drag=drag, taken_on=taken_on, entered_by=by, key=key)
    if kept := kept_before(reading, CONTENT):
        return kept
    if taken_on > today():
        raise ValidationError({"taken_on": "This day has not come yet. Give the day of the reading."})
    if taken_on < FIRST_DAY:
        raise ValidationError({"taken_on": "That is long ago. Give the day of the reading."})
    most = machine.type.lever_most
    if not 1 <= lever <= (most or 0):
        raise ValidationError({"lever": _no_such_lever(machine, most)})
    reading.density, _ = density_for(taken_on)
    return insert_once(reading, CONTENT)


def lever_reading_remove(*, reading: LeverReading) -> None:
    """Take a wrong reading out for good: nothing but advice rests on it."""
    reading.delete()


def _no_such_lever(machine: Machine, most: float | None) -> str:
    if most is None:
        return f"{machine.type} has no lever. An owner can say how far it runs."
    return f"The lever runs from 1 to {number(most)} here. Give the number that it points at."


@transaction.atomic
def rack_remove(*, rack: Rack) -> list[str]:
    """Remove loads that the gym no longer owns; the names of the movements that went by them, now in steps again."""
    movements = list(Movement.objects.filter(rack=rack).values_list("name", flat=True))
    rack.delete()
    return movements


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
