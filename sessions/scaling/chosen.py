"""The rungs chosen for some athletes, and what they ask."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sessions.scaling.constants import REST
from sessions.scaling.ladder import Ladder


@dataclass(frozen=True, eq=False)
class Chosen:
    """Rungs (S, n) of n athletes, and what they ask: `asked`, `engines` and `movements` as in `Ladder`.

    `present` is False at rest, where all other numbers are those of the first option and mean nothing.
    """

    ladder: Ladder
    rung: np.ndarray

    @cached_property
    def present(self):
        return self.rung != REST

    @cached_property
    def option(self):
        """The rungs with the first one at rest."""
        return np.maximum(self.rung, 0)

    @cached_property
    def asked(self):
        return self.ladder.asked.at(self.option)

    @cached_property
    def engines(self):
        return self.ladder.engines.at(self.option[self.ladder.engine_rows])

    @cached_property
    def movements(self):
        return self.ladder.movements.at(self.option[self.ladder.movement_rows])

    @cached_property
    def coupling(self):
        """How far a set at one station tires another, (S, S, n), and 1 for a station itself."""
        stations, length = self.ladder.exists.shape
        place = self.option + length * np.arange(stations)[:, None]
        return np.take(self.ladder.coupling, place[:, None] * (stations * length) + place)

    def weave(self, engines, movements, kind=float):
        """One array (S, n) of rows for engines (E, n) and rows for movements (M, n), each where it was chosen."""
        rows, whole = self.ladder.engine_rows, np.empty(self.rung.shape, kind)
        whole[self.ladder.movement_rows] = movements
        whole[rows] = np.where(self.asked.is_engine[rows], engines, whole[rows]) if self.ladder.mixed else engines
        return whole

    def parts(self, dose):
        """Doses (S, n) as the power (E, n) to hold at engines and the amount (M, n) of movements."""
        return self.engines.power_for(dose[self.ladder.engine_rows]), dose[self.ladder.movement_rows]
