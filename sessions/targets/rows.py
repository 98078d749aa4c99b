"""Targets as rows: frozen in a publication, or shown in a preview."""

import json
from collections.abc import Iterator

import numpy as np

from athletes.estimates.people import People
from sessions.circuits.definition import Definition, Option
from sessions.models import Publication, PublishedSession
from sessions.scaling.scale import scale
from sessions.scaling.targets import Bound, Swap, Targets
from sessions.targets.circuit import circuit_of
from sessions.targets.comeback import with_short_windows
from sessions.targets.history import History
from sessions.targets.occasion import Occasion
from sessions.targets.room import efforts_behind, meeting_of

# In this order `target_rows` gives its values; `target_values` those from "athlete" on.
TARGET_FIELDS = [
    "publication",
    "session",
    "athlete",
    "station",
    "rung",
    "dose",
    "load_kg",
    "hold",
    "done_by_s",
    "headroom",
    "probability",
    "sd_log",
    "detail",
]
# From the wanted dose to the one that was set, see `Targets`: what the arithmetic page shows.
STEPS = ("most", "alone", "free", "shared", "whole")
NUMBERS = ("hold", "done_by_s", "headroom", "probability", "sd_log")
MOST_NAMES = 3  # benchmarks named in an explanation


def target_values(definition: Definition, people: People, history: History, occasion: Occasion) -> Iterator[tuple]:
    """Values for `TARGET_FIELDS` after the first two, one per athlete and station; `detail` as a dict.

    Raises ValueError, in words for the coach, for a circuit that cannot be scaled.
    """
    circuit = circuit_of(definition)
    circuit.validate()
    meeting = meeting_of(definition, circuit, people, history, occasion)
    quantile = 1.0 - occasion.caution
    targets = scale(circuit, meeting.room, occasion.intent, quantile=quantile)
    targets = with_short_windows(circuit, meeting.room, targets, meeting.weeks_back, quantile)
    columns, weeks_back = _columns(targets, meeting.load_kg), meeting.weeks_back.tolist()
    for s, station in enumerate(definition.stations):
        settings = [occasion.settings.advice(option, people) for option in station.options]
        for row, athlete in enumerate(people.athletes):
            rung = columns["rung"][row][s]
            option = station.options[max(rung, 0)]
            detail = {
                "wanted": columns["wanted_dose"][row][s],
                "own_cap": columns["own_cap_dose"][row][s],
                "share": columns["share"][row][s],
                **{name: columns[name][row][s] for name in STEPS},
                "bound": Bound(columns["bound"][row][s]).name.lower(),
                "bound_by": columns["bound_by"][row][s] + 1,
                "swap": Swap(columns["swap"][row][s]).name.lower(),
                "demand": columns["demand"][row][s],
                "benchmarks": _benchmarks_behind(option, people, row),
                "tested": people.tested(row, option.movement.engine, option.movement.id),
            }
            if weeks_back[row]:
                detail["week_back"] = weeks_back[row]
            if rung >= 0 and settings[rung]:
                detail["setting"] = settings[rung][row]
            if detail["bound"] == "pinned":
                pin = occasion.pins[athlete.pk, s + 1]
                detail["pin"] = {"by": str(pin.made_by or ""), "reason": pin.reason}
            load_kg = columns["load_kg"][row][s] if rung >= 0 else None
            numbers = (columns[name][row][s] for name in NUMBERS)
            yield athlete.pk, s + 1, rung, columns["dose"][row][s], load_kg, *numbers, detail


def target_rows(
    publication: Publication, session: PublishedSession, people: People, history: History, occasion: Occasion
) -> list[tuple]:
    """Values for `TARGET_FIELDS` of a published session, ready for the database."""
    values = target_values(session.definition, people, history, occasion)
    return [(publication.pk, session.pk, *numbers, json.dumps(detail)) for *numbers, detail in values]


def _benchmarks_behind(option: Option, people: People, row: int) -> list[str]:
    """Names of the benchmarks that one athlete's number at this option rests on, the latest few."""
    return people.benchmarks(efforts_behind(option, people).get(row, []))[:MOST_NAMES]


def _columns(targets: Targets, load_kg: np.ndarray) -> dict[str, list]:
    """The arrays as nested lists of plain numbers: rounded to what is worth keeping, None for not a number."""
    plain = ("dose", "done_by_s", "headroom", "probability", "sd_log", "wanted_dose", "own_cap_dose", "share", *STEPS)
    columns = {name: np.round(getattr(targets, name), 4).tolist() for name in plain}
    for name in ("rung", "bound", "bound_by", "swap"):
        columns[name] = getattr(targets, name).tolist()
    columns["demand"] = np.round(targets.demand, 3).tolist()
    columns["hold"] = _or_none(targets.hold)
    at_rung = np.take_along_axis(load_kg, np.maximum(targets.rung, 0)[..., None], -1)[..., 0]
    columns["load_kg"] = _or_none(at_rung)
    return columns


def _or_none(values: np.ndarray) -> list:
    return np.where(np.isnan(values), None, np.round(values, 3).astype(object)).tolist()
