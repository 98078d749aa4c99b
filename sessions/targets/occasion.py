"""A circuit on a day: what holds for everyone there, and what was set by hand."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from athletes.estimates.people import Restriction
from sessions.circuits.definition import Station
from sessions.models import Pin
from sessions.targets.settings import NO_SETTINGS, Settings


@dataclass(frozen=True, eq=False)
class Occasion:
    """`intent` is the factor of the day on the prescription, `caution` the probability with which a target lies within
    reach; `pins` are targets set by hand, by (athlete id, station from 1).
    """

    day: date
    intent: float
    caution: float
    pins: dict[tuple[int, int], Pin] = field(default_factory=dict)
    settings: Settings = NO_SETTINGS


def pins_by_session(pins: Iterable[Pin]) -> dict[UUID, dict[tuple[int, int], Pin]]:
    """Pins as an `Occasion` takes them, by the key of their session; nothing for a session without any."""
    by_session = defaultdict(dict)
    for pin in pins:
        by_session[pin.session_key][pin.athlete_id, pin.station] = pin
    return by_session


def pinned_rung(station: Station, pin: Pin) -> int | None:
    """The rung of a station (of a definition) that a pin means, −1 for rest; None where it does not fit any more.

    Of several rungs with the same movement the one with the pin's load, and otherwise the first.
    """
    if pin.movement_id is None:
        return -1
    same = [r for r, option in enumerate(station.options) if option.movement.id == pin.movement_id]
    return next((r for r in same if station.options[r].load_kg == pin.load_kg), same[0] if same else None)


def allowed_rung(station: Station, pin: Pin, restrictions: Iterable[Restriction], day: date) -> int | None:
    """`pinned_rung`, and None where a limitation that was entered after the pin forbids the movement on that day.

    Who sets a target by hand knows what is entered by then, and nothing of what comes later.
    """
    rung = pinned_rung(station, pin)
    if rung is None or rung < 0 or pin.made_at is None:
        return rung
    movement = station.options[rung].movement
    later = (r for r in restrictions if r.entered_at > pin.made_at)
    return None if any(r.forbids(day, movement.id, movement.involvement) for r in later) else rung
