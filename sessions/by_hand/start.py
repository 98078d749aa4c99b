"""What the form of a target set by hand begins with: what the athlete would do today without it."""

from datetime import date
from uuid import UUID

from athletes.estimates.people import load_people
from athletes.models import Athlete, Gym
from sessions.by_hand.read import live_session, planned_with
from sessions.circuits.definition import Definition
from sessions.models import Target
from sessions.targets.compute import compute, target_of
from sessions.targets.history import load_history
from sessions.weeks.days import occasion_of


def standing_target(
    key: UUID, athlete: Athlete, station: int, *, definition: Definition, gym: Gym, day: date
) -> Target | None:
    """The athlete's target at a station: as everyone sees it, or as a draft would have it; None where there is none."""
    if session := live_session(key, day):
        return Target.objects.filter(session=session, athlete=athlete, station=station).first()
    planned, _ = planned_with(key)
    people = load_people([athlete.pk])
    occasion = occasion_of(planned, gym, definition, key)
    try:
        found = list(compute(definition, people, load_history(people.athletes), occasion))
    except ValueError:  # a circuit that cannot be scaled yet
        return None
    here = next((one for one in found if one.station == station), None)
    return here and target_of(here)
