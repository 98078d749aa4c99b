"""How the whole gym comes along: who came, and which patterns were loaded, week by week."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, F, FloatField, Sum
from django.db.models.functions import Cast, Coalesce

from athletes.capacity.constants import PATTERNS
from athletes.models import Movement
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.weeks.read import monday_of


@dataclass(frozen=True)
class ClassWeek:
    """`visits` are sessions of athletes, by a log or on the list of who came, each counted once."""

    monday: date
    published: int
    visits: int
    athletes: int


def class_weeks(mondays: list[date]) -> list[ClassWeek]:
    """The weeks of these Mondays, in a row. Three queries."""
    span = (mondays[0], mondays[-1] + timedelta(days=6))
    live = PublishedSession.objects.live().classes().filter(date__range=span).order_by()
    published: dict[date, int] = defaultdict(int)
    for day, count in live.values_list("date").annotate(count=Count("pk")):
        published[monday_of(day)] += count
    of_class = Coalesce("session__part_of", "session_key")  # a log of one part is a visit to the class
    kept = ((Log.objects.standing(), of_class), (Attendance.objects, F("session_key")))
    visits: dict[date, set] = defaultdict(set)
    for rows, key in kept:
        for visit in rows.filter(date__range=span).order_by().values_list("athlete_id", key, "date"):
            visits[monday_of(visit[2])].add(visit)
    return [
        ClassWeek(monday, published[monday], len(visits[monday]), len({visit[0] for visit in visits[monday]}))
        for monday in mondays
    ]


def pattern_sets(mondays: list[date]) -> dict[date, dict[str, float]]:
    """Weighted sets by pattern of the weeks of these Mondays, in a row, of everyone together. Two queries.

    A set is a round at a station as it was asked; what was done of its dose counts for as much, and a movement counts
    in a pattern by its involvement, 0 to 1. Involvements are those of today.
    """
    span = (mondays[0], mondays[-1] + timedelta(days=6))
    entries = LogEntry.objects.filter(
        log__replaced=False, log__date__range=span, movement__isnull=False, asked_dose__gt=0
    ).order_by()
    done = Sum(Cast("rounds", FloatField()) * F("dose") / F("asked_dose"))
    involved = dict(Movement.objects.values_list("pk", "involvement"))
    sets = {monday: dict.fromkeys(PATTERNS, 0.0) for monday in mondays}
    for day, movement_id, amount in entries.values_list("log__date", "movement_id").annotate(done=done):
        for pattern, weight in involved[movement_id].items():
            sets[monday_of(day)][pattern] += weight * amount
    return sets
