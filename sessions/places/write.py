"""Places that are kept: of whoever is marked as here, of everyone when the clock starts, and by hand."""

from collections import Counter
from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.class_versions import class_moved
from sessions.models import Coming, PublishedSession, Start
from sessions.places.deal import Place, seat
from sessions.places.read import Roll, roll_of
from sessions.weeks.published import class_of, parts_with_circuits

MOST_WAVES = 2


def class_lock(session: PublishedSession) -> None:
    """One at a time changes who stands where in a class, whichever of its parts it was asked from."""
    PublishedSession.objects.select_for_update().get(pk=class_of(session).pk)


def place_give(session: PublishedSession, athlete_id: int, hour: str) -> None:
    """Keep a place for somebody who is marked as here, in every circuit of their class; nobody else moves.

    The one that the board gave them, unless another group is smaller by now. Nothing is kept where the machines do not
    suffice: they wait for a place, and get the first that becomes free. In the transaction that marks them.
    """
    for part in parts_with_circuits(session).values():
        found = roll_of(part, hour)
        _seat(part, found, athlete_id)


def place_free(session: PublishedSession, athlete_id: int, hour: str | None = None) -> None:
    """Give up somebody's places, at all class times but `hour` or, without one, at all; who waits comes next."""
    parts = parts_with_circuits(session)
    gone = Start.objects.filter(session_key__in=[p.key for p in parts.values()], date=session.date, athlete=athlete_id)
    if hour is not None:
        gone = gone.exclude(hour=hour)
    hours = set(gone.values_list("hour", flat=True))
    gone.delete()
    for part in parts.values():
        for freed in hours:
            _seat_waiting(part, freed)


def places_fix(session: PublishedSession, hour: str) -> None:
    """Keep the place of everyone who takes part, because the clock starts: from now on nobody moves."""
    for part in parts_with_circuits(session).values():
        seats = [seat for seat in roll_of(part, hour).seats() if seat.part and seat.place and not seat.fixed]
        rows = [_start(part, hour, seat.line.athlete, seat.place, seat.wave) for seat in seats if seat.place]
        Start.objects.bulk_create(rows, ignore_conflicts=True)


@transaction.atomic
def start_set(*, session: PublishedSession, athlete_id: int, hour: str, group: int, wave: int = 1) -> None:
    """Let somebody begin at a station, counted from 0, or in the second `wave` there; again changes nothing.

    ValidationError, in words for staff, where a machine is short there, or there is no such station.
    """
    if hour not in (session.hours or [""]) or session.date < today():
        raise ValidationError("There is no such class any more. Reload the page.")
    class_lock(session)
    found = roll_of(session, hour)
    person = found.people.get(athlete_id)
    if person is None:
        raise ValidationError("This athlete has no targets in this class. Add them to it first.")
    if not any(seat.part for seat in found.seats() if seat.line.athlete == athlete_id):
        raise ValidationError("Mark them as here first.")
    if not 0 <= group < found.room.stations or not 1 <= wave <= MOST_WAVES:
        raise ValidationError("This circuit has no such station. Reload the page.")
    old = found.starts.get(athlete_id)
    if old and (old.group, old.wave) == (group, wave):
        return
    floor = found.floor(wave)
    if old and old.wave == wave:
        floor.take(person)
    places = [free for free in floor.free() if free.group == group]
    place = next((free for free in places if floor.fits(person, free)), None)
    if place is None:
        raise ValidationError(_short_words(found, floor.short(person, places[0])))
    values = {"group": place.group, "pair": place.pair, "turn": place.turn, "wave": wave}
    which = {"session_key": session.key, "date": session.date, "hour": hour, "athlete_id": athlete_id}
    Start.objects.update_or_create(**which, defaults=values)
    _seat_waiting(session, hour)
    class_moved(session)


def _seat_waiting(session: PublishedSession, hour: str) -> None:
    """Keep places for those who are here and wait for one, as far as there are any by now."""
    found = roll_of(session, hour)
    for athlete in [waits.line.athlete for waits in found.waiting() if waits.came_at == hour]:
        _seat(session, found, athlete)


def _seat(session: PublishedSession, found: Roll, athlete_id: int) -> None:
    person = found.people.get(athlete_id)
    if person is None or athlete_id in found.starts:
        return
    place = seat(found.floor_without(athlete_id), person, found.dealt().get(athlete_id))
    if place is not None:
        row = _start(session, found.hour, athlete_id, place, found.wave)
        Start.objects.bulk_create([row], ignore_conflicts=True)
        found.starts[athlete_id] = row


def _start(session: PublishedSession, hour: str, athlete_id: int, place: Place, wave: int) -> Start:
    return Start(
        athlete_id=athlete_id,
        session_key=session.key,
        date=session.date,
        hour=hour,
        group=place.group,
        pair=place.pair,
        turn=place.turn,
        wave=wave,
    )


def _short_words(found: Roll, short: list[int]) -> str:
    names = Counter(found.definition.stations[s].prescribed.movement.name for s in short)
    where = ", ".join(names)
    return f"Too few machines: whoever begins there finds none free at {where}. Somebody there must move or swap first."


@transaction.atomic
def coming_choose(*, athlete: Athlete, key: UUID, day: date, hour: str) -> None:
    """Keep the class time of a session at which an athlete wants to come; the last choice counts.

    ValidationError, in words for the athlete, for a class that there is not, or a day that is over.
    """
    session = PublishedSession.objects.as_seen(key, day)
    if session is None or hour not in session.hours or not session.targets.filter(athlete=athlete).exists():
        raise ValidationError("There is no such class any more. Load the page again.")
    if day < today():
        raise ValidationError("This day is over.")
    kept = Coming.objects.filter(athlete=athlete, session_key=key, date=day).first()
    if kept and kept.hour == hour:
        return
    Coming.objects.update_or_create(athlete=athlete, session_key=key, date=day, defaults={"hour": hour})
    class_moved(session)
