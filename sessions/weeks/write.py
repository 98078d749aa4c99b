from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from athletes.once import keep_once
from sessions.classes.write import parts_copy, parts_write
from sessions.models import ClassHour, Pin, PlannedSession, Week


def week_starting(monday: date) -> Week:
    """The week that starts on `monday`; not saved yet when nothing was ever written for it."""
    return Week.objects.filter(starts_on=monday).first() or Week(starts_on=monday)


def week_ensure(monday: date) -> Week:
    return Week.objects.get_or_create(starts_on=monday)[0]


def session_plan(*, planned: PlannedSession, hours: list[time]) -> PlannedSession:
    """Save a planned session with its class times.

    A new one whose `key` is there already, sent at once or later, gives the one that is there if it says the same;
    otherwise ValidationError, and nothing is overwritten.
    """
    if planned.pk:
        return _plan(planned, hours)
    return keep_once(planned, lambda: _plan(planned, hours), lambda kept: _same(kept, planned, hours))


@transaction.atomic
def class_plan(*, planned: PlannedSession, hours: list[time], parts: list[dict]) -> PlannedSession:
    """Save a planned session with its class times and the parts of its class (`classes.write.parts_write`)."""
    session_plan(planned=planned, hours=hours)
    parts_write(of=planned, parts=parts)
    return planned


SHARED = ("weekday", "circuit_id", "intent", "note")


@transaction.atomic
def series_plan(*, planned: PlannedSession, scope: str, hours: list[time], day: date) -> int:
    """Let the other sessions of a build follow a changed one: those after it ("following"), or "all" that are not over
    before `day`; "this" leaves them alone. How many followed. Rounds, dose and interval stay those of their step."""
    if scope not in ("following", "all") or not planned.build_id:
        return 0
    others = PlannedSession.objects.standing().filter(build=planned.build_id).exclude(pk=planned.pk)
    if scope == "following":
        others = others.filter(build_step__gt=planned.build_step)
    followed = 0
    for other in others.select_related("week"):
        if other.date >= day:
            for name in SHARED:
                setattr(other, name, getattr(planned, name))
            _plan(other, hours)
            followed += 1
    return followed


@transaction.atomic
def _plan(planned: PlannedSession, hours: list[time]) -> PlannedSession:
    if planned.pk:
        planned.version += 1
    planned.save()
    planned.hours.exclude(starts_at__in=hours).delete()
    ClassHour.objects.bulk_create((ClassHour(session=planned, starts_at=hour) for hour in hours), ignore_conflicts=True)
    return planned


def _same(kept: PlannedSession, planned: PlannedSession, hours: list[time]) -> PlannedSession:
    names = ("week_id", "weekday", "circuit_id", "intent", "note", "wbgt_c")
    times = [hour.starts_at for hour in kept.hours.all()]
    if times != sorted(hours) or any(getattr(kept, name) != getattr(planned, name) for name in names):
        raise ValidationError(f"This page was already used to plan “{kept}”. Reload it to plan another session.")
    return kept


def session_move(*, planned: PlannedSession, day: date) -> PlannedSession:
    """Put a planned session on another day, of its week or of any other; to where it is changes nothing."""
    if planned.date == day:
        return planned
    planned.week, planned.weekday = week_ensure(day - timedelta(days=day.weekday())), day.weekday()
    planned.version += 1
    planned.save(update_fields=["week", "weekday", "version"])
    return planned


def sessions_take_off(keys: Iterable[UUID]) -> int:
    """Take sessions off their week; they are kept, and `sessions_put_back` brings them back. How many."""
    rows = PlannedSession.objects.standing().filter(key__in=list(keys))
    return rows.update(removed_at=timezone.now(), version=F("version") + 1)


def sessions_put_back(keys: Iterable[UUID]) -> int:
    """Bring back sessions that were taken off. How many."""
    rows = PlannedSession.objects.filter(key__in=list(keys), removed_at__isnull=False)
    return rows.update(removed_at=None, version=F("version") + 1)


@dataclass(frozen=True)
class Copied:
    """What goes along when sessions are copied."""

    hours: bool = True
    notes: bool = True
    by_hand: bool = False


@transaction.atomic
def sessions_copy(
    *, originals: Iterable[PlannedSession], into: Week, key: UUID, along: Copied = Copied()
) -> list[PlannedSession]:
    """Plan these sessions on the same weekdays of `into`, beside what is there; those that were planned.

    `key`, made by the page, lets the same request arrive twice and copy once: what was copied before and taken off
    since stays off.
    """
    copied = []
    for original in originals:
        own_key = uuid5(key, str(original.key))
        if PlannedSession.objects.filter(key=own_key).exists():
            continue
        names = ("weekday", "circuit_id", "intent", *(["note"] if along.notes else []))
        planned = PlannedSession(week=into, key=own_key, **{name: getattr(original, name) for name in names})
        hours = [hour.starts_at for hour in original.hours.all()] if along.hours else []
        copied.append(session_plan(planned=planned, hours=hours))
        if along.notes:
            parts_copy(source=original, into=planned)
        if along.by_hand:
            _copy_by_hand(original, planned)
    return copied


def _copy_by_hand(original: PlannedSession, planned: PlannedSession) -> None:
    names = ("athlete_id", "station", "movement_id", "dose", "load_kg", "reason", "made_by_id")
    standing = Pin.objects.standing().filter(session_key=original.key, athlete__active=True)
    Pin.objects.bulk_create(Pin(session_key=planned.key, **{n: getattr(pin, n) for n in names}) for pin in standing)


@transaction.atomic
def week_write(*, week: Week, note: str, sessions: list[dict] | None) -> Week:
    """Write a whole week: `sessions` (if given) replaces what is planned; a session with a known key is changed."""
    week.note = note
    week.save()
    if sessions is None:
        return week
    kept = []
    for fields in sessions:
        fields = dict(fields)
        hours, key, parts = fields.pop("hours"), fields.pop("key", None), fields.pop("parts", None)
        planned = PlannedSession.objects.filter(key=key).first() if key else None
        if planned and planned.week_id != week.pk:
            raise ValidationError(
                f"The key {key} belongs to a session of another week. Leave it out to plan a new one."
            )
        if planned:
            planned.removed_at = None
        planned = planned or PlannedSession(week=week, **({"key": key} if key else {}))
        for name, value in fields.items():
            setattr(planned, name, value)
        kept.append(session_plan(planned=planned, hours=hours).pk)
        if parts is not None:
            parts_write(of=planned, parts=parts)
    sessions_take_off(week.sessions.exclude(pk__in=kept).values_list("key", flat=True))
    return week
