"""What the options of a circuit ask, as tables of numbers.

Stations come first and athletes last in the arrays of this part of the method, so that one operation runs over many
athletes. Engines and movements follow different laws: each kind has its own tables, with one row for every station
that has it on its ladder.
"""

from dataclasses import dataclass, fields

import numpy as np

from sessions.scaling.constants import ROUNDING_SLACK


class Tables:
    """Numbers of every option, (K, L), or of the options chosen for n athletes, (K, n); one column where all agree."""

    def each(self, change):
        """The same tables with every one of them changed."""
        return type(self)(*(change(getattr(self, field.name)) for field in fields(self)))

    def option(self, row, rung):
        """The numbers of one option."""
        return self.each(lambda table: table[row, min(rung, table.shape[1] - 1)])

    def at(self, rung):
        """The numbers at rungs (K, n)."""
        cells = {}

        def chosen(table):
            rows, length = table.shape
            if length == 1:
                return table
            if length not in cells:
                cells[length] = rung + length * np.arange(rows)[:, None]
            return table.ravel()[cells[length]]

        return self.each(chosen)


@dataclass(frozen=True, eq=False)
class Asked(Tables):
    """What is asked at the S stations: `wanted` is the prescription times the intent of the day, `wanted_steps` the
    same in whole steps of the dose, each `step`.
    """

    wanted: np.ndarray
    wanted_steps: np.ndarray
    least_dose: np.ndarray
    step: np.ndarray
    is_engine: np.ndarray


@dataclass(frozen=True, eq=False)
class EngineWork(Tables):
    """The work at the E stations that have an engine, an index into `Ladder.engine_names`.

    `window_s` is the work window without set-up, `rest_s` the time from one set to the next, `slow_s` the part of
    `Effort.seconds` that is the same for everyone. A monitor counts `offset` + `gain`·P in a window; ∛P for P where it
    `is_cubic`.
    """

    engine: np.ndarray
    window_s: np.ndarray
    rest_s: np.ndarray
    slow_s: np.ndarray
    offset: np.ndarray
    gain: np.ndarray
    is_cubic: np.ndarray

    def dose_at(self, power):
        """Dose done in the window at an even power [W >= 0] (running: speed, m/s)."""
        if self.is_cubic.any():
            power = np.cbrt(power, out=power.copy(), where=self.is_cubic)
        return self.offset + self.gain * power

    def power_for(self, dose):
        """Even power [W] (running: speed, m/s) that does a dose exactly within the window; never below zero."""
        power = np.maximum((dose - self.offset) / self.gain, 0.0)
        if self.is_cubic.any():
            np.multiply(power, power * power, out=power, where=self.is_cubic)
        return power


@dataclass(frozen=True, eq=False)
class MovementWork(Tables):
    """The work at the M stations that have a movement; `most_by_time` is the dose that fits into the window."""

    window_s: np.ndarray
    setup_s: np.ndarray
    seconds_per_unit: np.ndarray
    most_by_time: np.ndarray


def whole_steps(dose, step):
    """A dose rounded down to whole calories, repetitions or seconds, metres to 5 m."""
    steps = dose / step
    steps += ROUNDING_SLACK
    return np.floor(steps) * step
