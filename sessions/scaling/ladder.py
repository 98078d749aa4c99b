"""The circuit's swap ladders."""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from athletes.capacity import ergometer
from sessions.scaling.constants import COUPLING
from sessions.scaling.demand import overlap
from sessions.scaling.effort import slow_seconds
from sessions.scaling.options import Asked, EngineWork, MovementWork, whole_steps
from sessions.scaling.repetitions import time_limit
from sessions.scaling.steps import step_of


@dataclass(frozen=True, eq=False)
class Ladder:
    """Every option of a circuit, padded with the station's first option where it `exists` (S, L) not.

    `engine_at` (E,) and `movement_at` (M,) are the stations of the rows of `engines` and `movements`. `coupling`
    (S, L, S, L) says how far a set at an option of one station tires an option of another, and is 1 within a station.
    """

    asked: Asked
    engines: EngineWork
    movements: MovementWork
    engine_at: tuple[int, ...]
    movement_at: tuple[int, ...]
    engine_names: tuple[str, ...]
    coupling: np.ndarray
    exists: np.ndarray

    @cached_property
    def mixed(self):
        """Whether an engine and a movement stand on the same ladder."""
        return len(self.engine_at) + len(self.movement_at) > len(self.exists)

    @cached_property
    def engine_rows(self):
        """`engine_at` as the index of rows in an array (S, ...)."""
        return _index(self.engine_at)

    @cached_property
    def movement_rows(self):
        """`movement_at` as the index of rows in an array (S, ...)."""
        return _index(self.movement_at)


def ladder_of(circuit, intent=1.0):
    """The `Ladder` of a valid circuit on a day."""
    length = max(len(station.options) for station in circuit.stations)
    grid = [station.options + station.options[:1] * (length - len(station.options)) for station in circuit.stations]

    def table(read, kind=float):
        return np.array([[read(option) for option in row] for row in grid], kind)

    is_engine = table(lambda option: option.engine is not None, bool)
    engine_at, movement_at = (np.flatnonzero(here).tolist() for here in (is_engine.any(1), ~is_engine.all(1)))
    names = tuple(dict.fromkeys(option.engine for row in grid for option in row if option.engine))
    window_s = np.array([[station.work_window_s] for station in circuit.stations]) - table(lambda o: o.setup_s)
    return Ladder(
        asked=_asked(table, is_engine, intent).each(_narrow),
        engines=_engines(table, window_s, circuit, names).each(lambda table: _narrow(table[engine_at])),
        movements=_movements(table, window_s).each(lambda table: _narrow(table[movement_at])),
        engine_at=tuple(engine_at),
        movement_at=tuple(movement_at),
        engine_names=names,
        coupling=_couplings(table(lambda option: option.involvement)),
        exists=np.array([[rung < len(station.options) for rung in range(length)] for station in circuit.stations]),
    )


def _asked(table, is_engine, intent):
    wanted = table(lambda option: option.dose) * min(intent, 1.0)
    step = table(lambda option: step_of(option.dose_kind))
    return Asked(wanted, whole_steps(wanted, step), table(lambda option: option.least_dose), step, is_engine)


def _engines(table, window_s, circuit, names):
    offset, gain = np.moveaxis(table(_monitor), -1, 0) * window_s
    rest_s = circuit.rotation_s - window_s
    return EngineWork(
        engine=table(lambda option: names.index(option.engine) if option.engine else 0, int),
        window_s=window_s,
        rest_s=rest_s,
        slow_s=slow_seconds(window_s, rest_s, int(circuit.rotations)),
        offset=offset,
        gain=gain,
        is_cubic=table(lambda option: option.dose_kind == "metres" and option.engine != "run", bool),
    )


def _monitor(option):
    """What a monitor counts in a second: at rest, and per watt (running: m/s) or its cubic root more."""
    if option.engine is None:
        return 0.0, 1.0
    if option.dose_kind == "kcal":
        base, slope = option.kcal_base, option.kcal_slope
        return ergometer.kcal_in(1.0, 0.0, base, slope), ergometer.kcal_in(1.0, 1.0, 0.0, slope)
    return 0.0, 1.0 if option.engine == "run" else ergometer.metres_in(1.0, 1.0)


def _movements(table, window_s):
    seconds_per_unit = table(lambda option: option.seconds_per_unit if option.engine is None else 1.0)
    return MovementWork(
        window_s=window_s,
        setup_s=table(lambda option: option.setup_s),
        seconds_per_unit=seconds_per_unit,
        most_by_time=time_limit(window_s, seconds_per_unit),
    )


def _couplings(involvement):
    coupling = COUPLING * overlap(involvement[:, :, None, None], involvement)
    for s, own in enumerate(coupling):
        own[:, s] = 1.0
    return coupling


def _narrow(table):
    """One column where the columns of every row are the same."""
    return table[:, :1] if (table == table[:, :1]).all() else table


def _index(rows):
    """Rows as a slice, which copies nothing, where they are evenly spaced; else as a list."""
    steps = {after - before for before, after in pairwise(rows)}
    if not rows or len(steps) > 1:
        return list(rows)
    return slice(rows[0], rows[-1] + 1, *steps)
