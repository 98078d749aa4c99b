"""Logs that staff keep for athletes."""

from datetime import UTC, datetime
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.gym.read import today
from athletes.models import Account, Athlete
from sessions.clock.moment import rounds_made as made_by_clock
from sessions.clock.moment import shape_from
from sessions.clock.read import changes_of
from sessions.clock.write import now_ms
from sessions.floor.read import class_logs
from sessions.logs.read import session_to_log
from sessions.logs.write import MOST_ROUNDS, log_write, logs_take_back
from sessions.models import ClassRun, Log, PublishedSession, Start
from sessions.places.read import roll_of
from sessions.places.write import class_lock
from sessions.targets.detail import detail_of

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

    Who was there is who was marked, or, where nobody was, who had a place. It counts from the end of the class, so that
    what an athlete says of it afterwards, however late it arrives, stands above it. Left out are first times and those
    with a coach: what they did is not known here. ValidationError, in words for staff, for a class that there is not.
    """
    if hour not in (session.hours or [""]):
        raise ValidationError("There is no such class any more. Reload the page.")
    class_lock(session)  # two tablets do it one after the other
    own = session.targets.order_by().values_list("athlete_id", flat=True).distinct()
    keys = [uuid5(key, str(athlete)) for athlete in own]
    if undo:
        return logs_take_back(keys=keys)
    roll, runs = roll_of(session, hour), _runs_by_wave(session, hour)
    logged = set(class_logs(session.key, session.date))
    here = {
        seat.line.athlete: seat.wave
        for seat in roll.seats()
        if seat.place and seat.part and (seat.came_at == hour or not roll.called) and seat.line.athlete not in logged
    }
    for athlete in Athlete.objects.filter(pk__in=here):
        run = runs.get(here[athlete.pk])
        if runs and run is None:  # their wave has not begun
            continue
        rounds = _rounds_of(session, run) if run else session.definition.rotations
        entries = as_planned(session=session, athlete=athlete, rounds=rounds)
        if not entries:
            continue
        ended_ms = min(run.over_ms, at_ms) if run else at_ms
        done_at = datetime.fromtimestamp(ended_ms / 1000, UTC)
        content = {"key": uuid5(key, str(athlete.pk)), "rpe": None, "done_at": done_at, "entries": entries, **PLAIN}
        floor_log_write(session=session, athlete=athlete, content=content, by=by)
    return Log.objects.standing().filter(key__in=keys).count()


def _runs_by_wave(session: PublishedSession, hour: str) -> dict[int, ClassRun]:
    """The latest run of each wave of a class."""
    runs = ClassRun.objects.filter(session_key=session.class_key, date=session.date, hour=hour).order_by("starts_ms")
    return {run.wave: run for run in runs}


def _rounds_of(session: PublishedSession, run: ClassRun | None) -> int:
    """Whole rounds that a run made of a session's circuit; off the clock it needs none."""
    if run is None or not session.definition.on_the_clock:  # each at their own speed: everyone's own
        return MOST_ROUNDS
    made, _ = made_by_clock(shape_from(run.shape), run.starts_ms, changes_of(run.pk), now_ms(), session.place)
    return made


def as_planned(*, session: PublishedSession, athlete: Athlete, rounds: int) -> list[dict]:
    """Entries, as `log_write` takes them, of an athlete who did their dose at every station in every round of theirs.

    `rounds` are those that the class made. Nothing of a first time: they went by feel.
    """
    targets = list(session.targets.filter(athlete=athlete, rung__gte=0).order_by("station"))
    if targets and all(detail_of(target).untested and not detail_of(target).by_hand for target in targets):
        return []
    return [
        {
            "station": target.station,
            "rounds": rounds if target.rounds is None else min(rounds, target.rounds),
            "dose": target.dose,
            "load_kg": target.load_kg,
        }
        for target in targets
    ]


def rounds_made(session: PublishedSession, hour: str, athlete: Athlete) -> int:
    """Whole rounds that an athlete's wave made by its clock, once it is over; those of the circuit where none ran."""
    starts = Start.objects.filter(session_key=session.key, date=session.date, hour=hour, athlete=athlete)
    wave = starts.values_list("wave", flat=True).first() or 1
    run = _runs_by_wave(session, hour).get(wave)
    if run is None and session.definition.on_the_clock:
        return session.definition.rotations
    return _rounds_of(session, run)
