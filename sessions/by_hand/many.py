"""One target by hand for several athletes at one station: all of them, or none."""

from collections.abc import Iterable
from uuid import UUID, uuid5

from django.db import transaction

from athletes.models import Account, Athlete
from sessions.by_hand.forms import PinForm
from sessions.by_hand.write import pin_set, pin_take_off
from sessions.circuits.definition import Station
from sessions.models import Pin

MOST = 500  # athletes at once


@transaction.atomic
def pins_set(
    *, form: PinForm, session_key: UUID, athletes: Iterable[Athlete], station: Station, by: Account
) -> list[Pin]:
    """What a valid form says, for every one of these athletes; sending it twice sets each once.

    ValidationError where it does not fit the station: then nothing is set.
    """
    pins = []
    for athlete in athletes:
        pin = form.pin(session_key=session_key, athlete=athlete, station=station.position, by=by)
        pin.key = uuid5(pin.key, str(athlete.pk))
        pins.append(pin_set(pin=pin, station=station))
    return pins


@transaction.atomic
def pins_take_off(*, pins: Iterable[Pin], by: Account) -> None:
    """Let the method decide again for all of them."""
    for pin in pins:
        pin_take_off(pin=pin, by=by)
