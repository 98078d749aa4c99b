from collections.abc import Sequence
from functools import partial
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.gym.read import today
from athletes.locks import athletes_lock
from athletes.models import Account
from athletes.words import number
from sessions.by_hand.live import apply_pins
from sessions.by_hand.read import live_session
from sessions.by_hand.swap import MOST_TIMES
from sessions.circuits.definition import Station
from sessions.models import Pin
from sessions.targets.occasion import pinned_rung
from sessions.weeks.days import standing_pins

CONTENT = ("session_key", "athlete_id", "station", "movement_id", "dose", "load_kg", "reason")


def pin_set(*, pin: Pin, station: Station) -> Pin:
    """Set a target by hand in place of what stood there; the same key again gives the pin that is kept.

    `station` is that of the session's definition. Where the session is live the athlete sees it at once.
    ValidationError, in words for the coach, for a dose that does not fit the station, or a key used for another pin.
    """
    return pins_set(pins=[pin], station=station)[0]


def pins_set(*, pins: Sequence[Pin], station: Station) -> list[Pin]:
    """The same for several athletes at one station of one session: all of them, or none."""
    for pin in pins:
        _refuse_misfit(pin, station)
    try:
        return _set(pins)
    except IntegrityError:  # the same pins in the same moment came first
        kept = _kept(pins)
        if len(kept) < len(pins):
            raise
        return [_same(kept[pin.key], pin) for pin in pins]


def pin_take_off(*, pin: Pin, by: Account | None) -> Pin:
    """Let the method decide again; the row stays, with who and why. Taking off twice changes nothing."""
    pins_take_off(pins=[pin], by=by)
    pin.refresh_from_db()
    return pin


@transaction.atomic
def pins_take_off(*, pins: Sequence[Pin], by: Account | None, undo: bool = False) -> int:
    """The same for several pins; how many stood. To `undo` them is to let stand again what each had replaced."""
    athletes_lock({pin.athlete_id for pin in pins})
    standing = list(Pin.objects.standing().filter(pk__in=[pin.pk for pin in pins]))
    Pin.objects.filter(pk__in=[pin.pk for pin in standing]).update(taken_off_at=timezone.now(), taken_off_by=by)
    if undo:
        before = Pin.objects.filter(pk__in=[pin.replaces_id for pin in standing if pin.replaces_id])
        before.update(taken_off_at=None, taken_off_by=None)
    for key in {pin.session_key for pin in standing}:
        _show(key, [pin.athlete_id for pin in standing if pin.session_key == key])
    return len(standing)


@transaction.atomic
def _set(pins: Sequence[Pin]) -> list[Pin]:
    athletes_lock([pin.athlete_id for pin in pins])
    kept = _kept(pins)
    fresh = [pin for pin in pins if pin.key not in kept]
    for pin in fresh:
        pin.clean_fields(exclude=["athlete", "made_by", "taken_off_by", "movement", "replaces"])
    if fresh:
        key, station = fresh[0].session_key, fresh[0].station
        athletes = [pin.athlete_id for pin in fresh]
        before = {pin.athlete_id: pin for pin in standing_pins([key], athletes).filter(station=station)}
        replaced = Pin.objects.filter(pk__in=[pin.pk for pin in before.values()])
        replaced.update(taken_off_at=timezone.now(), taken_off_by=fresh[0].made_by)
        for pin in fresh:
            pin.replaces = before.get(pin.athlete_id)
        Pin.objects.bulk_create(fresh)
        _show(key, athletes)
    return [_same(kept[pin.key], pin) if pin.key in kept else pin for pin in pins]


def _kept(pins: Sequence[Pin]) -> dict[UUID, Pin]:
    return {pin.key: pin for pin in Pin.objects.filter(key__in=[pin.key for pin in pins])}


def _show(key: UUID, athletes: list[int]) -> None:
    """In a live session whose day is not over it shows at once."""
    session = live_session(key, today())
    if session is not None:
        apply_pins(session, athletes)
    transaction.on_commit(partial(_follow, key, athletes, session and session.pk))


def _follow(key: UUID, athletes: list[int], shown: int | None) -> None:
    """Where another revision went live while this was being written, it did not know of the pins: show them there."""
    session = live_session(key, today())
    if session is not None and session.pk != shown:
        apply_pins(session, athletes)


def _refuse_misfit(pin: Pin, station: Station) -> None:
    rung = pinned_rung(station, pin)
    if rung is None:
        raise ValidationError({"movement": "This station does not offer that movement. Choose one of its list."})
    if rung < 0:
        return
    option = station.options[rung]
    if not 0 < pin.dose <= MOST_TIMES * option.dose:
        most = number(MOST_TIMES * option.dose, 0)
        raise ValidationError({"dose": f"Give a dose above zero and up to {most}, three times what is written."})
    if not option.loaded:
        pin.load_kg = None
    elif not pin.load_kg:
        raise ValidationError({"load_kg": "Say which load."})
    elif option.load_kg and pin.load_kg > MOST_TIMES * option.load_kg:
        raise ValidationError({"load_kg": "That is more than three times what is written. Check the load."})


def _same(kept: Pin, sent: Pin) -> Pin:
    if any(getattr(kept, name) != getattr(sent, name) for name in CONTENT):
        raise ValidationError("This page was already used to set another target. Reload it and set this one.")
    return kept
