"""The numbers of the method that a gym can set or that its logs correct."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Method:
    """`headrooms` by intent, from the hardest to the easiest; SDs of the log of what can be held that the model itself
    does not know, of engines and paced movements, and of repetitions.
    """

    headrooms: Mapping[str, float]
    engine_model_sd: float
    repetitions_model_sd: float

    @property
    def hard(self) -> float:
        return self.headrooms["hard"]

    def levels(self, headroom: float) -> list[float]:
        """The headrooms of all harder days, from the hardest, and this one."""
        return sorted({level for level in self.headrooms.values() if level < headroom}) + [headroom]
