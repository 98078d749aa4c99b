"""The bridge between rows and arrays: a frozen circuit and people in, targets out. The only place both worlds meet."""

import json
from collections.abc import Iterator
from datetime import date

import numpy as np

from athletes.capacity.strength import repetitions_at_load
from athletes.selectors.capacity import People
from sessions.models import Publication, PublishedSession
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.constants import UNTESTED_SHARE
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from sessions.scaling.targets import Bound, Swap, Targets

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
NUMBERS = ("hold", "done_by_s", "headroom", "probability", "sd_log")
MOST_NAMES = 3  # benchmarks named in an explanation
# A load above the maximum still gets a number, far below one repetition, so that logarithms stay finite.
LEAST_REPETITIONS = 0.2
# How many times faster than the maximum the repetitions at a load may change with it: bounds the spread of heavy loads.
STEEPNESS_BOUNDS = (1.0, 10.0)


def room_targets(definition: dict, people: People, *, day: date, intent: float, caution: float) -> Targets:
    """Targets of everyone in `people` for a circuit's definition on a day.

    `intent` is the factor of the day, `caution` the probability with which a target lies within reach. Raises
    ValueError, in words for the coach, for a circuit that cannot be scaled.
    """
    return scale(circuit_of(definition), room_of(definition, people, day), intent, quantile=1.0 - caution)


def circuit_of(definition: dict) -> Circuit:
    """The circuit as the scaling method reads it."""
    return Circuit(
        stations=tuple(
            Station(station["work_window_s"], tuple(_option(option) for option in station["options"]))
            for station in definition["stations"]
        ),
        rotations=definition["rotations"],
        interval_s=float(definition["interval_s"]),
        headroom=definition["headroom"],
    )


def room_of(definition: dict, people: People, day: date) -> Room:
    """What these people can do and may do at each rung of each station."""
    stations = definition["stations"]
    shape = (len(people), len(stations), max(len(station["options"]) for station in stations))
    mean, sd, allowed = np.full(shape, np.nan), np.full(shape, np.nan), np.zeros(shape, bool)
    share = np.ones(shape)
    for s, station in enumerate(stations):
        for rung, option in enumerate(station["options"]):
            movement = option["movement"]
            allowed[:, s, rung] = people.allowed(day, movement["id"], movement["involvement"])
            share[:, s, rung] = np.where(_known(option, people), 1.0, UNTESTED_SHARE)
            if not movement["engine"]:
                mean[:, s, rung], sd[:, s, rung] = _most_repetitions(option, people)
    return Room(people.engine_mean, people.engine_cov, mean, sd, allowed, share)


def benchmarks_behind(option: dict, people: People, row: int) -> list[str]:
    """Names of the benchmarks that one athlete's number at this option rests on, the latest few."""
    return people.benchmarks(_efforts(option, people).get(row, []))[:MOST_NAMES]


def _efforts(option: dict, people: People) -> dict[int, list[int]]:
    """Ids of the efforts behind everyone's number at this option, by row."""
    movement = option["movement"]
    if movement["engine"]:
        return people.engine_efforts[movement["engine"]]
    return people.movement_efforts.get(movement["id"], {})


def _known(option: dict, people: People) -> np.ndarray:
    """Who has any effort behind their number at this option, (n,) of bool."""
    known = np.zeros(len(people), bool)
    known[[row for row, efforts in _efforts(option, people).items() if efforts]] = True
    return known


def target_values(definition: dict, people: People, *, day: date, intent: float, caution: float) -> Iterator[tuple]:
    """Values for `TARGET_FIELDS` after the first two, one per athlete and station; `detail` as a dict."""
    columns = _columns(room_targets(definition, people, day=day, intent=intent, caution=caution))
    for s, station in enumerate(definition["stations"]):
        for row, athlete in enumerate(people.athletes):
            rung = columns["rung"][row][s]
            option = station["options"][max(rung, 0)]
            load_kg = option["load_kg"] if rung >= 0 else None
            detail = {
                "wanted": columns["wanted_dose"][row][s],
                "own_cap": columns["own_cap_dose"][row][s],
                "share": columns["share"][row][s],
                "bound": Bound(columns["bound"][row][s]).name.lower(),
                "bound_by": columns["bound_by"][row][s] + 1,
                "swap": Swap(columns["swap"][row][s]).name.lower(),
                "demand": columns["demand"][row][s],
                "benchmarks": benchmarks_behind(option, people, row),
                "tested": people.tested(row, option["movement"]["engine"], option["movement"]["id"]),
            }
            numbers = (columns[name][row][s] for name in NUMBERS)
            yield athlete.pk, s + 1, rung, columns["dose"][row][s], load_kg, *numbers, detail


def target_rows(publication: Publication, session: PublishedSession, people: People) -> list[tuple]:
    """Values for `TARGET_FIELDS` of a published session, ready for the database."""
    key = (str(session.key), session.date.isoformat())
    content = next(s for s in publication.content["sessions"] if (s["key"], s["date"]) == key)
    caution = publication.content["gym"]["caution"]
    values = target_values(session.circuit, people, day=session.date, intent=content["intent_factor"], caution=caution)
    return [(publication.pk, session.pk, *numbers, json.dumps(detail)) for *numbers, detail in values]


def _columns(targets: Targets) -> dict[str, list]:
    """The arrays as nested lists of plain numbers: rounded to what is worth keeping, None for not a number."""
    columns = {
        name: np.round(getattr(targets, name), 4).tolist()
        for name in ("dose", "done_by_s", "headroom", "probability", "sd_log", "wanted_dose", "own_cap_dose", "share")
    }
    for name in ("rung", "bound", "bound_by", "swap"):
        columns[name] = getattr(targets, name).tolist()
    columns["demand"] = np.round(targets.demand, 3).tolist()
    columns["hold"] = np.where(np.isnan(targets.hold), None, np.round(targets.hold, 3).astype(object)).tolist()
    return columns


def _option(option: dict) -> Option:
    movement = option["movement"]
    return Option(
        engine=movement["engine"] or None,
        dose_kind=option["dose_kind"],
        dose=option["dose"],
        least_dose=option["least_dose"],
        seconds_per_repetition=movement["seconds_per_repetition"],
        setup_s=movement["setup_s"],
        involvement=tuple(movement["involvement"]),
        kcal_base=movement["kcal_base"],
        kcal_slope=movement["kcal_slope"],
        load_kg=option["load_kg"],
    )


def _most_repetitions(option: dict, people: People) -> tuple[np.ndarray, np.ndarray]:
    """Log of the most unbroken repetitions (or seconds), and its SD, at the option's load where it has one."""
    movement = option["movement"]
    mean, sd = people.movement(movement["id"], movement["typical_best"], movement["typical_spread"])
    if option["load_kg"] is None:
        return mean, sd
    # From the one-repetition maximum: repetitions at a load, and how fast they change with the maximum.
    most, nudged = (
        np.maximum(repetitions_at_load(np.exp(mean + step), option["load_kg"]), LEAST_REPETITIONS) for step in (0, 0.01)
    )
    steepness = np.clip(np.log(nudged / most) / 0.01, *STEEPNESS_BOUNDS)
    return np.log(most), sd * steepness
