"""Logs that staff keep for athletes."""

from django.core.exceptions import ValidationError

from athletes.gym.read import today
from athletes.models import Account, Athlete
from sessions.clock.classes import class_of
from sessions.clock.moment import rounds_made as made_by_clock
from sessions.clock.moment import shape_from
from sessions.clock.read import changes_of, class_at
from sessions.clock.write import now_ms
from sessions.logs.read import session_to_log
from sessions.logs.write import MOST_ROUNDS, log_write
from sessions.models import Log, PublishedSession


def floor_log_write(*, session: PublishedSession, athlete: Athlete, content: dict, by: Account) -> Log:
    """Keep what staff log for an athlete: `content` as `log_write` takes it, with `done_at` as the page tells it.

    The same key again gives the log that is kept. ValidationError, in words for staff.
    """
    if session.date > today():
        raise ValidationError("This session is still to come. Log it from its day on.")
    answered = session_to_log(athlete, session.key, session.date)
    if answered is None:
        raise ValidationError("This athlete has no targets in this session. Add them to the class first.")
    return log_write(athlete=athlete, session=answered, content=content, source=Log.Source.FLOOR, by=by)


def as_planned(*, session: PublishedSession, athlete: Athlete, rounds: int) -> list[dict]:
    """Entries, as `log_write` takes them, of an athlete who did their dose at every station in every round of theirs.

    `rounds` are those that the class made.
    """
    targets = session.targets.filter(athlete=athlete, rung__gte=0).order_by("station")
    return [
        {
            "station": target.station,
            "rounds": rounds if target.rounds is None else min(rounds, target.rounds),
            "dose": target.dose,
            "load_kg": target.load_kg,
        }
        for target in targets
    ]


def rounds_made(session: PublishedSession, hour: str) -> int:
    """Whole rounds that a class made by its clock, once it is over; those of the circuit where no clock ran."""
    if not session.definition.on_the_clock:  # each at their own speed: everyone's own
        return MOST_ROUNDS
    running = class_at(class_of(session).pk, hour)
    if running is None:
        return session.definition.rotations
    rounds, _ = made_by_clock(
        shape_from(running.shape), running.starts_ms, changes_of(running.id), now_ms(), session.place
    )
    return rounds
