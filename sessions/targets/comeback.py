"""The first two weeks back: short work and long rests, as the published guidance for transition periods has it.

The dose of a short window is what the method and the ramp leave, cut to the seconds that may be worked, so the pace
stays what it would be; hold, headroom and probability are then predicted anew, with those doses as given.
"""

from dataclasses import replace

import numpy as np

from sessions.scaling.cautions import RAMP_SHARES, longest_work_s
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.constants import REST, ROUNDING_SLACK
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from sessions.scaling.steps import step_of
from sessions.scaling.targets import Bound, Targets

SHORT_WEEKS = (1, 2)
PREDICTED = ("dose", "hold", "done_by_s", "headroom", "probability")


def with_short_windows(circuit: Circuit, room: Room, targets: Targets, weeks: np.ndarray, quantile: float) -> Targets:
    """The targets of a room, with those in week 1 or 2 of their return (`weeks`, (n,)) on short windows.

    Doses set by hand stay as they are, and are done in the short window where that asks for no more pace than what is
    written; everyone else's targets stay as they are.
    """
    found = {name: np.array(getattr(targets, name)) for name in (*PREDICTED, "bound")}
    for week in SHORT_WEEKS:
        rows = np.flatnonzero(weeks == week)
        longest = longest_work_s(circuit.interval_s, week)
        short = _shortened(circuit, longest)
        if not rows.size or short == circuit:
            continue
        pinned = room.take(rows).pinned
        most, written = _doses(circuit, short, targets, rows, RAMP_SHARES[week - 1], longest)
        dose = np.where(pinned, targets.dose[rows], most)
        moved = (targets.rung[rows] != REST) & (~pinned | (dose <= written + ROUNDING_SLACK))
        own = replace(room.take(rows), ramp=None, pinned_rung=_rungs(targets, rows, dose), pinned_dose=dose)
        predicted = scale(short, own, quantile=quantile)
        for name in PREDICTED:
            found[name][rows] = np.where(moved, getattr(predicted, name), found[name][rows])
        found["bound"][rows] = np.where(moved & ~pinned, Bound.RETURN, found["bound"][rows])
    return replace(targets, **found)


def _shortened(circuit: Circuit, longest: float) -> Circuit:
    """The same circuit with no more than `longest` [s] of work in an interval; getting set is no work.

    A window holds the longest set-up of its ladder too; an engine with a shorter one begins later, not longer.
    """
    return replace(circuit, stations=tuple(_short(station, longest) for station in circuit.stations))


def _short(station: Station, longest: float) -> Station:
    window_s = float(min(station.work_window_s, max(option.setup_s for option in station.options) + longest))
    options = tuple(
        replace(option, setup_s=max(option.setup_s, window_s - longest)) if option.engine else option
        for option in station.options
    )
    return replace(station, work_window_s=window_s, options=options)


def _doses(circuit: Circuit, short: Circuit, targets: Targets, rows: np.ndarray, share: float, longest: float):
    """Doses (rows, S) for the short windows, in whole steps and at least one; and what is written for that time."""
    doses, written = np.zeros(targets.dose[rows].shape), np.zeros(targets.dose[rows].shape)
    for s, (station, own) in enumerate(zip(circuit.stations, short.stations, strict=True)):
        for rung, (option, cut) in enumerate(zip(station.options, own.options, strict=True)):
            here = targets.rung[rows, s] == rung
            seconds = min(own.work_window_s - cut.setup_s, longest)
            part = min(1.0, seconds / (station.work_window_s - option.setup_s))  # of the time, and so of the work
            asked = targets.dose[rows, s] * min(1.0, part / share)
            doses[:, s] = np.where(here, _whole(np.minimum(asked, _most(option, seconds)), option), doses[:, s])
            written[:, s] = np.where(here, min(option.dose * part, _most(option, seconds)), written[:, s])
    return doses, written


def _most(option: Option, seconds: float) -> float:
    return np.inf if option.engine else seconds / option.seconds_per_unit


def _whole(dose: np.ndarray, option: Option) -> np.ndarray:
    step = step_of(option.dose_kind)
    return np.maximum(np.floor(dose / step + ROUNDING_SLACK), 1.0) * step


def _rungs(targets: Targets, rows: np.ndarray, dose: np.ndarray) -> np.ndarray:
    return np.where(dose > 0, targets.rung[rows], REST)
