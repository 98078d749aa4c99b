"""The one version of a class by which wall, phones and floor sheet know that there is something new to see."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q

from athletes.gym.read import today
from sessions.models import ClassVersion, PublishedSession


def class_moved(session: PublishedSession) -> None:
    """Say that something of a session's class has changed; in the transaction that changes it."""
    classes_moved([(session.class_key, session.date)])


def classes_moved(classes: Iterable[tuple[UUID, date]]) -> None:
    """The same for several, each by the key of the class and its day. Three statements."""
    found = sorted(set(classes))
    if not found:
        return
    which = Q()
    for key, day in found:
        which |= Q(session_key=key, date=day)
    fresh = [ClassVersion(session_key=key, date=day) for key, day in found]
    ClassVersion.objects.bulk_create(fresh, ignore_conflicts=True)
    # In one order, so that two who change several wait for each other instead of both.
    rows = ClassVersion.objects.select_for_update().filter(which).order_by("pk").values_list("pk", flat=True)
    with transaction.atomic():
        ClassVersion.objects.filter(pk__in=list(rows)).update(number=F("number") + 1)


def coming_classes_moved(sender: object, **_) -> None:
    """The same for every class of today and of the days to come that screens show by now."""
    shown = PublishedSession.objects.live().classes().filter(date__gte=today())
    classes_moved(shown.values_list("key", "date"))


def class_version(session: PublishedSession) -> int:
    """The version of a session's class; 0 before anything moved it. One query."""
    of_class = ClassVersion.objects.filter(session_key=session.class_key, date=session.date)
    return of_class.values_list("number", flat=True).first() or 0
