from datetime import date, time
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.once import keep_once
from sessions.models import ClassHour, PlannedSession, Week


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
def _plan(planned: PlannedSession, hours: list[time]) -> PlannedSession:
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


@transaction.atomic
def week_copy(*, source: Week, into: Week, key: UUID) -> int:
    """Plan the sessions of `source` on the same days of `into`; the number planned.

    `key`, made by the page, lets the same request arrive twice and copy once.
    """
    copied = 0
    for original in source.sessions.prefetch_related("hours"):
        own_key = uuid5(key, str(original.key))
        if PlannedSession.objects.filter(key=own_key).exists():
            continue
        names = ("weekday", "circuit_id", "intent", "note")
        planned = PlannedSession(week=into, key=own_key, **{name: getattr(original, name) for name in names})
        session_plan(planned=planned, hours=[hour.starts_at for hour in original.hours.all()])
        copied += 1
    return copied


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
        hours, key = fields.pop("hours"), fields.pop("key", None)
        planned = PlannedSession.objects.filter(key=key).first() if key else None
        if planned and planned.week_id != week.pk:
            raise ValidationError(
                f"The key {key} belongs to a session of another week. Leave it out to plan a new one."
            )
        planned = planned or PlannedSession(week=week, **({"key": key} if key else {}))
        for name, value in fields.items():
            setattr(planned, name, value)
        kept.append(session_plan(planned=planned, hours=hours).pk)
    week.sessions.exclude(pk__in=kept).delete()
    return week
