import hashlib
import json
from dataclasses import dataclass
from datetime import date, timedelta

from athletes.models import Athlete, Gym
from sessions.circuits.definition import frozen
from sessions.circuits.freeze import definition_of, library
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession, Publication, Week
from sessions.weeks.days import day_of
from sessions.weeks.published import fresher_athletes, live_publication, running_publication


def monday_of(day: date) -> date:
    """The Monday of the ISO 8601 week that `day` lies in."""
    return day - timedelta(days=day.weekday())


def planned_sessions(week: Week) -> list[PlannedSession]:
    """The week's sessions with circuits and class times, in the order of the week."""
    if week.pk is None:
        return []
    rows = week.sessions.select_related("circuit", "week").prefetch_related("hours")
    return list(rows)


def content_of(week: Week, gym: Gym) -> dict:
    """Everything a publication of `week` would freeze, as plain values; the same week gives the same content."""
    sessions = planned_sessions(week)
    circuits = with_stations(Circuit.objects.filter(pk__in={row.circuit_id for row in sessions})).in_bulk()
    easier = library()
    return {
        "note": week.note,
        "gym": {"name": gym.name, "local_rules": gym.local_rules},
        "sessions": [
            {
                "key": str(row.key),
                "date": row.date.isoformat(),
                "hours": [f"{hour.starts_at:%H:%M}" for hour in row.hours.all()],
                **day_of(row, gym),
                "note": row.note,
                "circuit": frozen(definition_of(circuits[row.circuit_id], easier)),
            }
            for row in sessions
        ],
    }


def content_hash(content: dict) -> str:
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def state_of(live: Publication | None, content: dict) -> str:
    """draft, published, or changed: the week as written against what people see."""
    if live is None:
        return "draft"
    return "published" if live.content_hash == content_hash(content) else "changed"


@dataclass(frozen=True)
class Day:
    """A day of a week with its planned sessions."""

    date: date
    sessions: list[PlannedSession]


@dataclass(frozen=True)
class Overview:
    """A week as pages show it: what is written, what people see, what is under way."""

    week: Week
    days: list[Day]
    state: str
    live: Publication | None
    running: Publication | None
    failed: Publication | None
    fresher: list[Athlete]

    @property
    def empty(self) -> bool:
        return not any(day.sessions for day in self.days)


def overview(week: Week, gym: Gym) -> Overview:
    sessions = planned_sessions(week)
    days = [week.starts_on + timedelta(days=offset) for offset in range(7)]
    live = live_publication(week)
    newest = week.publications.first() if week.pk else None
    return Overview(
        week=week,
        days=[Day(day, [session for session in sessions if session.date == day]) for day in days],
        state=state_of(live, content_of(week, gym)),
        live=live,
        running=running_publication(week),
        failed=newest if newest and newest.state == Publication.State.FAILED else None,
        fresher=list(fresher_athletes(live)) if live else [],
    )
