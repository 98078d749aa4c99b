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
def class_plan(*, planned: PlannedSession, hours: list[time], parts: list[dict] | None) -> PlannedSession:
    """Save a planned session with its class times and the parts of its class (`classes.write.parts_write`); None leaves
    its parts alone."""
    session_plan(planned=planned, hours=hours)
    if parts is not None:
        parts_write(of=planned, parts=parts)
    return planned


# What a planned session says of its day, and all that a save writes; the rest belongs to moves and to taking off.
OF_DAY = ("weekday", "circuit_id", "intent", "rotations", "dose_percent", "interval_s")
CONTENT = ("weekday", "circuit", "intent", "note", "wbgt_c", "rotations", "dose_percent", "interval_s")
SHARED = ("weekday", "circuit", "intent", "note")  # with the other sessions of a build


@transaction.atomic
def series_plan(*, planned: PlannedSession, scope: str, changed: Iterable[str], hours: list[time], day: date) -> int:
    """Let the other sessions of a build follow what `changed` in one: those after it ("following"), or "all"; "this"
    leaves them alone. How many followed.

    Sessions that are over before `day` stay, and so does one that would come to lie there. Rounds, dose and interval
    stay those of their step.
    """
    if scope not in ("following", "all") or not planned.build_id:
        return 0
    others = PlannedSession.objects.standing().filter(build=planned.build_id).exclude(pk=planned.pk)
    if scope == "following":
        others = others.filter(build_step__gt=planned.build_step)
    followed = 0
    for other in others.select_related("week").prefetch_related("hours"):
        before = other.date
        for name in set(changed) & set(SHARED):
            setattr(other, name, getattr(planned, name))
        if min(before, other.date) >= day:
            own = [hour.starts_at for hour in other.hours.all()]
            _plan(other, hours if "hours" in changed else own)
            followed += 1
    return followed


@transaction.atomic
def _plan(planned: PlannedSession, hours: list[time]) -> PlannedSession:
    if planned.pk:
        _take_version(planned)
        planned.save(update_fields=CONTENT)
    else:
        planned.save()
    planned.hours.exclude(starts_at__in=hours).delete()
    ClassHour.objects.bulk_create((ClassHour(session=planned, starts_at=hour) for hour in hours), ignore_conflicts=True)
    return planned


def _take_version(planned: PlannedSession) -> None:
    """The next version is this writer's; ValidationError where somebody else took it, or took the session off."""
    own = PlannedSession.objects.standing().filter(pk=planned.pk, version=planned.version)
    if not own.update(version=F("version") + 1):
        raise ValidationError(
            "Somebody changed this session meanwhile. Open it again, and write it into the newer one."
        )
    planned.version += 1


def _same(kept: PlannedSession, planned: PlannedSession, hours: list[time]) -> PlannedSession:
    names = ("week_id", *OF_DAY, "note", "wbgt_c")
    times = [hour.starts_at for hour in kept.hours.all()]
    if times != sorted(hours) or any(getattr(kept, name) != getattr(planned, name) for name in names):
        raise ValidationError(f"This page was already used to plan “{kept}”. Reload it to plan another session.")
    return kept


@transaction.atomic
def session_move(*, planned: PlannedSession, day: date) -> PlannedSession:
    """Put a planned session on another day, of its week or of any other; to where it is changes nothing.

    ValidationError where somebody changed it since it was read.
    """
    if planned.date == day:
        return planned
    _take_version(planned)
    planned.week, planned.weekday = week_ensure(day - timedelta(days=day.weekday())), day.weekday()
    planned.save(update_fields=["week", "weekday"])
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
        names = (*OF_DAY, *(["note"] if along.notes else []))
        planned = PlannedSession(week=into, key=own_key, **{name: getattr(original, name) for name in names})
        hours = [hour.starts_at for hour in original.hours.all()] if along.hours else []
        if session_plan(planned=planned, hours=hours) is not planned:  # the same request in the same moment came first
            continue
        copied.append(planned)
        keys = {original.key: planned.key}
        if along.notes:
            keys |= parts_copy(source=original, into=planned)
        if along.by_hand:
            _copy_by_hand(keys)
    return copied


def _copy_by_hand(keys: dict[UUID, UUID]) -> None:
    """Targets set by hand, from the sessions and parts with these keys to those with the new ones."""
    names = ("athlete_id", "station", "movement_id", "dose", "load_kg", "reason", "made_by_id")
    standing = Pin.objects.standing().filter(session_key__in=keys, athlete__active=True)
    Pin.objects.bulk_create(
        Pin(session_key=keys[pin.session_key], **{name: getattr(pin, name) for name in names}) for pin in standing
    )


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
        version = fields.pop("version", None)
        if planned:
            if version not in (None, planned.version):
                raise ValidationError(f"Somebody changed “{planned}” meanwhile: it has version {planned.version} now.")
            if sessions_put_back([planned.key]):
                planned.refresh_from_db()
        planned = planned or PlannedSession(week=week, **({"key": key} if key else {}))
        for name, value in fields.items():
            setattr(planned, name, value)
        kept.append(session_plan(planned=planned, hours=hours).pk)
        if parts is not None:
            parts_write(of=planned, parts=parts)
    sessions_take_off(week.sessions.exclude(pk__in=kept).values_list("key", flat=True))
    return week
