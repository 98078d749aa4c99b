from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError

from athletes.formatting import number
from athletes.models import Account, LeverReading, Machine
from athletes.selectors.air import density_for
from athletes.selectors.gym import today
from athletes.services.once import insert_once, kept_before

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
