"""The first two weeks back: short work and long rests, as the published guidance for transition periods has it.

The dose of a short window is what the method and the ramp leave, cut to the seconds that may be worked, so the pace
stays what it would be; hold, headroom and probability are then predicted anew, with those doses as given.
"""

from dataclasses import replace

import numpy as np

from sessions.scaling.cautions import RAMP_SHARES, longest_work_s
from sessions.scaling.circuit import Circuit, Option
from sessions.scaling.constants import METRES_STEP, REST, ROUNDING_SLACK
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from sessions.scaling.targets import Bound, Targets

SHORT_WEEKS = (1, 2)
PREDICTED = ("dose", "hold", "done_by_s", "headroom", "probability")


def with_short_windows(circuit: Circuit, room: Room, targets: Targets, weeks: np.ndarray, quantile: float) -> Targets:
    """The targets of a room, with those in week 1 or 2 of their return (`weeks`, (n,)) on short windows.

    Targets set by hand stay as they are, and so does everyone else's.
    """
    found = {name: np.array(getattr(targets, name)) for name in (*PREDICTED, "bound")}
    for week in SHORT_WEEKS:
        rows = np.flatnonzero(weeks == week)
        short = _shortened(circuit, week)
        if not rows.size or short == circuit:
            continue
        free = ~room.take(rows).pinned & (targets.rung[rows] != REST)
        dose = np.where(free, _doses(circuit, short, targets, rows, RAMP_SHARES[week - 1]), targets.dose[rows])
        own = replace(room.take(rows), ramp=None, pinned_rung=_rungs(targets, rows, dose), pinned_dose=dose)
        predicted = scale(short, own, quantile=quantile)
        for name in PREDICTED:
            found[name][rows] = np.where(free, getattr(predicted, name), found[name][rows])
        found["bound"][rows] = np.where(free, Bound.RETURN, found["bound"][rows])
    return replace(targets, **found)


def _shortened(circuit: Circuit, week: int) -> Circuit:
    """The same circuit with no more work in an interval than a week of the return allows; set-up is no work."""
    longest = longest_work_s(circuit.interval_s, week)
    stations = tuple(
        replace(station, work_window_s=float(min(station.work_window_s, _setup_s(station.options) + longest)))
        for station in circuit.stations
    )
    return replace(circuit, stations=stations)


def _doses(circuit: Circuit, short: Circuit, targets: Targets, rows: np.ndarray, share: float) -> np.ndarray:
    """Doses (rows, S) for the short windows, in whole steps and at least one."""
    doses = np.zeros(targets.dose[rows].shape)
    for s, (station, own) in enumerate(zip(circuit.stations, short.stations, strict=True)):
        for rung, option in enumerate(station.options):
            here = targets.rung[rows, s] == rung
            seconds = own.work_window_s - option.setup_s
            part = seconds / (station.work_window_s - option.setup_s)  # of the time, and so of the work at one pace
            asked = targets.dose[rows, s] * min(1.0, part / share)
            doses[:, s] = np.where(here, _whole(np.minimum(asked, _most(option, seconds)), option), doses[:, s])
    return doses


def _most(option: Option, seconds: float) -> float:
    return np.inf if option.engine else seconds / option.seconds_per_unit


def _whole(dose: np.ndarray, option: Option) -> np.ndarray:
    step = METRES_STEP if option.dose_kind == "metres" else 1.0
    return np.maximum(np.floor(dose / step + ROUNDING_SLACK), 1.0) * step


def _rungs(targets: Targets, rows: np.ndarray, dose: np.ndarray) -> np.ndarray:
    return np.where(dose > 0, targets.rung[rows], REST)


def _setup_s(options: tuple[Option, ...]) -> float:
    return max(option.setup_s for option in options)
