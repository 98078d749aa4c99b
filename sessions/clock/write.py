import time
from dataclasses import asdict
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from athletes.gym.read import today
from athletes.models import Account
from sessions.class_versions import class_moved
from sessions.clock.classes import live_session_of
from sessions.clock.moment import READY_S, Shape, is_half_done, lead_s, moment, over_ms, shape_from
from sessions.clock.read import changes_of, shape_of_class, standing_run
from sessions.models import ClassRun, PublishedSession, RunChange, Start
from sessions.places.write import class_lock, places_fix
from sessions.weeks.published import class_of

# How far a page's idea of the server's time may be ahead, and how long a press may wait for a connection.
AHEAD_MS = 5_000
WAITED_MS = 3 * 3_600_000
READY_BOUNDS_S = (3, 120)
MOST_ROUNDS = 60
MOST_CHANGES = 400
LENGTH_BOUNDS_S = (10, 3 * 3600)

START = "start"
Kind = RunChange.Kind


def run_start(
    *, session: PublishedSession, hour: str, key: UUID, by: Account | None, at_ms: int, ready_s: int = READY_S
) -> ClassRun:
    """Start a class's clock: `ready_s` after `at_ms`, when it was pressed, the first interval begins.

    The class's run if it is under way already, whoever started it; a run that is over gives way to a new one. Raises
    ValidationError, in words for the coach, when the class is not today's, or the press is too old or in the future.
    """
    if kept := ClassRun.objects.filter(key=key).first():
        return kept
    session = class_of(live_session_of(session))
    if session.date != today():
        raise ValidationError(f"This session is on {session.date:%A, %-d %B}: its clock starts on that day only.")
    if hour not in (session.hours or [""]):
        raise ValidationError("The session has no class at this time any more. Reload the page.")
    if not READY_BOUNDS_S[0] <= ready_s <= READY_BOUNDS_S[1]:
        raise ValidationError("Time to get ready is from {} to {} seconds.".format(*READY_BOUNDS_S))
    pressed = _pressed(at_ms, least=now_ms() - WAITED_MS)
    try:
        return _start(session, hour, key, by, shape_of_class(session, ready_s), pressed)
    except IntegrityError:  # the same press, or another coach's, in the same moment came first
        return ClassRun.objects.filter(key=key).first() or standing_run(session, hour)


@transaction.atomic
def _start(session: PublishedSession, hour: str, key: UUID, by, shape: Shape, pressed: int) -> ClassRun:
    """A new run, unless one is under way. Two at once: the database lets one through."""
    earlier = standing_run(session, hour)
    if earlier and earlier.over_ms > pressed:
        return earlier
    if earlier:
        ClassRun.objects.filter(pk=earlier.pk, standing=True).update(standing=False)
    starts = pressed + 1000 * lead_s(shape)
    class_lock(session)
    places_fix(session, hour)
    class_moved(session)
    return ClassRun.objects.create(
        key=key,
        session=session,
        session_key=session.key,
        date=session.date,
        hour=hour,
        shape=asdict(shape),
        starts_ms=starts,
        over_ms=over_ms(shape, starts, []),
        wave=_wave(session, hour, earlier, pressed),
        started_by=by,
    )


def _wave(session: PublishedSession, hour: str, earlier: ClassRun | None, pressed: int) -> int:
    """Who begins with this start: those who wait for it once the others are through, or else the same as before."""
    if earlier is None:
        return 1
    shape = shape_from(earlier.shape)
    at = moment(shape, earlier.starts_ms, changes_of(earlier.pk), pressed)
    next_wave = Start.objects.filter(
        session_key=session.key, date=session.date, hour=hour, wave=earlier.wave + 1
    ).exists()
    return earlier.wave + 1 if next_wave and is_half_done(shape, at) else earlier.wave


@transaction.atomic
def run_change(*, run: ClassRun, key: UUID, kind: str, at_ms: int, by: Account | None, value: int = 0) -> RunChange:
    """Keep one press on a run's clock; the same `key` again gives the one that is kept and changes nothing.

    Raises ValidationError when the press is from before the start or the future, or asks for what there is not.
    """
    run = ClassRun.objects.select_for_update().get(pk=run.pk)
    if kept := RunChange.objects.filter(key=key).first():
        return _same(kept, run)
    if not run.standing:
        raise ValidationError("This class has been started again since. The press was not used.")
    if run.version >= MOST_CHANGES:
        raise ValidationError("The clock of this class was changed too often. End it and start it again.")
    shape = shape_from(run.shape)
    _check_value(shape, kind, value)
    pressed = _pressed(at_ms, least=run.starts_ms - 1000 * lead_s(shape))
    run.version += 1
    change = RunChange.objects.create(
        run=run, key=key, number=run.version, kind=kind, at_ms=pressed, value=value, made_by=by
    )
    run.over_ms = over_ms(shape, run.starts_ms, changes_of(run.pk))
    run.save(update_fields=["version", "over_ms"])
    return change


def presses_take(*, session: PublishedSession, hour: str, presses: list[dict], by: Account | None) -> dict[str, str]:
    """Keep what a page sends, in its order (forms.clock); key → reason for each press that was refused.

    One that is refused does not hold up the others, and all of them may be sent again.
    """
    refused = {}
    for press in presses:
        facts = {"key": press["key"], "at_ms": press["at_ms"], "by": by}
        try:
            if press["kind"] == START:
                run_start(session=session, hour=hour, ready_s=press["value"], **facts)
            else:
                run_change(run=_run(press["run"]), kind=press["kind"], value=press["value"], **facts)
        except ValidationError as error:
            refused[str(press["key"])] = " ".join(error.messages)
    return refused


def _run(key: UUID) -> ClassRun:
    run = ClassRun.objects.filter(key=key).first()
    if run is None:
        raise ValidationError("Another coach had started this class. The press was not used.")
    return run


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def _pressed(at_ms: int, least: int) -> int:
    now = now_ms()
    if at_ms > now + AHEAD_MS:
        raise ValidationError("The press comes from the future: this device's clock was moved. Reload the page.")
    if at_ms < least:
        raise ValidationError("The press is older than this class. It was not used.")
    return min(at_ms, now)


def _check_value(shape: Shape, kind: str, value: int) -> None:
    if kind == Kind.JUMP and not 0 <= value < MOST_ROUNDS * max(part.round_steps for part in shape.in_order):
        raise ValidationError("This circuit has no such interval. The press was not used.")
    if kind == Kind.ROUNDS and not 1 <= value <= MOST_ROUNDS:
        raise ValidationError(f"A class has 1 to {MOST_ROUNDS} rounds. The press was not used.")
    if kind == Kind.PART and not 0 <= value < len(shape.in_order):
        raise ValidationError("This class has no such part. The press was not used.")
    if kind == Kind.LENGTH and not LENGTH_BOUNDS_S[0] <= value <= LENGTH_BOUNDS_S[1]:
        raise ValidationError("A part lasts from ten seconds to three hours. The press was not used.")


def _same(kept: RunChange, run: ClassRun) -> RunChange:
    if kept.run_id != run.pk:
        raise ValidationError("This press was already used for another class. Reload the page.")
    return kept
