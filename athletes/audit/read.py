from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Page, Paginator

from athletes.audit.pages import words
from athletes.models import Athlete, AuditEntry

TOGETHER = 100
SHOWN = 10  # entries, to the athlete they are about


@dataclass(frozen=True)
class Entry:
    at: datetime
    by: str
    says: str
    athlete: str


def entries(number: str | None, *, athlete: int | None = None) -> tuple[Page, list[Entry]]:
    """A page of entries, the latest first, of one athlete or of all; four queries."""
    found = AuditEntry.objects.all() if athlete is None else AuditEntry.objects.filter(athlete_id=athlete)
    page = Paginator(found, TOGETHER).get_page(number)
    return page, _named(list(page))


def seen_of(athlete: Athlete) -> list[Entry]:
    """The latest entries about an athlete, for that athlete."""
    return _named(list(AuditEntry.objects.filter(athlete_id=athlete.pk)[:SHOWN]))


def _named(rows: list[AuditEntry]) -> list[Entry]:
    names = dict(Athlete.objects.filter(pk__in={row.athlete_id for row in rows}).values_list("pk", "name"))
    gone = "somebody who was erased"
    return [
        Entry(row.at, row.by, words(row.page, row.changed), names.get(row.athlete_id, gone) if row.athlete_id else "")
        for row in rows
    ]
