"""The athletes who meet a circuit: what they can do, what they may do and what is set for them, as arrays."""

from dataclasses import dataclass, fields

import numpy as np

from sessions.scaling.constants import REST

NO_PIN = -2  # in `Room.pinned_rung`: nothing is set by hand here


@dataclass(frozen=True, eq=False)
class Room:
    """Capacities of n athletes for S stations with ladders of up to L rungs.

    `engine_mean[engine]` (n, 3) holds log CP [W], log W' [J], log k [s] (running: m/s, m, s), `engine_cov[engine]`
    (n, 3, 3) its covariance. `repetitions_mean` (n, S, L) holds the log of the most unbroken repetitions, or seconds
    of a hold, at that rung (at its load, where it has one), `repetitions_sd` its SD; both NaN where not applicable.
    `allowed` (n, S, L) is False where an athlete must not or cannot do the movement.

    What may be asked, each None for no such limit: `share` (n, S, L), 0 to 1, of the prescription at most; `most_dose`
    (n, S, L), >= 0, in the unit of the dose, per round at most, inf for no limit; `ramp` (n,), 0 to 1, the part of the
    dose that is asked for on the way back after a break. Set by hand, free of all those: `pinned_rung` (n, S), a rung,
    `REST` or `NO_PIN`, and `pinned_dose` (n, S) there, above 0, or 0 at rest.
    """

    engine_mean: dict[str, np.ndarray]
    engine_cov: dict[str, np.ndarray]
    repetitions_mean: np.ndarray
    repetitions_sd: np.ndarray
    allowed: np.ndarray
    share: np.ndarray | None = None
    most_dose: np.ndarray | None = None
    ramp: np.ndarray | None = None
    pinned_rung: np.ndarray | None = None
    pinned_dose: np.ndarray | None = None

    def __len__(self):
        return len(self.allowed)

    def take(self, rows):
        """The same room with some of its athletes."""
        return Room(**{field.name: _rows(getattr(self, field.name), rows) for field in fields(self)})

    @property
    def pinned(self):
        """Where a target is set by hand, (n, S)."""
        if self.pinned_rung is None:
            return np.zeros(self.allowed.shape[:2], bool)
        return self.pinned_rung != NO_PIN

    def validate(self, circuit):
        """Raise ValueError when the arrays do not fit the circuit, or limits or targets set by hand make no sense."""
        shape = (len(self), len(circuit.stations), max(len(station.options) for station in circuit.stations))
        self._validate_shapes(shape)
        self._validate_limits()
        if self.pinned_rung is not None:
            self._validate_pins(np.array([len(station.options) for station in circuit.stations]))

    def _validate_shapes(self, shape):
        for array in (self.repetitions_mean, self.repetitions_sd, self.allowed, self.share, self.most_dose):
            if array is not None and array.shape != shape:
                raise ValueError(f"The room's arrays must be {shape}, athletes, stations and rungs, not {array.shape}.")
        for array, expected in ((self.ramp, shape[:1]), (self.pinned_rung, shape[:2]), (self.pinned_dose, shape[:2])):
            if array is not None and array.shape != expected:
                raise ValueError(f"An array of the room must have the shape {expected}, not {array.shape}.")
        if (self.pinned_rung is None) != (self.pinned_dose is None):
            raise ValueError("A target set by hand needs both its rung and its dose.")

    def _validate_limits(self):
        for array, most, name in (
            (self.share, 1.0, "The share of the prescription"),
            (self.ramp, 1.0, "The part asked for after a break"),
            (self.most_dose, np.inf, "The most that may be asked"),
        ):
            if array is not None and not ((array >= 0.0) & (array <= most)).all():
                raise ValueError(f"{name} must lie between 0 and {most:g}, and may not be missing.")

    def _validate_pins(self, options):
        rung, dose = self.pinned_rung, np.where(self.pinned, self.pinned_dose, 1.0)
        if not ((rung >= NO_PIN) & (rung < options)).all():
            raise ValueError("A target set by hand stands on a rung that its station has not; choose one of its list.")
        if not (np.isfinite(dose) & np.where(rung == REST, dose == 0.0, dose > 0.0)).all():
            raise ValueError("A dose set by hand must be above zero, and zero at rest.")


def _rows(value, rows):
    if isinstance(value, dict):
        return {name: array[rows] for name, array in value.items()}
    return None if value is None else value[rows]
