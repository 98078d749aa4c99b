import hashlib
import json
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from athletes.gym.read import today
from athletes.models import Athlete, Gym
from athletes.words import number
from sessions.circuits.definition import Definition, frozen, read
from sessions.circuits.freeze import definition_of, library
from sessions.circuits.library import Went, how_it_went, written_parts
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
    rows = week.sessions.standing().select_related("circuit", "week").prefetch_related("hours")
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
class PlannedCard:
    """A planned session as a page of the week shows it: its circuit as it would be frozen, what heat makes of the day,
    and what is another in it than people see ("" where nothing is, or nothing is published)."""

    planned: PlannedSession
    definition: Definition
    intent: str
    hot: bool
    caution: str
    changed: str
    went: Went | None

    @property
    def minutes(self) -> str:
        return number(self.definition.minutes)

    @property
    def stations(self) -> list[tuple[str, str]]:
        """Dose and movement of each station as written."""
        return [written_parts(station.prescribed) for station in self.definition.stations]


@dataclass(frozen=True)
class Day:
    """A day of a week with its planned sessions, and the names of those that people still see and the draft has not."""

    date: date
    sessions: list[PlannedCard]
    gone: list[str]


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

    @property
    def changed(self) -> int:
        """How many days are another than people see them."""
        return sum(bool(day.gone or any(card.changed for card in day.sessions)) for day in self.days)

    @property
    def facts(self) -> str:
        """The week in a line: 3 h 21 min in all, 2 hard, 4 steady."""
        cards = [card for day in self.days for card in day.sessions]
        minutes = round(sum(card.definition.duration_s for card in cards) / 60)
        hours = f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
        intents = Counter(card.intent for card in cards)
        return ", ".join([f"{hours} in all", *(f"{n} {intent}" for intent, n in intents.items())]) if cards else ""


def overview(week: Week, gym: Gym) -> Overview:
    live, content = live_publication(week), content_of(week, gym)
    cards = _cards(planned_sessions(week), content, live)
    gone = _gone(content, live)
    days = [week.starts_on + timedelta(days=offset) for offset in range(7)]
    newest = week.publications.first() if week.pk else None
    return Overview(
        week=week,
        days=[Day(day, [card for card in cards if card.planned.date == day], gone.get(day, [])) for day in days],
        state=state_of(live, content),
        live=live,
        running=running_publication(week),
        failed=newest if newest and newest.state == Publication.State.FAILED else None,
        fresher=list(fresher_athletes(live)) if live else [],
    )


def _cards(sessions: list[PlannedSession], content: dict, live: Publication | None) -> list[PlannedCard]:
    seen = {day["key"]: day for day in live.content["sessions"]} if live else {}
    went = how_it_went([session.key for session in sessions])
    return [
        PlannedCard(
            planned=session,
            definition=read(day["circuit"]),
            intent=day["intent"],
            hot=day["hot"],
            caution=day["caution"],
            changed=_changed(seen.get(day["key"]), day) if live else "",
            went=went.get(session.key),
        )
        for session, day in zip(sessions, content["sessions"], strict=True)
    ]


def _changed(seen: dict | None, day: dict) -> str:
    if seen is None:
        return "new"
    if seen["date"] != day["date"]:
        return f"moved from {date.fromisoformat(seen['date']):%A}"
    over = date.fromisoformat(day["date"]) < today()  # what is over stays as people saw it
    return "" if over or seen == json.loads(json.dumps(day)) else "changed since published"


def _gone(content: dict, live: Publication | None) -> dict[date, list[str]]:
    """Names of the sessions that people see and the draft has not any more, by day."""
    written = {day["key"] for day in content["sessions"]}
    gone: dict[date, list[str]] = {}
    for day in live.content["sessions"] if live else ():
        if day["key"] not in written:
            gone.setdefault(date.fromisoformat(day["date"]), []).append(day["circuit"]["name"])
    return gone
