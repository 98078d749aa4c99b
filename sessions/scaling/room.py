"""The athletes who meet a circuit: what they can do, what they may do and what is set for them, as arrays."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import NO_PIN, QUANTILE, REFILL, REST

__all__ = ["NO_PIN", "Room"]


@dataclass(frozen=True, eq=False)
class Room:
    """Capacities of n athletes for S stations with ladders of up to L rungs.

    `engine_mean[engine]` (n, 3) holds log CP [W], log W' [J], log k [s] (running: m/s, m, s), `engine_cov[engine]`
    (n, 3, 3) its covariance. `repetitions_mean` (n, S, L) holds the log of the most unbroken repetitions, or seconds
    of a hold, at that rung (at its load, where it has one), `repetitions_sd` its SD; both NaN where not applicable.
    `allowed` (n, S, L) is False where an athlete must not or cannot do the movement.

    Everything else may be None. `paced_mean` (n, S, L, 3) and `paced_cov` (n, S, L, 3, 3): of paced movements the log
    of the critical rate [repetitions a minute], of W' [repetitions a minute × s] and of k [s], NaN elsewhere; where
    they are missing the unbroken repetitions count. `fitness` (n,) general fitness as a z-score in the gym, 0 unless
    known. `unknown` (n, S, L): a movement on which nobody was ever tested, for which the written dose is the anchor.
    `refill` (n,) how many times slower W' comes back than in the differential model.

    Cautions: `untested` (n, S, L) for a first time; `newcomer_week` (n,) 1 to 4 of the first weeks or of those after a
    break, 0 for none; `most_in_session` (n, S, L) the most in a session of what makes sore, in the unit of the dose,
    inf for no limit; `no_target` (n,) for those whose coach sets everything.

    `sure` is how likely somebody is to hold what is asked, with nothing left in the tank.

    Set by hand, free of all those: `pinned_rung` (n, S), a rung, `REST` or `NO_PIN`; `pinned_dose` (n, S) there, above
    0, or 0 at rest; `pinned_rounds` (n, S) there, 0 for what the method finds.
    """

    engine_mean: Mapping[str, Array]
    engine_cov: Mapping[str, Array]
    repetitions_mean: Array
    repetitions_sd: Array
    allowed: BoolArray
    paced_mean: Array | None = None
    paced_cov: Array | None = None
    fitness: Array | None = None
    unknown: BoolArray | None = None
    untested: BoolArray | None = None
    newcomer_week: IntArray | None = None
    most_in_session: Array | None = None
    no_target: BoolArray | None = None
    refill: Array | None = None
    pinned_rung: IntArray | None = None
    pinned_dose: Array | None = None
    pinned_rounds: IntArray | None = None
    sure: float = 1.0 - QUANTILE

    def __len__(self) -> int:
        return len(self.allowed)

    def take(self, rows: Any) -> "Room":
        """The same room with some of its athletes."""
        return Room(**{field.name: _rows(getattr(self, field.name), rows) for field in fields(self)})

    @property
    def week(self) -> IntArray:
        """Week of the first four, 0 for none, (n,)."""
        return np.zeros(len(self), np.int64) if self.newcomer_week is None else self.newcomer_week

    @property
    def athlete_refill(self) -> Array:
        """ρ of every athlete, (n,)."""
        return np.full(len(self), REFILL) if self.refill is None else self.refill

    @property
    def pinned(self) -> BoolArray:
        """Where a target is set by hand, (n, S)."""
        if self.pinned_rung is None:
            return np.zeros(self.allowed.shape[:2], bool)
        return np.asarray(self.pinned_rung != NO_PIN, bool)

    def flags(self, name: str) -> BoolArray:
        """`unknown` or `untested`, (n, S, L), False everywhere where it is None."""
        value: BoolArray | None = getattr(self, name)
        return np.zeros(self.allowed.shape, bool) if value is None else value

    def validate(self, circuit: Circuit) -> None:
        """Raise ValueError when the arrays do not fit the circuit, or what is asked of them makes no sense."""
        stations = [len(station.options) for station in circuit.stations]
        self._validate_shapes((len(self), len(stations), max(stations)))
        for name in {option.engine for station in circuit.stations for option in station.options} - {None}:
            if name not in self.engine_mean or name not in self.engine_cov:
                raise ValueError(f"The room has no estimates for the {name}.")
        for s, station in enumerate(circuit.stations):
            for rung, option in enumerate(station.options):
                if option.engine and not np.isfinite(self.engine_mean[option.engine][self.allowed[:, s, rung]]).all():
                    raise ValueError(
                        f"Station {s + 1}: somebody has no estimate of the {option.engine}, nor is kept from it."
                    )
        if not np.isin(self.week, range(5)).all():
            raise ValueError("The week of a newcomer runs from 0, for none, to 4.")
        if self.most_in_session is not None and not (self.most_in_session >= 0.0).all():
            raise ValueError("The most in a session must be zero or more, and may not be missing.")
        if not 0.5 <= self.sure < 1.0:
            raise ValueError("How sure a dose is lies between 0.5 and 1.")
        if not (self.athlete_refill > 0.0).all():
            raise ValueError("The refill of W' must be above zero.")
        if self.fitness is not None and not np.isfinite(self.fitness).all():
            raise ValueError("General fitness may not be missing: give 0 where nothing is known.")
        if self.pinned_rung is not None:
            self._validate_pins(circuit, np.array(stations))

    def _validate_shapes(self, shape: tuple[int, int, int]) -> None:
        expected: dict[str, tuple[int, ...]] = {
            "repetitions_mean": shape, "repetitions_sd": shape, "allowed": shape,
            "paced_mean": (*shape, 3), "paced_cov": (*shape, 3, 3), "unknown": shape, "untested": shape,
            "most_in_session": shape, "fitness": shape[:1], "newcomer_week": shape[:1], "no_target": shape[:1],
            "refill": shape[:1], "pinned_rung": shape[:2], "pinned_dose": shape[:2], "pinned_rounds": shape[:2],
        }  # fmt: skip
        for name, wanted in expected.items():
            array = getattr(self, name)
            if array is not None and array.shape != wanted:
                raise ValueError(f"The room's {name} must have the shape {wanted}, not {array.shape}.")
        if (self.paced_mean is None) != (self.paced_cov is None):
            raise ValueError("Give paced_mean and paced_cov together.")

    def _validate_pins(self, circuit: Circuit, rungs: IntArray) -> None:
        assert self.pinned_rung is not None
        if self.pinned_dose is None:
            raise ValueError("A target set by hand needs its dose.")
        rung, dose = self.pinned_rung, np.where(self.pinned, self.pinned_dose, 1.0)
        if not ((rung >= NO_PIN) & (rung < rungs)).all():
            raise ValueError("A target set by hand stands on a rung that its station has not; choose one of its list.")
        if not (np.isfinite(dose) & np.where(rung == REST, dose == 0.0, dose > 0.0)).all():
            raise ValueError("A dose set by hand must be above zero, and zero at rest.")
        rounds, most = self.pinned_rounds, np.inf if circuit.format == "as_many" else circuit.rotations
        if rounds is not None and not ((rounds >= 0) & (rounds <= most)).all():
            raise ValueError("Rounds set by hand lie between 0, for what the method finds, and those of the circuit.")


def _rows(value: Any, rows: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: array[rows] for name, array in value.items()}
    return value if value is None or isinstance(value, float) else value[rows]
