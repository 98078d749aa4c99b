"""The week as it is written: what publishing it now would make of it, without keeping anything."""

from datetime import date

from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.models import Athlete, Gym
from sessions.models import Publication, PublishedSession, Target, Week
from sessions.publishing.sides import Side, days_of
from sessions.publishing.write import past_sessions, sessions_to_freeze
from sessions.targets.compute import compute, target_of
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of
from sessions.weeks.read import content_of


class CannotScale(Exception):
    """A circuit of the week cannot be turned into targets; the message says which, why, and what to do."""


MEND = "Mend the circuit, then publish again. What was published before stays."


def draft_side(week: Week, gym: Gym, live: Side | None, day: date | None = None) -> Side:
    """The side that publishing `week` now would give; `day` (today): sessions before it stay as people see them.

    Raises CannotScale. The number of queries does not grow with athletes.
    """
    day = day or today()
    content = content_of(week, gym)
    publication = Publication(week=week, content=content)
    past = past_sessions(week, day) if week.pk else []
    over = {(session["key"], session["date"]) for session in past}
    kept = tuple(d for d in (live.days if live else ()) if (d.key, d.date) in over)
    rows = sessions_to_freeze(publication, content, past)
    coming = [session for session in rows if session.kept_from_id is None]
    targets = list(draft_targets(publication, coming)) if coming else []
    return Side((*kept, *days_of(publication, coming, targets)), None)


def draft_targets(publication: Publication, sessions: list[PublishedSession]) -> list[Target]:
    """Targets of every active athlete in sessions that are not kept."""
    movements = {movement for session in sessions for movement in session.definition.movements}
    athletes = list(Athlete.objects.filter(active=True).order_by("pk").values_list("pk", flat=True))
    people = load_people(athletes, movements)
    history = load_history(people.athletes, known_on(sessions))
    found = []
    for session, occasion in occasions_of(publication, sessions):
        try:
            rows = list(compute(session.definition, people, history, occasion))
        except ValueError as error:
            raise CannotScale(f"{session.definition.name}: {error} {MEND}") from error
        for row in rows:
            target = target_of(row)
            target.session = session
            found.append(target)
    return found


def known_on(sessions: list[PublishedSession]) -> date:
    """A week that is published late rests on what was known before it, not on what followed."""
    return min([today(), *(session.date for session in sessions)])
