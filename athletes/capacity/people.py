"""What is known of athletes beside their efforts: sex, body mass and age. It centres the first guess, nothing else."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, IntArray

REFERENCE_MASS_KG = {"male": 82.0, "female": 68.0, "": 75.0}  # common practice
MASS_LOG_SD = 0.16  # spread of body mass within a sex (common practice)
REFERENCE_AGE = 35.0  # until then age changes nothing; beyond it capacity falls
AGE_SPREAD_YEARS = 8.0  # spread of the years beyond it among members (common practice)


@dataclass(frozen=True, eq=False)
class People:
    """n athletes: `sex` (n,) "male", "female" or "" (not stated), `body_mass` (n,) [kg] and `age` (n,) [years], NaN
    where not known.

    ValueError for an unknown sex, or a mass or age that is not above zero.
    """

    sex: np.ndarray
    body_mass: Array
    age: Array

    @classmethod
    def of(cls, sex: ArrayLike, body_mass: ArrayLike, age: ArrayLike = np.nan) -> "People":
        """Of one or n athletes; what is given broadcasts."""
        names, mass, years = np.broadcast_arrays(
            np.atleast_1d(np.asarray(sex, str)), np.asarray(body_mass, float), np.asarray(age, float)
        )
        return cls(names, mass, years)

    def __post_init__(self) -> None:
        if not np.isin(self.sex, list(REFERENCE_MASS_KG)).all():
            raise ValueError('Sex is "male", "female" or empty.')
        if (self.body_mass <= 0).any():
            raise ValueError("Body mass is in kilograms and above zero, or left out.")
        if (self.age <= 0).any():
            raise ValueError("An age is in years and above zero, or left out.")

    def __len__(self) -> int:
        return len(self.sex)

    def take(self, rows: IntArray) -> "People":
        """The same for some of them."""
        return People(self.sex[rows], self.body_mass[rows], self.age[rows])

    @property
    def position(self) -> Array:
        """Where they stand, (n, 3): side (1 male, −1 female, 0 not stated), log of the mass over that usual for the
        sex, years beyond 35; 0 where not known."""
        side = np.select([self.sex == "male", self.sex == "female"], [1.0, -1.0], 0.0)
        reference = np.select([self.sex == s for s in REFERENCE_MASS_KG], list(REFERENCE_MASS_KG.values()))
        years = np.maximum(np.nan_to_num(self.age) - REFERENCE_AGE, 0.0)
        return np.stack([side, np.nan_to_num(np.log(self.body_mass / reference)), years], 1)

    @property
    def unknown(self) -> Array:
        """Variance (n, 3) of the entries of `position` that are not known; 0 where they are."""
        missing = np.stack([self.sex == "", np.isnan(self.body_mass), np.isnan(self.age)], 1)
        return np.where(missing, np.square([1.0, MASS_LOG_SD, AGE_SPREAD_YEARS]), 0.0)

    def alike(self) -> list[IntArray]:
        """Row numbers of those of whom the same is known, group by group: in each all prior covariances are equal."""
        _, group = np.unique(self.unknown > 0, axis=0, return_inverse=True)
        return [np.flatnonzero(group.ravel() == g) for g in range(int(group.max(initial=-1)) + 1)]
