from functools import partial
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Evidence
from athletes.sending import send
from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.logs.read import standing_log
from sessions.models import Log, LogEntry, PublishedSession, Target
from sessions.targets.detail import detail_of

MOST_TIMES = 3.0  # what was asked or written: beyond it a logged number is taken for a slip (ours)
LEAST_TIME_S = 10
MOST_ROUNDS, MOST_REPETITIONS = 99, 2000  # of as many as fit
CONTENT = ("athlete_id", "session_key", "date", "rpe", "pain", "stopped", "note", "time_s", "repetitions")


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
    # Whom and what it is of was read a moment ago, or is frozen with the week: asking again would be a query each.
    log.full_clean(exclude=["key", "athlete", "entered_by", "seen_by", "session"], validate_constraints=False)
    standing = standing_log(log.athlete_id, log.session_key, log.date)
    log.replaced = bool(standing) and (standing.done_at, str(standing.key)) > (log.done_at, str(log.key))
    if standing and not log.replaced:
        Log.objects.filter(pk=standing.pk).update(replaced=True)
        Evidence.objects.filter(source=standing.key).delete()
    log.save(force_insert=True)
    for entry in entries:
        entry.log = log
        entry.full_clean(exclude=["log", "movement"], validate_constraints=False)
    LogEntry.objects.bulk_create(entries)
    if not log.replaced:
        transaction.on_commit(partial(send, "sessions.learn", log.athlete_id))
    return log


def _same(kept: Log, sent: Log) -> Log:
    if any(getattr(kept, name) != getattr(sent, name) for name in CONTENT):
        raise ValidationError("Another log was kept under this key before. Reload the page and log again.")
    return kept


@transaction.atomic
def logs_take_back(*, keys: list[UUID]) -> int:
    """Let logs that were made in one tap count no more, and forget what they taught; how many stood.

    What an athlete had said of the same session stands again.
    """
    standing = list(Log.objects.standing().filter(key__in=keys))
    Log.objects.filter(pk__in=[log.pk for log in standing]).update(replaced=True)
    for log in standing:
        own = Log.objects.filter(athlete=log.athlete_id, session_key=log.session_key, date=log.date)
        before = own.filter(source=Log.Source.PHONE).exclude(key__in=keys).order_by("-done_at").first()
        if before:
            Log.objects.filter(pk=before.pk).update(replaced=False, learnt_at=None)
    Evidence.objects.filter(source__in=[log.key for log in standing]).delete()
    for log in standing:
        transaction.on_commit(partial(send, "sessions.learn", log.athlete_id))
    return len(standing)


def log_write(
    *, athlete: Athlete, session: PublishedSession, content: dict, source: str, by: Account | None = None
) -> Log:
    """Keep what was said of a published session: `content` holds the fields of a `Log`, and `entries` by station.

    An entry is {"station", "rounds", "dose", "load_kg", "open_last"}; a station that is not among them was not logged.
    What was asked is read from the athlete's targets. ValidationError, in words for who logs, when an entry does not
    fit.
    """
    if kept := Log.objects.filter(key=content["key"]).first():  # sent again; its targets may be others by now
        return _same(kept, _log(athlete, session, content, source, by))
    targets = list(session.targets.filter(athlete=athlete))
    log, entries = log_rows(athlete=athlete, session=session, targets=targets, content=content, source=source, by=by)
    return log_record(log=log, entries=entries)


def log_rows(
    *,
    athlete: Athlete,
    session: PublishedSession,
    targets: list[Target],
    content: dict,
    source: str,
    by: Account | None,
) -> tuple[Log, list[LogEntry]]:
    """What `log_write` keeps, as rows that are not kept yet; `targets` are the athlete's."""
    asked = {target.station: target for target in targets}
    entries = [_entry(session.definition, asked, entry) for entry in content["entries"]]
    return _log(athlete, session, content, source, by), entries


def _log(athlete: Athlete, session: PublishedSession, content: dict, source: str, by: Account | None) -> Log:
    return Log(
        # A clock that is ahead would let this log stand above every later one.
        done_at=min(content["done_at"], timezone.now()),
        athlete=athlete,
        session=session,
        session_key=session.key,
        date=session.date,
        source=source,
        entered_by=by,
        **{name: content[name] for name in ("key", "rpe", "pain", "stopped", "note")},
        **_whole(session.definition, content),
    )


def _whole(circuit: Definition, content: dict) -> dict:
    """What the whole came to, where that is what the circuit is about: a time, or repetitions beyond whole rounds."""
    time_s = content.get("time_s") if circuit.format == "for_time" else None
    if time_s is not None and not LEAST_TIME_S <= time_s <= MOST_TIMES * (circuit.limit_s or 0):
        raise ValidationError("Check the time: it is written as minutes and seconds, 14:32.")
    repetitions = content.get("repetitions") if circuit.format == "as_many" else None
    if repetitions is not None and not 0 <= repetitions <= MOST_REPETITIONS:
        raise ValidationError(f"Check the repetitions of the last round: up to {MOST_REPETITIONS} can be right.")
    return {"time_s": time_s, "repetitions": repetitions}


def most_rounds(circuit: Definition) -> int:
    """The most rounds that can be right."""
    return MOST_ROUNDS if circuit.format == "as_many" else 2 * circuit.rotations


def _entry(circuit: Definition, targets: dict[int, Target], content: dict) -> LogEntry:
    target = targets.get(content["station"])
    if target is None:
        raise ValidationError(f"There was no station {content['station']} for this athlete in that session.")
    option = circuit.stations[target.station - 1].options[max(target.rung, 0)]
    most = MOST_TIMES * max(option.dose, target.dose)
    last = content.get("open_last") if detail_of(target).open_last else None
    if not 0 <= content["dose"] <= most or not 0 <= content["rounds"] <= most_rounds(circuit) or (last or 0.0) > most:
        raise ValidationError(
            f"Station {target.station}: check the figures. In a round up to {number(most, 0)}, and up to "
            f"{most_rounds(circuit)} rounds, can be right."
        )
    return LogEntry(
        station=target.station,
        movement_id=option.movement.id if target.rung >= 0 else None,
        rounds=content["rounds"],
        dose=content["dose"],
        load_kg=(content.get("load_kg") or target.load_kg) if option.loaded else None,
        asked_rounds=circuit.rotations if target.rounds is None else target.rounds,
        asked_dose=target.dose,
        open_last=last,
    )
