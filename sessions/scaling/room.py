"""The athletes who meet a circuit: what they can do and what they may do, as arrays."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Room:
    """Capacities of n athletes for S stations with ladders of up to L rungs.

    `engine_mean[engine]` (n, 3) holds log CP [W], log W' [J], log k [s] (running: m/s, m, s), `engine_cov[engine]`
    (n, 3, 3) its covariance. `repetitions_mean` (n, S, L) holds the log of the most unbroken repetitions, or seconds
    of a hold, at that rung (at its load, where it has one), `repetitions_sd` its SD; both NaN where not applicable.
    `allowed` (n, S, L) is False where an athlete must not or cannot do the movement. `share` (n, S, L), 0 to 1, is how
    much of the prescription may be asked for at most; None asks for all of it.
    """

    engine_mean: dict[str, np.ndarray]
    engine_cov: dict[str, np.ndarray]
    repetitions_mean: np.ndarray
    repetitions_sd: np.ndarray
    allowed: np.ndarray
    share: np.ndarray | None = None

    def take(self, rows):
        """The same room with some of its athletes."""
        return Room(
            engine_mean={engine: mean[rows] for engine, mean in self.engine_mean.items()},
            engine_cov={engine: cov[rows] for engine, cov in self.engine_cov.items()},
            repetitions_mean=self.repetitions_mean[rows],
            repetitions_sd=self.repetitions_sd[rows],
            allowed=self.allowed[rows],
            share=None if self.share is None else self.share[rows],
        )

    def validate(self, circuit):
        """Raise ValueError when the arrays do not fit the circuit, or a capacity that is needed is missing."""
        shape = (len(circuit.stations), max(len(station.options) for station in circuit.stations))
        for array in (self.repetitions_mean, self.repetitions_sd, self.allowed):
            if array.shape[1:] != shape:
                raise ValueError(f"The room's arrays must end in {shape}, stations and rungs, not {array.shape[1:]}.")
        for s, station in enumerate(circuit.stations):
            for rung, option in enumerate(station.options):
                if not self._known(option.engine, s, rung).all():
                    raise ValueError(f"Station {s + 1}, rung {rung}: an athlete who may do it has no estimate.")

    def share_at(self, rung):
        """The `share` at the rungs (n, S) that were chosen."""
        if self.share is None:
            return np.ones(rung.shape)
        return np.take_along_axis(self.share, np.maximum(rung, 0)[..., None], -1)[..., 0]

    def _known(self, engine, station, rung):
        """Whether each athlete has what an option needs, or need not have it: (n,)."""
        if engine is None:
            mean, sd = self.repetitions_mean[:, station, rung], self.repetitions_sd[:, station, rung]
            usable = np.isfinite(mean) & (sd >= 0)
        elif engine in self.engine_mean:
            mean, cov = self.engine_mean[engine], self.engine_cov[engine]
            usable = np.isfinite(mean).all(-1) & np.isfinite(cov).all((-1, -2))
        else:
            usable = False
        return usable | ~self.allowed[:, station, rung]
