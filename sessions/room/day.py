"""The day that a preview is for: the next session in which a circuit is planned, or any day."""

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from athletes.models import Gym
from sessions.circuits.definition import Definition
from sessions.circuits.forms import PLANNED
from sessions.models import Circuit, PlannedSession
from sessions.targets.occasion import Occasion
from sessions.weeks.days import occasion_of, occasion_on

A_WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Day:
    """What a circuit is previewed for; `planned` where it is the next session of it, and the `key` of what is set there
    by hand: the session's, or that of a part with a circuit of its own."""

    occasion: Occasion
    classes: int
    planned: PlannedSession | None = None
    key: UUID | None = None


def next_planned(circuit: Circuit | None, day: date) -> PlannedSession | None:
    """The next session in which a circuit is planned, from `day` on, with its week and class times."""
    if circuit is None:
        return None
    sessions = PlannedSession.objects.standing().filter(circuit=circuit, week__starts_on__gt=day - A_WEEK)
    coming = sessions.select_related("week").prefetch_related("hours").order_by("week__starts_on", "weekday")
    return next((session for session in coming if session.date >= day), None)


def day_for(circuit: Circuit | None, definition: Definition, *, gym: Gym, today: date, intent: str) -> Day:
    """The day of the next session where that is asked for and there is one; else a day of that intent, today."""
    planned = next_planned(circuit, today) if intent == PLANNED else None
    if planned:
        return day_of(planned, gym, definition, planned.key)
    return Day(occasion_on(today, gym, definition, intent), max(len(gym.class_times), 1))


def day_of(planned: PlannedSession, gym: Gym, definition: Definition, key: UUID) -> Day:
    """The day of a planned session, for its own circuit or for that of the part with this `key`."""
    return Day(occasion_of(planned, gym, definition, key), max(len(planned.hours.all()), 1), planned, key)
