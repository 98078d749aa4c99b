"""How the whole gym comes along: who came, and which patterns were loaded, week by week."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, F, FloatField, Max, Sum
from django.db.models.functions import Cast, Coalesce

from athletes.capacity.constants import PATTERNS
from athletes.models import Athlete, Movement
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.weeks.read import monday_of

SILENT_AFTER = timedelta(days=14)  # without a log or a visit, of who came in the weeks before (ours)
SEEN_WITHIN = timedelta(weeks=12)
HEAVY_SETS = 8.0  # weighted sets of one pattern that a day asks of an athlete, from which on it is a heavy one (ours)


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


def fallen_silent(today: date) -> list[tuple[Athlete, date]]:
    """Who takes part, came within twelve weeks and was not heard of for two, with the last day; three queries."""
    last: dict[int, date] = {}
    for rows in (Log.objects.standing(), Attendance.objects):
        seen = rows.filter(date__range=(today - SEEN_WITHIN, today), athlete__active=True).order_by()
        for athlete_id, day in seen.values_list("athlete_id").annotate(Max("date")):
            last[athlete_id] = max(day, last.get(athlete_id, day))
    silent = {pk: day for pk, day in last.items() if today - day >= SILENT_AFTER}
    athletes = Athlete.objects.in_bulk(silent)
    return sorted(((athletes[pk], day) for pk, day in silent.items()), key=lambda found: (found[1], found[0].name))


def heavy_in_a_row(today: date) -> list[tuple[date, str]]:
    """First days of two in a row, from this Monday on, that both ask for much of one pattern, and the pattern; as the
    live sessions are written for who does them as prescribed. One query."""
    monday = monday_of(today)
    live = PublishedSession.objects.live().filter(date__range=(monday, monday + timedelta(days=13)))
    asked: dict[date, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for session in live.order_by("date"):
        for station in session.definition.stations:
            for pattern, weight in zip(PATTERNS, station.options[0].movement.involvement, strict=True):
                asked[session.date][pattern] += weight * session.definition.rotations
    found = []
    for day in sorted(asked):
        after = asked.get(day + timedelta(days=1), {})
        both = [p for p in PATTERNS if asked[day][p] >= HEAVY_SETS and after.get(p, 0.0) >= HEAVY_SETS]
        found += [(day, pattern.replace("_", " ")) for pattern in both]
    return found
