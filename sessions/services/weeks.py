from datetime import date, time
from uuid import UUID, uuid5

from django.db import transaction

from sessions.models import ClassHour, PlannedSession, Week


def week_starting(monday: date) -> Week:
    """The week that starts on `monday`; not saved yet when nothing was ever written for it."""
    return Week.objects.filter(starts_on=monday).first() or Week(starts_on=monday)


def week_ensure(monday: date) -> Week:
    return Week.objects.get_or_create(starts_on=monday)[0]


@transaction.atomic
def session_plan(*, planned: PlannedSession, hours: list[time]) -> PlannedSession:
    """Save a planned session with its class times; a new one with a `key` that exists already is left as it is."""
    if planned.pk is None and PlannedSession.objects.filter(key=planned.key).exists():
        return PlannedSession.objects.get(key=planned.key)
    planned.save()
    planned.hours.exclude(starts_at__in=hours).delete()
    ClassHour.objects.bulk_create(
        (ClassHour(session=planned, starts_at=hour) for hour in hours), ignore_conflicts=True
    )
    return planned


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
        planned = week.sessions.filter(key=key).first() or PlannedSession(week=week, **({"key": key} if key else {}))
        for name, value in fields.items():
            setattr(planned, name, value)
        kept.append(session_plan(planned=planned, hours=hours).pk)
    week.sessions.exclude(pk__in=kept).delete()
    return week
