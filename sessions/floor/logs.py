"""Logs that staff keep for athletes."""

from datetime import UTC, datetime
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.gym.read import today
from athletes.models import Account, Athlete
from sessions.clock.moment import rounds_made as made_by_clock
from sessions.clock.moment import shape_from
from sessions.clock.read import changes_of, class_at, standing_run
from sessions.clock.write import now_ms
from sessions.floor.read import class_logs
from sessions.logs.read import session_to_log
from sessions.logs.write import MOST_ROUNDS, log_write, logs_take_back
from sessions.models import Log, PublishedSession
from sessions.places.read import roll_of
from sessions.weeks.published import class_of

PLAIN = {"pain": False, "stopped": False, "note": ""}


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


@transaction.atomic
def class_log_write(
    *, session: PublishedSession, hour: str, key: UUID, at_ms: int, by: Account, undo: bool = False
) -> int:
    """Log everyone who was in a class and has not logged as planned, without RPE; how many. The same key again logs
    nobody twice, and with `undo` takes those logs back.

    ValidationError, in words for staff, for a session that is still to come.
    """
    if undo:
        own = session.targets.order_by().values_list("athlete_id", flat=True).distinct()
        return logs_take_back(keys=[uuid5(key, str(athlete)) for athlete in own])
    done_at, rounds = datetime.fromtimestamp(at_ms / 1000, UTC), rounds_made(session, hour)
    logged = set(class_logs(session.key, session.date))
    run = standing_run(class_of(session), hour)
    seats = [seat for seat in roll_of(session, hour).seats() if seat.part and seat.wave <= (run.wave if run else 1)]
    here = [seat.line.athlete for seat in seats if seat.place and seat.line.athlete not in logged]
    count = 0
    for athlete in Athlete.objects.filter(pk__in=here):
        entries = as_planned(session=session, athlete=athlete, rounds=rounds)
        if not entries:  # what a coach does with them is not known here
            continue
        count += 1
        content = {"key": uuid5(key, str(athlete.pk)), "rpe": None, "done_at": done_at, "entries": entries, **PLAIN}
        floor_log_write(session=session, athlete=athlete, content=content, by=by)
    return count


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
    running = class_at(class_of(session).pk, hour).running
    if running is None:
        return session.definition.rotations
    rounds, _ = made_by_clock(
        shape_from(running.shape), running.starts_ms, changes_of(running.id), now_ms(), session.place
    )
    return rounds
