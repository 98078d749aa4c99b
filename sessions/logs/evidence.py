"""A log as the scaling method reads it, and what it says of the athlete as rows of evidence."""

import numpy as np

from athletes.capacity.constants import METHOD_VERSION
from athletes.capacity.logged import one_rep_max_evidence
from athletes.estimates.people import People
from athletes.models import Evidence
from sessions.circuits.definition import Definition, Option, Station
from sessions.models import Log, LogEntry, Target
from sessions.scaling.evidence import Evidence as Said
from sessions.scaling.evidence import Logged, evidence
from sessions.scaling.loads import most_repetitions
from sessions.scaling.room import Room
from sessions.scaling.targets import Bound
from sessions.targets.circuit import circuit_of

RETURN = Bound.RETURN.name.lower()


def evidence_rows(log: Log, entries: list[LogEntry], targets: list[Target], people: People) -> list[Evidence]:
    """What a standing log of one athlete says, from the entries of its stations and the targets it answers.

    `people` holds that athlete alone, as known without the log. Nothing where the session's targets are not complete,
    nothing from a session that was stopped or in which something hurt, from the way back after a break, whose windows
    are short, and from a class that ended before the last round at all stations.
    """
    definition = log.session.definition
    stations = definition.stations
    asked = {target.station: target for target in targets}
    done = {entry.station: entry for entry in entries}
    coming_back = any(target.detail["bound"] == RETURN for target in targets)
    if log.pain or log.stopped or coming_back or len(asked) != len(stations) or _cut_short(definition, asked, done):
        return []
    circuit = circuit_of(definition)
    logged = Logged(
        rung=_row(stations, lambda s: asked[s].rung, int),
        dose=_row(stations, lambda s: asked[s].dose),
        demand=np.array([[asked[s].detail["demand"] for s in range(1, len(stations) + 1)]], float),
        rounds=_row(stations, lambda s: done[s].rounds if s in done else np.nan),
        done_dose=_row(stations, lambda s: done[s].dose if s in done else np.nan),
        rpe=np.array([np.nan if log.rpe is None else log.rpe]),
    )
    said = evidence(circuit, _room(stations, asked, done, people), logged)
    rows = []
    for s, station in enumerate(stations):
        if not np.isnan(said.sd_log[0, s]):
            option = station.options[logged.rung[0, s]]
            rows.append(_evidence(log, s, option, said, _load(asked[s + 1], done[s + 1])))
    return [row for row in rows if np.isfinite(row.value)]


def _cut_short(definition: Definition, asked: dict[int, Target], done: dict[int, LogEntry]) -> bool:
    """Whether no station of several saw the last round: then the class ended early, and nobody missed anything."""
    made = [entry.rounds for station, entry in done.items() if station in asked and asked[station].rung >= 0]
    return len(made) > 1 and max(made) < definition.rotations


def _evidence(log: Log, s: int, option: Option, said: Said, load_kg: float | None) -> Evidence:
    """One station's row; its value is NaN where the repetitions say nothing of the lift."""
    movement, sd_log = option.movement, float(said.sd_log[0, s])
    row = Evidence(
        athlete_id=log.athlete_id,
        source=log.key,
        station=s + 1,
        performed_on=log.date,
        method_version=METHOD_VERSION,
        sd_log=sd_log,
    )
    if movement.engine:
        row.engine, row.value = movement.engine, float(said.power_w[0, s])
        row.duration_s = float(said.duration_s[0, s])
        return row
    row.movement_id, row.value = movement.id, float(said.repetitions[0, s])
    if load_kg is not None and option.load_kg is not None:
        row.value, row.sd_log = (float(x) for x in one_rep_max_evidence(load_kg, row.value, sd_log))
    return row


def _room(stations: tuple[Station, ...], asked: dict[int, Target], done: dict[int, LogEntry], people: People) -> Room:
    """The athlete's capacities at the rungs that were done, at the loads that were lifted."""
    shape = (1, len(stations), max(len(station.options) for station in stations))
    mean, sd = np.full(shape, np.nan), np.full(shape, np.nan)
    for s, station in enumerate(stations):
        for rung, option in enumerate(station.options):
            movement = option.movement
            if movement.engine:
                continue
            own = people.movement(movement.id, movement.typical_best, movement.typical_spread)
            if option.load_kg is not None:
                load = _load(asked[s + 1], done.get(s + 1)) if asked[s + 1].rung == rung else option.load_kg
                own = most_repetitions(*own, load)
            mean[:, s, rung], sd[:, s, rung] = own
    return Room(people.engine_mean, people.engine_cov, mean, sd, np.ones(shape, bool))


def _load(target: Target, entry: LogEntry | None) -> float | None:
    """What was lifted, or was to be lifted where the log does not say."""
    return entry.load_kg if entry and entry.load_kg is not None else target.load_kg


def _row(stations: tuple[Station, ...], read, kind=float) -> np.ndarray:
    return np.array([[read(s) for s in range(1, len(stations) + 1)]], kind)
