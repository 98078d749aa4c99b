"""The gym's circuits, found by what is in them, by their length, by when they were used and how they went."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Avg, Count, F, Q

from athletes.gym.read import today
from athletes.words import clock, load_text, name_order, number, percent
from sessions.circuits.definition import Option, range_text
from sessions.circuits.read import with_stations
from sessions.models import Circuit, Log, LogEntry, PlannedSession

REMEMBERED = timedelta(weeks=52)  # how far back "how it went" looks
MINUTES = re.compile(r"(?P<word>under|over)?\s*(?P<from>\d+)(?:\s*[-–]\s*(?P<to>\d+))?\s*min\b")
UNUSED = re.compile(r"never|not (?:for|since) (\d+) weeks?")
SLACK = 1e-6
MOST_WEEKS = 1000  # longer than any gym keeps its weeks


@dataclass(frozen=True)
class Went:
    """How a session went: the share of logged stations that were held as asked, and the mean RPE."""

    logged: int
    held: float
    rpe: float | None

    def __str__(self) -> str:
        return f"held {percent(self.held)}" + (f", RPE {number(self.rpe, 0)}" if self.rpe is not None else "")


@dataclass(frozen=True)
class Found:
    """A circuit of the library, with how often and when it was last planned up to today."""

    circuit: Circuit
    minutes: float
    movements: tuple[str, ...]
    used: int
    last: date | None
    went: Went | None

    @property
    def written(self) -> str:
        return " · ".join(self.movements)


def how_it_went(session_keys: Iterable[UUID]) -> dict[UUID, Went]:
    """By session key, of sessions that somebody logged. Two queries."""
    keys = list(session_keys)
    logs = Log.objects.standing().filter(session_key__in=keys).order_by()
    rpe = dict(logs.values_list("session_key").annotate(mean=Avg("rpe")))
    held = Q(rounds__gte=F("asked_rounds"), dose__gte=F("asked_dose") - SLACK)
    entries = LogEntry.objects.filter(log__replaced=False, log__session_key__in=keys, movement__isnull=False)
    counted = entries.order_by().values_list("log__session_key").annotate(n=Count("pk"), held=Count("pk", filter=held))
    return {key: Went(n, kept / n, rpe.get(key)) for key, n, kept in counted if n}


def written_parts(option: Option) -> tuple[str, str]:
    """A station in a line, the figure and what it is of: ("12–14", "kcal row"), ("12", "swing 24 kg")."""
    name = option.movement.name
    name = name[:1].lower() + name[1:]
    if option.dose_kind == "seconds":
        return clock(option.dose, tenths=False), name
    unit = {"kcal": "kcal ", "metres": "m "}.get(option.dose_kind, "")
    load = load_text(option.load_kg) if option.load_kg else f"{number(option.percent)} %" if option.percent else ""
    return range_text(option), f"{unit}{name} {load}".rstrip()


@dataclass(frozen=True)
class Asked:
    """What is looked for: words, the least and the most minutes, and for how many weeks it was not used (None: any)."""

    words: tuple[str, ...]
    least: float
    most: float
    unused_weeks: float | None


def library(text: str = "", *, archived: bool = False) -> list[Found]:
    """Circuits that fit `text`; those used last come first. Eight queries, however many there are.

    Every word is in their name or a movement of theirs; "20 min", "20-30 min", "under 15 min", "over 30 min" is their
    length; "never" and "not for 4 weeks" is when they were used.
    """
    asked = _asked(text)
    found = []
    for circuit in with_stations(Circuit.objects.filter(archived=archived)):
        minutes = circuit.duration_s / 60
        options = [option for station in circuit.stations.all() for option in station.options.all()]
        names = _plain(" ".join([circuit.name, *(option.movement.name for option in options)]))
        if asked.least <= minutes <= asked.most and all(word in names for word in asked.words):
            found.append((circuit, minutes))
    with_use = _with_use(found)
    if asked.unused_weeks is None:
        return with_use
    since = today() - timedelta(weeks=min(asked.unused_weeks, MOST_WEEKS))
    return [one for one in with_use if one.last is None or one.last < since]


def _asked(text: str) -> Asked:
    text, least, most, unused = text.casefold(), 0.0, float("inf"), None
    if found := UNUSED.search(text):
        unused = float(found[1]) if found[1] else float("inf")
        text = text.replace(found[0], " ")
    if found := MINUTES.search(text):
        least = most = float(found["from"])
        if found["word"]:
            least, most = (0.0, most) if found["word"] == "under" else (least, float("inf"))
        elif found["to"]:
            most = float(found["to"])
        text = text.replace(found[0], " ")
    return Asked(tuple(word.rstrip("s") for word in _plain(text).split()), least, most, unused)


def _plain(text: str) -> str:
    """Without case, accents and hyphens."""
    return name_order(text).replace("-", " ")


def _with_use(circuits: list[tuple[Circuit, float]]) -> list[Found]:
    day = today()
    planned = PlannedSession.objects.standing().filter(circuit__in=[circuit.pk for circuit, _ in circuits])
    uses: dict[int, list[tuple[date, UUID]]] = {}
    for row in planned.select_related("week"):
        if row.date <= day:
            uses.setdefault(row.circuit_id, []).append((row.date, row.key))
    recent = [key for rows in uses.values() for of, key in rows if of > day - REMEMBERED]
    went = how_it_went(recent)
    found = []
    for circuit, minutes in circuits:
        rows = uses.get(circuit.pk, [])
        names = [station.options.all()[0].movement.name for station in circuit.stations.all() if station.options.all()]
        found.append(
            Found(
                circuit=circuit,
                minutes=minutes,
                movements=tuple(names),
                used=len(rows),
                last=max((of for of, _ in rows), default=None),
                went=_together([went[key] for _, key in rows if key in went]),
            )
        )
    newest = date.min
    return sorted(found, key=lambda one: (one.last or newest, name_order(one.circuit.name)), reverse=True)


def _together(went: list[Went]) -> Went | None:
    logged = sum(one.logged for one in went)
    if not logged:
        return None
    rated = [one for one in went if one.rpe is not None]
    weight = sum(one.logged for one in rated)
    return Went(
        logged,
        sum(one.held * one.logged for one in went) / logged,
        sum((one.rpe or 0.0) * one.logged for one in rated) / weight if weight else None,
    )
