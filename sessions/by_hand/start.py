"""What the form of a target set by hand begins with: what the athlete would do today without it."""

from datetime import date
from uuid import UUID

from athletes.estimates.people import load_people
from athletes.models import Athlete, Gym
from sessions.by_hand.read import live_session
from sessions.circuits.definition import Definition
from sessions.models import PlannedSession, Target
from sessions.room.preview import preview_targets
from sessions.weeks.read import day_of, intent_factors


def standing_target(
    key: UUID, athlete: Athlete, station: int, *, definition: Definition, gym: Gym, day: date
) -> Target | None:
    """The athlete's target at a station: as everyone sees it, or as a draft would have it; None where there is none."""
    if session := live_session(key, day):
        return Target.objects.filter(session=session, athlete=athlete, station=station).first()
    planned = PlannedSession.objects.select_related("week").get(key=key)
    intent = day_of(planned, gym)["intent_factor"] or intent_factors(gym)["easy"]
    people = load_people([athlete.pk])
    try:
        found = preview_targets(definition, people, gym=gym, day=planned.date, intent=intent, key=key)
    except ValueError:  # a circuit that cannot be scaled yet
        return None
    return next((target for target in found[athlete.pk] if target.station == station), None)
