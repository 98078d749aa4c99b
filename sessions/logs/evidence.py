"""A log as the scaling method reads it, and what it says of the athlete as rows of evidence."""

from collections.abc import Iterable

import numpy as np

from athletes.capacity.arrays import Array
from athletes.capacity.constants import METHOD_VERSION
from athletes.capacity.power_duration import log_power
from athletes.capacity.strength import one_rep_max
from athletes.estimates.people import People
from athletes.models import Evidence
from sessions.circuits.definition import Definition, Movement
from sessions.models import Log, LogEntry, Target
from sessions.scaling.constants import REST
from sessions.scaling.logged import Asked, Findings, Logged, rated_step, read_log
from sessions.scaling.targets import Reason
from sessions.targets.compute import METHOD, circuit_of
from sessions.targets.detail import Detail, detail_of

LIFT_SD = 0.10  # of a maximum that a first session points to (a rough benchmark; ours)
LEAST_COST = 1e-6
MOST_AT_LOAD = 30.0  # repetitions from which on a load says nothing of the maximum (common practice)


def evidence_rows(
    log: Log, entries: Iterable[LogEntry], targets: list[Target], people: People, row: int = 0
) -> list[Evidence]:
    """What a standing log of one athlete says, from the entries of its stations and the targets it answers.

    The athlete is the one at `row` of `people`, as known without the log. Nothing where the session's targets are not
    complete, and from a session that was stopped or in which something hurt; whether the class ended early is not asked
    here (`class_end`). Of targets that an earlier method made it only says what was done: a step of 0.
    """
    definition = log.session.definition
    asked = {target.station: target for target in targets}
    done = {entry.station: entry for entry in entries}
    details = {station: detail_of(target) for station, target in asked.items()}
    if log.pain or log.stopped or len(asked) != len(definition.stations):
        return []
    stations = [station for station in sorted(asked) if station in done and asked[station].rung != REST]
    if not definition.on_the_clock:
        return _off_the_clock(log, definition, asked, details, stations)
    if any(detail.method != METHOD for detail in details.values()):
        return [_did(log, definition, asked[station]) for station in stations if done[station].rounds]
    findings = read_log(circuit_of(definition, 0.0), _asked(asked, details), _logged(log, definition, done))
    return [_evidence(log, definition, asked[station], details[station], findings, people, row) for station in stations]


def _off_the_clock(
    log: Log, definition: Definition, asked: dict[int, Target], details: dict[int, Detail], stations: list[int]
) -> list[Evidence]:
    """What is not on the clock says by its rating alone: a time reached mixes skill at pacing, ways and breaks."""
    present = np.array([[station in stations for station in sorted(asked)]])
    step = rated_step(_asked(asked, details), np.array([np.nan if log.rpe is None else log.rpe]), present)
    rows = [_did(log, definition, asked[station]) for station in stations]
    for row, station in zip(rows, stations, strict=True):
        row.step = float(step[0, station - 1])
    return rows


def _asked(asked: dict[int, Target], details: dict[int, Detail]) -> Asked:
    stations = sorted(asked)
    row = lambda values: np.array([values], float)  # noqa: E731
    return Asked(
        rung=np.array([[asked[s].rung for s in stations]]),
        dose=row([asked[s].dose for s in stations]),
        rounds=np.array([[asked[s].rounds or 0 for s in stations]]),
        own_dose=row([details[s].own for s in stations]),
        headroom=row([asked[s].headroom for s in stations]),
        demand=np.array([[details[s].demand or (0.0,) * len(stations) for s in stations]], float),
        cost=row([details[s].cost for s in stations]),
        free=row([details[s].free for s in stations]),
        untested=np.array([[details[s].untested for s in stations]]),
        together=np.array([[details[s].reason == Reason.TOGETHER for s in stations]]),
    )


def _logged(log: Log, definition: Definition, done: dict[int, LogEntry]) -> Logged:
    def column(name: str) -> Array:
        values = [getattr(done[s.position], name) if s.position in done else None for s in definition.stations]
        return np.array([[np.nan if value is None else value for value in values]], float)

    rpe = np.array([np.nan if log.rpe is None else log.rpe])
    return Logged(column("rounds"), column("dose"), rpe, column("open_last"))


def _evidence(
    log: Log, definition: Definition, target: Target, detail: Detail, findings: Findings, people: People, row: int
) -> Evidence:
    """One station's row: a step, or a measurement like a rough benchmark."""
    place, movement = target.station - 1, definition.option_of(target).movement
    found = _did(log, definition, target)
    found.step = float(findings.step[0, place])
    measured = float(findings.measured[0, place])
    if not np.isnan(measured) and detail.own > 0:
        assumed = _curve(people, row, movement)
        _measure(found, definition, target, detail, assumed, measured, float(findings.measured_sd[0, place]))
    return found


def _did(log: Log, definition: Definition, target: Target) -> Evidence:
    """One station's row that says no more than that it was done."""
    movement = definition.option_of(target).movement
    return Evidence(
        athlete_id=log.athlete_id,
        source=log.key,
        station=target.station,
        engine=movement.engine,
        movement_id=None if movement.engine else movement.id,
        performed_on=log.date,
        method_version=METHOD_VERSION,
    )


def _curve(people: People, row: int, movement: Movement) -> Array | None:
    """The curve that an athlete is known by on a machine or in a paced movement; None for the rest."""
    if movement.engine:
        return people.engine_mean[movement.engine][row]
    return people.paced(movement, movement.involvement)[0][row] if movement.paced else None


def _measure(
    row: Evidence,
    definition: Definition,
    target: Target,
    detail: Detail,
    curve: Array | None,
    measured: float,
    sd: float,
) -> None:
    """Turn a row into a measurement, `measured` (log) from the capacity that was assumed.

    On a machine and in a paced movement that is an even power or rate over the work time; of the rest the most
    unbroken repetitions or seconds, or at a load the maximum that goes with them.
    """
    option, factor = definition.option_of(target), float(np.exp(measured))
    row.step, row.sd_log = 0.0, sd
    if curve is not None:
        row.duration_s = definition.station_of(target).work_window_s - option.movement.setup_s
        if option.at_pace:
            row.duration_s = target.dose
        row.value = float(np.exp(log_power(row.duration_s, curve))) * factor
        return
    most = target.dose / max(detail.cost, LEAST_COST) * factor
    if target.load_kg is not None and option.loaded:
        row.value, row.sd_log = float(one_rep_max(target.load_kg, min(max(most, 1.0), MOST_AT_LOAD))), max(sd, LIFT_SD)
        return
    row.value = most
