"""One target by hand for several athletes at one station: all of them, or none."""

from collections.abc import Iterable
from uuid import UUID, uuid5

from athletes.models import Account, Athlete
from sessions.by_hand.forms import PinForm
from sessions.by_hand.write import pins_set
from sessions.circuits.definition import Station
from sessions.models import Pin

MOST = 500  # athletes at once


def pins_set_alike(
    *, form: PinForm, session_key: UUID, athletes: Iterable[Athlete], station: Station, by: Account
) -> list[Pin]:
    """What a valid form says, for every one of these athletes; sending it twice sets each once.

    ValidationError where it does not fit the station: then nothing is set.
    """
    pins = []
    for athlete in athletes:
        pin = form.pin(session_key=session_key, athlete=athlete, station=station.position, by=by)
        pin.key = uuid5(pin.key, str(athlete.pk))
        pins.append(pin)
    return pins_set(pins=pins, station=station)
