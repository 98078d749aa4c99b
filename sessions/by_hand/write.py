from functools import partial

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import Account
from athletes.sending import send
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
    _refuse_misfit(pin, station)
    try:
        return _set(pin)
    except IntegrityError:  # the same pin in the same moment came first
        kept = Pin.objects.filter(key=pin.key).first()
        if kept is None:
            raise
        return _same(kept, pin)


@transaction.atomic
def pin_take_off(*, pin: Pin, by: Account | None) -> Pin:
    """Let the method decide again; the row stays, with who and why. Taking off twice changes nothing."""
    athlete_lock(pin.athlete_id)
    if Pin.objects.filter(pk=pin.pk, taken_off_at__isnull=True).update(taken_off_at=timezone.now(), taken_off_by=by):
        _show(pin)
    pin.refresh_from_db()
    return pin


@transaction.atomic
def _set(pin: Pin) -> Pin:
    athlete_lock(pin.athlete_id)
    if kept := Pin.objects.filter(key=pin.key).first():
        return _same(kept, pin)
    pin.full_clean(exclude=["made_by", "taken_off_by", "movement"], validate_constraints=False)
    before = standing_pins([pin.session_key], [pin.athlete_id]).filter(station=pin.station)
    Pin.objects.filter(pk__in=before).update(taken_off_at=timezone.now(), taken_off_by=pin.made_by)
    pin.save(force_insert=True)
    _show(pin)
    return pin


def _show(pin: Pin) -> None:
    """In a live session whose day is not over: the athlete's page now, the wall by the worker."""
    session = live_session(pin.session_key, today())
    if session is not None:
        apply_pins(session, pin.athlete_id)
        transaction.on_commit(partial(send, "sessions.redraw_wall", session.pk))
    transaction.on_commit(partial(_follow, pin, session and session.pk))


def _follow(pin: Pin, shown: int | None) -> None:
    """Where another revision went live while this was being written, it did not know of the pin: show it there too."""
    session = live_session(pin.session_key, today())
    if session is not None and session.pk != shown:
        apply_pins(session, pin.athlete_id)
        send("sessions.redraw_wall", session.pk)


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
