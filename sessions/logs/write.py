from functools import partial

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Evidence
from athletes.sending import send
from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.models import Log, LogEntry, PublishedSession, Target

MOST_TIMES = 3.0  # what was asked or written: beyond it a logged number is taken for a slip (ours)
CONTENT = ("athlete_id", "session_key", "date", "rpe", "pain", "stopped", "note")


def log_record(*, log: Log, entries: list[LogEntry]) -> Log:
    """Keep what an athlete says of a session; the same key again, at once or later, gives the log that is kept.

    Several logs of one session are all kept, in whatever order they arrive; the one made last by its own clock
    counts. ValidationError when the key belongs to another log, or the log does not fit its session.
    """
    try:
        return _record(log, entries)
    except IntegrityError:  # the same log in the same moment came first
        kept = Log.objects.filter(key=log.key).first()
        if kept is None:
            raise
        return _same(kept, log)


def flag_seen(*, log: Log, by: Account) -> Log:
    """Staff have seen that somebody had pain or stopped; the first who did is kept."""
    Log.objects.filter(pk=log.pk, seen_at__isnull=True).update(seen_at=timezone.now(), seen_by=by)
    log.refresh_from_db()
    return log


@transaction.atomic
def _record(log: Log, entries: list[LogEntry]) -> Log:
    athlete_lock(log.athlete_id)
    if kept := Log.objects.filter(key=log.key).first():
        return _same(kept, log)
    log.full_clean(exclude=["key", "entered_by", "seen_by", "session"], validate_constraints=False)
    standing = Log.objects.filter(
        athlete_id=log.athlete_id, session_key=log.session_key, date=log.date, replaced=False
    ).first()
    log.replaced = bool(standing) and (standing.done_at, str(standing.key)) > (log.done_at, str(log.key))
    if standing and not log.replaced:
        Log.objects.filter(pk=standing.pk).update(replaced=True)
        Evidence.objects.filter(source=standing.key).delete()
    log.save(force_insert=True)
    for entry in entries:
        entry.log = log
        entry.full_clean(exclude=["log"], validate_constraints=False)
    LogEntry.objects.bulk_create(entries)
    if not log.replaced:
        transaction.on_commit(partial(send, "sessions.learn", log.athlete_id))
    return log


def _same(kept: Log, sent: Log) -> Log:
    if any(getattr(kept, name) != getattr(sent, name) for name in CONTENT):
        raise ValidationError("Another log was kept under this key before. Reload the page and log again.")
    return kept


def log_write(
    *, athlete: Athlete, session: PublishedSession, said: dict, source: str, by: Account | None = None
) -> Log:
    """Keep what was said of a published session: `said` holds the fields of a `Log`, and `entries` by station.

    An entry is {"station", "rounds", "dose", "load_kg"}; a station that is not among them was not logged. What was
    asked is read from the athlete's targets. ValidationError, in words for who logs, when an entry does not fit.
    """
    log = _log(athlete, session, said, source, by)
    if kept := Log.objects.filter(key=log.key).first():  # sent again; its targets may be others by now
        return _same(kept, log)
    targets = {target.station: target for target in session.targets.filter(athlete=athlete)}
    entries = [_entry(session.definition, targets, entry) for entry in said["entries"]]
    return log_record(log=log, entries=entries)


def _log(athlete: Athlete, session: PublishedSession, said: dict, source: str, by: Account | None) -> Log:
    return Log(
        # A clock that is ahead would let this log stand above every later one.
        done_at=min(said["done_at"], timezone.now()),
        athlete=athlete,
        session=session,
        session_key=session.key,
        date=session.date,
        source=source,
        entered_by=by,
        **{name: said[name] for name in ("key", "rpe", "pain", "stopped", "note")},
    )


def _entry(circuit: Definition, targets: dict[int, Target], said: dict) -> LogEntry:
    target = targets.get(said["station"])
    if target is None:
        raise ValidationError(f"There was no station {said['station']} for this athlete in that session.")
    option = circuit.stations[target.station - 1].options[max(target.rung, 0)]
    most = MOST_TIMES * max(option.dose, target.dose)
    if not 0 <= said["dose"] <= most or not 0 <= said["rounds"] <= 2 * circuit.rotations:
        raise ValidationError(
            f"Station {target.station}: check the figures. In a round up to {number(most, 0)}, and up to "
            f"{2 * circuit.rotations} rounds, can be right."
        )
    return LogEntry(
        station=target.station,
        movement_id=option.movement.id if target.rung >= 0 else None,
        rounds=said["rounds"],
        dose=said["dose"],
        load_kg=(said.get("load_kg") or target.load_kg) if option.load_kg else None,
        asked_rounds=circuit.rotations,
        asked_dose=target.dose,
    )
