"""Step 4: circuits of the starter library on days of the first week."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from math import ceil
from uuid import UUID, uuid5

from django.db import transaction

from athletes.models import Account, Athlete, Gym
from sessions.circuits.starter import Offer, offers, starter_circuit_add
from sessions.models import PlannedSession
from sessions.weeks.read import monday_of
from sessions.weeks.write import session_plan, week_ensure

PROPOSED = 3  # sessions of a first week: with a day between them (common practice)
LAST_TO_BEGIN = 2  # Wednesday: from Thursday on a first week is the next one
FIRST_DAYS = (0, 2, 4)


@dataclass(frozen=True)
class Choice:
    """A circuit to tick, the day proposed for it, and what is to be said about people and machines."""

    offer: Offer
    ticked: bool
    day: date
    short: str


def days_to_plan(day: date) -> list[date]:
    """From tomorrow to the end of next week."""
    last = monday_of(day) + timedelta(days=13)
    return [day + timedelta(days=n) for n in range(1, (last - day).days + 1)]


def proposed_days(day: date) -> list[date]:
    """Every other day of one week, because a week is published as a whole."""
    if day.weekday() <= LAST_TO_BEGIN:
        ends = monday_of(day) + timedelta(days=6)
        return [d for n in range(1, 7, 2) if (d := day + timedelta(days=n)) <= ends]
    return [monday_of(day) + timedelta(days=7 + weekday) for weekday in FIRST_DAYS]


def choices(gym: Gym, day: date) -> list[Choice]:
    """The ten circuits, those that are proposed ticked and on days of their own. Queries do not grow with athletes."""
    found, free = offers(), proposed_days(day)
    fitting = sorted((o for o in found if o.fits), key=lambda o: not o.circuit.first)[: min(PROPOSED, len(free))]
    ticked = dict(zip((o.circuit.slug for o in found if o in fitting), free, strict=False))
    spare = _between(free, day)
    people = Athlete.objects.filter(active=True).count()
    class_size = ceil(people / max(len(gym.class_times), 1))
    made = []
    for place, offer in enumerate(found):
        slug = offer.circuit.slug
        on = ticked.get(slug, spare[place % len(spare)])
        made.append(Choice(offer=offer, ticked=slug in ticked, day=on, short=_short(offer, class_size)))
    return made


def _between(proposed: list[date], day: date) -> list[date]:
    """The other working days of the week of the proposed ones: for who ticks more."""
    monday = monday_of(proposed[0])
    others = [monday + timedelta(days=n) for n in range(6)]
    return [d for d in others if d > day and d not in proposed] or proposed


def _short(offer: Offer, class_size: int) -> str:
    if offer.most is None or offer.most >= class_size:
        return ""
    return f"machines for {offer.most} at a time; about {class_size} come to a class"


@transaction.atomic
def sessions_begin(*, wanted: dict[str, date], hours: list[time], by: Account, key: UUID) -> list[PlannedSession]:
    """Put circuits, by their slugs, on their days. The same again under the same `key` plans nothing twice."""
    planned = []
    for offer in offers():
        day = wanted.get(offer.circuit.slug)
        if day is None or not offer.fits:
            continue
        own_key = uuid5(key, offer.circuit.slug)
        if PlannedSession.objects.filter(key=own_key).exists():
            continue
        circuit = starter_circuit_add(offer=offer, by=by)
        session = PlannedSession(
            key=own_key,
            week=week_ensure(monday_of(day)),
            weekday=day.weekday(),
            circuit=circuit,
            intent=offer.circuit.intent,
        )
        planned.append(session_plan(planned=session, hours=hours))
    return planned
