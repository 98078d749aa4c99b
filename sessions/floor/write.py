"""Changes of one athlete's dose on a floor sheet."""

from dataclasses import dataclass, replace
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import Account
from sessions.by_hand.swap import AT_REST, EASIER, HARDER, next_rung, stepped
from sessions.by_hand.write import pin_set, pin_take_off, pins_take_off
from sessions.models import Pin, PublishedSession, Target
from sessions.targets.detail import detail_of
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of, standing_pins

SWAP, REST, UNDO, BACK, ALL_EASIER = "swap", "rest", "undo", "back", "all-easier"
REASONS = {
    EASIER: "easier on the floor",
    HARDER: "harder on the floor",
    SWAP: "swapped on the floor",
    REST: "rests, said on the floor",
}


@dataclass(frozen=True)
class Tap:
    """One change of one athlete's dose at one station; `basis` is the (rung, dose, load) that was in view.

    `key` is made by the client. UNDO takes off the pin with the key `pin`, for what stood there without any; BACK takes
    back that one tap, for what stood there before it.
    """

    key: UUID
    athlete_id: int
    station: int
    act: str
    basis: tuple[int, float, float | None]
    pin: UUID | None = None


@transaction.atomic
def dose_change(*, session: PublishedSession, tap: Tap, by: Account) -> None:
    """Make one athlete's dose in a live session easier or harder, swap it, make it rest, or undo what was set by hand.

    The same tap again changes nothing. ValidationError, in words for the coach, when somebody else changed the dose
    meanwhile, or when there is no such change.
    """
    athlete_lock(tap.athlete_id)
    targets = list(Target.objects.filter(session=session, athlete_id=tap.athlete_id).order_by("station"))
    target = next((target for target in targets if target.station == tap.station), None)
    if target is None:
        raise ValidationError("This athlete has no target at that station any more. Reload the page.")
    if session.date < today():
        raise ValidationError("This day is over: its doses stay as they were.")
    if tap.act == UNDO:
        _undo(session, target, tap, by)
    elif tap.act == BACK:
        _back(session, target, tap, by)
    elif tap.act == ALL_EASIER:
        _all_easier(session, targets, tap, by)
    elif not Pin.objects.filter(key=tap.key, athlete_id=tap.athlete_id, session_key=session.key).exists():
        _refuse_stale(session, target, tap)
        station = session.definition.stations[tap.station - 1]
        pin_set(pin=_pin(session, targets, target, tap, by), station=station)


def _all_easier(session: PublishedSession, targets: list[Target], tap: Tap, by: Account) -> None:
    """A step easier everywhere that goes easier; every station can be undone by itself."""
    for target in targets:
        key = uuid5(tap.key, str(target.station))
        if target.rung < 0 or Pin.objects.filter(key=key).exists():
            continue
        station = session.definition.stations[target.station - 1]
        if stepped(station.options[target.rung], target.dose, EASIER) != target.dose:
            own = replace(tap, key=key, station=target.station, act=EASIER)
            pin_set(pin=_pin(session, targets, target, own, by), station=station)


def _undo(session: PublishedSession, target: Target, tap: Tap, by: Account) -> None:
    pin = Pin.objects.filter(
        key=tap.pin, session_key=session.key, athlete_id=tap.athlete_id, station=tap.station
    ).first()
    standing = standing_pins([session.key], [tap.athlete_id]).filter(station=tap.station).first()
    if pin is None or (standing and standing != pin):
        raise ValidationError(_changed(target, standing))
    if standing and detail_of(target).before is None:
        raise ValidationError("This was set by hand before the week was published. Set the exact dose by hand instead.")
    pin_take_off(pin=pin, by=by)


def _back(session: PublishedSession, target: Target, tap: Tap, by: Account) -> None:
    mine = {"session_key": session.key, "athlete_id": tap.athlete_id, "station": tap.station}
    pin = Pin.objects.filter(key=tap.pin, **mine).first()
    if pin is None or Pin.objects.filter(replaces=pin).exists():
        raise ValidationError(_changed(target, standing_pins([session.key], [tap.athlete_id]).filter(**mine).first()))
    pins_take_off(pins=[pin], by=by, undo=True)


def _refuse_stale(session: PublishedSession, target: Target, tap: Tap) -> None:
    if (target.rung, target.dose, target.load_kg) != tuple(tap.basis):
        pin = standing_pins([session.key], [tap.athlete_id]).filter(station=tap.station).first()
        raise ValidationError(_changed(target, pin))


def _changed(target: Target, pin: Pin | None) -> str:
    by, why = (f"{pin.made_by or 'Somebody'} changed", f" ({pin.reason})") if pin else ("Something changed", "")
    return f"{by} this dose meanwhile{why}. Your tap was not used: look at the new dose, then tap again."


def _pin(session: PublishedSession, targets: list[Target], target: Target, tap: Tap, by: Account) -> Pin:
    ladder = session.definition.stations[target.station - 1].options
    if target.rung < 0:
        raise ValidationError("This is rest already. To give work instead, set the exact dose by hand.")
    rung, dose, load_kg = target.rung, target.dose, target.load_kg
    if tap.act == SWAP:
        rung, dose, load_kg = _below(session, targets, tap)
    elif tap.act == REST:
        rung, dose, load_kg = AT_REST
    else:
        dose = stepped(ladder[rung], target.dose, tap.act)
    if (rung, dose) == (target.rung, target.dose):
        raise ValidationError(f"The dose does not go any {tap.act} here. Swap it, or set the exact dose by hand.")
    return Pin(
        key=tap.key,
        session_key=session.key,
        athlete_id=tap.athlete_id,
        station=tap.station,
        movement_id=ladder[rung].movement.id if rung >= 0 else None,
        dose=dose,
        load_kg=load_kg,
        reason=REASONS[tap.act],
        made_by=by,
    )


def _below(session: PublishedSession, targets: list[Target], tap: Tap) -> tuple[int, float, float | None]:
    people = load_people([tap.athlete_id])
    ((_, occasion),) = occasions_of(session.publication, [session])
    return next_rung(session.definition, targets, tap.station, people, load_history(people.athletes), occasion)
