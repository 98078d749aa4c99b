"""Ways out for those whom the machines of a class do not suffice for: a swap, a rest minute, or the second wave."""

from copy import copy
from dataclasses import dataclass, replace
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.models import Account
from athletes.words import dose_text
from sessions.by_hand.swap import next_rung
from sessions.by_hand.write import pin_set
from sessions.class_versions import class_moved
from sessions.floor.write import REST, SWAP
from sessions.models import Pin, PublishedSession, Target
from sessions.places.deal import Floor, Person, Place
from sessions.places.read import Roll, roll_of
from sessions.places.write import MOST_WAVES, class_lock, place_give, start_set
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of

WAVE = "wave"
MOST_OFFERS = 3  # at a time: what is done for one changes what can be done for the next
REASONS = {SWAP: "swapped: too few machines", REST: "rest minute: too few machines"}


@dataclass(frozen=True)
class Offer:
    """One athlete who has no place. `short`: where machines are missing if they begin at the station `group`, from 0,
    in words; `swap`: what they would do there instead, empty where nothing frees a machine.
    """

    athlete: int
    name: str
    group: int
    short: tuple[str, ...]
    swap: str


@dataclass(frozen=True)
class Way:
    """How one athlete fits: from a place, with other targets at the stations where machines are short."""

    place: Place
    short: tuple[int, ...]
    swaps: dict[int, tuple[int, float, float | None]]


def offers_of(session: PublishedSession, hour: str) -> tuple[list[Offer], int, list[str]]:
    """What can be done for the first of those who wait, how many wait, and the machines that are asked for twice since
    somebody's movement changed. A few queries for each of those; nothing of a day that is over.
    """
    if session.date < today() or not session.definition.on_the_clock:
        return [], 0, []
    roll = roll_of(session, hour)
    waiting = roll.waiting()
    crowded = roll.crowded()
    machines = [option.movement.machine for option in session.definition.options if option.movement.machine]
    names = sorted({machine.name for machine in machines if machine.id in crowded})
    offers = []
    for seat in waiting[:MOST_OFFERS]:
        way = _way_out(session, roll, seat.line.athlete)
        stations = session.definition.stations
        short = tuple(_short_words(roll, station) for station in way.short)
        swap = ", ".join(_swap_words(stations[s].options, *way.swaps[s]) for s in way.short if s in way.swaps)
        whole = len(way.swaps) == len(way.short)
        offers.append(Offer(seat.line.athlete, seat.line.name, way.place.group, short, swap if whole else ""))
    return offers, len(waiting), names


@transaction.atomic
def offer_take(*, session: PublishedSession, hour: str, athlete_id: int, act: str, key: UUID, by: Account) -> None:
    """Do what was offered: their swap or a rest minute where machines are short, and then a place; or the second wave.

    The same key again changes nothing. ValidationError, in words for staff, where it can no longer be done.
    """
    if session.date < today():
        raise ValidationError("This day is over.")
    class_lock(session)
    roll = roll_of(session, hour)
    if athlete_id in roll.starts:
        return
    if all(seat.line.athlete != athlete_id for seat in roll.waiting()):
        raise ValidationError("They do not wait for a place any more. Look again.")
    way = _way_out(session, roll, athlete_id)
    if act == WAVE:
        second = roll.floor(MOST_WAVES)
        groups = [place.group for place in second.free() if second.fits(roll.people[athlete_id], place)]
        if not groups:
            raise ValidationError("The second wave is full as well. Give them a swap or a rest minute.")
        start_set(session=session, athlete_id=athlete_id, hour=hour, group=groups[0], wave=MOST_WAVES)
        return
    if act == SWAP and len(way.swaps) < len(way.short):
        raise ValidationError("No swap of this station frees a machine. Give a rest minute, or a second wave.")
    for station in way.short:
        rung, dose, load_kg = way.swaps[station] if act == SWAP else (-1, 0.0, None)
        written = session.definition.stations[station]
        pin = Pin(
            key=uuid5(key, str(station)),
            session_key=session.key,
            athlete_id=athlete_id,
            station=station + 1,
            movement_id=written.options[rung].movement.id if rung >= 0 else None,
            dose=dose,
            load_kg=load_kg,
            reason=REASONS[act],
            made_by=by,
        )
        pin_set(pin=pin, station=written)
    place_give(session, athlete_id, hour)
    class_moved(session)


def _way_out(session: PublishedSession, roll: Roll, athlete_id: int) -> Way:
    """From where the fewest machines are missing, in a small group, and the swaps that free them."""
    person, floor = roll.people[athlete_id], roll.floor_without(athlete_id)
    place = min(floor.free(), key=lambda place: len(floor.short(person, place)))
    short = tuple(floor.short(person, place))
    targets = list(Target.objects.filter(session=session, athlete_id=athlete_id).order_by("station"))
    people = load_people([athlete_id])
    history = load_history(people.athletes)
    ((_, occasion),) = occasions_of(session.publication, [session])
    swaps = {}
    for station in short:
        found = _freeing(session, floor, person, place, station, targets, people, history, occasion)
        if found:
            swaps[station] = found
    return Way(place, short, swaps)


def _freeing(
    session: PublishedSession, floor: Floor, person: Person, place: Place, station: int, targets: list[Target], *known
) -> tuple[int, float, float | None] | None:
    """The first rung below at a station, from 0, for which a machine is free or none is needed."""
    definition, tried = session.definition, list(targets)
    while True:
        rung, dose, load_kg = next_rung(definition, tried, station + 1, *known)
        if rung < 0:
            return None
        machine = definition.stations[station].options[rung].movement.machine
        needs = (*person.needs[:station], machine.id if machine else None, *person.needs[station + 1 :])
        if station not in floor.short(replace(person, needs=needs), place):
            return rung, dose, load_kg
        lower = copy(next(target for target in tried if target.station == station + 1))
        lower.rung, lower.dose, lower.load_kg = rung, dose, load_kg
        tried = [lower if target.station == station + 1 else target for target in tried]


def _short_words(roll: Roll, station: int) -> str:
    movement = roll.definition.stations[station].prescribed.movement
    machines = roll.room.machines.get(movement.machine.id, 0) if movement.machine else 0
    return f"{movement.name}: {machines} machine{'' if machines == 1 else 's'}"


def _swap_words(ladder: tuple, rung: int, dose: float, load_kg: float | None) -> str:
    option = ladder[rung]
    return f"{dose_text(option.dose_kind, dose, load_kg)} {option.movement.name}"
