import hashlib
import json
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from athletes.gym.read import today
from athletes.models import Athlete, Gym
from athletes.words import number
from sessions.circuits.definition import Definition, frozen, read
from sessions.circuits.freeze import definition_of, library, varied
from sessions.circuits.library import Went, how_it_went, written_parts
from sessions.circuits.read import with_stations
from sessions.classes.definition import ClassPart
from sessions.classes.definition import frozen as frozen_parts
from sessions.classes.definition import read as read_parts
from sessions.classes.read import class_parts, with_parts
from sessions.models import Circuit, PlannedSession, Publication, Week
from sessions.weeks.days import day_of
from sessions.weeks.published import fresher_athletes, live_publication, running_publication

FIRST_YEAR, LAST_YEAR = 2000, 2100  # of weeks that have a page


def monday_of(day: date) -> date:
    """The Monday of the ISO 8601 week that `day` lies in."""
    return day - timedelta(days=day.weekday())


def day_of_calendar(text: str) -> date:
    """A day typed like 2026-12-01, in a year that pages have; ValueError for any other text."""
    day = date.fromisoformat(text)
    if not FIRST_YEAR <= day.year < LAST_YEAR:
        raise ValueError("no gym plans that far")
    return day


def planned_sessions(week: Week) -> list[PlannedSession]:
    """The week's sessions with circuits and class times, in the order of the week."""
    if week.pk is None:
        return []
    rows = (
        PlannedSession.objects.standing()
        .filter(week=week)
        .select_related("circuit", "week", "build")
        .prefetch_related("hours")
    )
    return list(with_parts(rows))


def content_of(week: Week, gym: Gym) -> dict:
    """Everything a publication of `week` would freeze, as plain values; the same week gives the same content."""
    sessions = planned_sessions(week)
    used = {row.circuit_id for row in sessions} | {part.circuit_id for row in sessions for part in row.parts.all()}
    easier = library()
    circuits = with_stations(Circuit.objects.filter(pk__in=used - {None})).in_bulk()
    definitions = {pk: definition_of(circuit, easier) for pk, circuit in circuits.items()}
    return {
        "note": week.note,
        "gym": {"name": gym.name, "local_rules": gym.local_rules},
        "sessions": [session for row in sessions for session in _sessions_of(row, definitions, gym)],
    }


def _sessions_of(planned: PlannedSession, definitions: dict[int, Definition], gym: Gym) -> list[dict]:
    """A class as it is frozen, and after it those of its parts that have a circuit of their own."""
    on_day = varied(definitions[planned.circuit_id], planned.rotations, planned.dose_percent, planned.interval_s)
    definitions = {**definitions, planned.circuit_id: on_day}
    day = {
        "date": planned.date.isoformat(),
        "hours": [f"{hour.starts_at:%H:%M}" for hour in planned.hours.all()],
        **day_of(planned, gym),
    }
    main = {
        "key": str(planned.key),
        **day,
        "note": planned.note,
        "circuit": frozen(definitions[planned.circuit_id]),
    }
    parts = class_parts(planned, definitions)
    if not parts:  # as it was frozen before there were parts, so that nothing counts as changed
        return [main]
    main["place"] = next(place for place, part in enumerate(parts) if part.main)
    main["parts"] = frozen_parts(parts)
    own = [
        {
            "key": part.session,
            **day,
            "note": "",
            "circuit": frozen(definitions[row.circuit_id]),
            "part_of": str(planned.key),
            "place": place,
        }
        for place, (part, row) in enumerate(zip(parts, planned.parts.all(), strict=True))
        if part.session and not part.main
    ]
    return [main, *own]


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
    parts: tuple[ClassPart, ...] = ()

    @property
    def minutes(self) -> str:
        return number(self.definition.minutes)

    @property
    def class_minutes(self) -> float:
        """Minutes of the whole class, its parts together."""
        return sum(part.minutes for part in self.parts) or self.definition.minutes

    @property
    def others(self) -> list[ClassPart]:
        """Its parts but the circuit itself."""
        return [part for part in self.parts if not part.main]

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
    def limited(self) -> list[Athlete]:
        """Those of whom more than a result is newer: what they do may be ruled out by now."""
        return [athlete for athlete in self.fresher if athlete.limited]

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
        minutes = round(sum(card.class_minutes for card in cards))
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
    seen = _by_key(live.content) if live else {}
    days = _by_key(content)
    went = how_it_went([session.key for session in sessions])
    return [
        PlannedCard(
            planned=session,
            definition=read(day["circuit"]),
            intent=day["intent"],
            hot=day["hot"],
            caution=day["caution"],
            changed=_changed(seen, days, day) if live else "",
            went=went.get(session.key),
            parts=read_parts(day.get("parts", ())),
        )
        for session in sessions
        for day in [days[str(session.key)]]
    ]


def _by_key(content: dict) -> dict[str, dict]:
    return {day["key"]: day for day in content["sessions"]}


def _changed(seen: dict[str, dict], days: dict[str, dict], day: dict) -> str:
    """What is another in a class, its parts with circuits of their own included."""
    before = seen.get(day["key"])
    if before is None:
        return "new"
    if before["date"] != day["date"]:
        return f"moved from {date.fromisoformat(before['date']):%A}"
    if date.fromisoformat(day["date"]) < today():  # what is over stays as people saw it
        return ""
    both = [[one for one in side.values() if day["key"] in (one["key"], one.get("part_of"))] for side in (seen, days)]
    return "" if both[0] == json.loads(json.dumps(both[1])) else "changed since published"


def _gone(content: dict, live: Publication | None) -> dict[date, list[str]]:
    """Names of the sessions that people see and the draft has not any more, by day."""
    written = {day["key"] for day in content["sessions"]}
    gone: dict[date, list[str]] = {}
    for day in live.content["sessions"] if live else ():
        if day["key"] not in written and day.get("part_of") not in written:
            gone.setdefault(date.fromisoformat(day["date"]), []).append(day["circuit"]["name"])
    return gone
