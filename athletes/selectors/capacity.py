"""What a number of athletes can do, as arrays: stored estimates, and the first guess where there is none."""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from athletes.capacity.constants import ENGINES, PATTERNS
from athletes.capacity.priors import engine_prior, movement_prior
from athletes.models import Athlete, Effort, Estimate, Limitation

# A movement is out when it loads a forbidden pattern at least this much (common practice: when in doubt, out).
FORBIDDING_INVOLVEMENT = 0.3


@dataclass(frozen=True)
class Restriction:
    """A limitation as the method needs it: from when to when (that day not included), and what is out."""

    starts_on: date
    review_on: date | None
    patterns: frozenset[str]
    movements: frozenset[int]

    def forbids(self, day: date, movement_id: int, involvement: list[float]) -> bool:
        if day < self.starts_on or (self.review_on is not None and day >= self.review_on):
            return False
        loaded = {p for p, weight in zip(PATTERNS, involvement, strict=True) if weight >= FORBIDDING_INVOLVEMENT}
        return movement_id in self.movements or bool(self.patterns & loaded)


@dataclass(frozen=True, eq=False)
class People:
    """n athletes with arrays in their order; see sessions.scaling.room for the engines' shapes.

    `engine_efforts[engine]` and `movement_efforts[movement id]` hold, by row, the ids of the efforts behind a number,
    the latest first; `benchmark_names` the name of each effort's benchmark.
    """

    athletes: list[Athlete]
    engine_mean: dict[str, np.ndarray]
    engine_cov: dict[str, np.ndarray]
    engine_efforts: dict[str, dict[int, list[int]]]
    movement_estimates: dict[int, dict[int, tuple[float, float]]] = field(default_factory=dict)
    movement_efforts: dict[int, dict[int, list[int]]] = field(default_factory=dict)
    restrictions: dict[int, list[Restriction]] = field(default_factory=dict)
    benchmark_names: dict[int, str] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.athletes)

    def movement(self, movement_id: int, typical_best: float, typical_spread: float) -> tuple[np.ndarray, np.ndarray]:
        """Log of the athletes' best in a movement and its SD, (n,) each."""
        mean, sd = movement_prior(typical_best, typical_spread, len(self))
        for row, (own_mean, own_sd) in self.movement_estimates.get(movement_id, {}).items():
            mean[row], sd[row] = own_mean, own_sd
        return mean, sd

    def benchmarks(self, efforts: list[int]) -> list[str]:
        """Names of the benchmarks behind a number, the latest first, each once."""
        return list(dict.fromkeys(self.benchmark_names[effort] for effort in efforts if effort in self.benchmark_names))

    def allowed(self, day: date, movement_id: int, involvement: list[float]) -> np.ndarray:
        """Who may do a movement on a day, (n,) of bool."""
        allowed = np.ones(len(self), bool)
        for row, restrictions in self.restrictions.items():
            allowed[row] = not any(r.forbids(day, movement_id, involvement) for r in restrictions)
        return allowed


def load_people(athlete_ids: list[int]) -> People:
    """The athletes with these ids, in the order of their ids. Five queries, however many they are."""
    athletes = list(Athlete.objects.filter(pk__in=athlete_ids).order_by("pk"))
    rows = {athlete.pk: row for row, athlete in enumerate(athletes)}
    people = _first_guesses(athletes)
    estimates = Estimate.objects.filter(athlete_id__in=rows)
    for estimate in estimates.values_list("athlete_id", "engine", "movement_id", "mean", "covariance", "efforts"):
        athlete_id, engine, movement_id, mean, covariance, efforts = estimate
        row = rows[athlete_id]
        if engine:
            people.engine_mean[engine][row], people.engine_cov[engine][row] = mean, covariance
            people.engine_efforts[engine][row] = efforts
        else:
            people.movement_estimates.setdefault(movement_id, {})[row] = (mean[0], covariance[0][0] ** 0.5)
            people.movement_efforts.setdefault(movement_id, {})[row] = efforts
    for limitation in Limitation.objects.filter(athlete_id__in=rows).prefetch_related("movements"):
        people.restrictions.setdefault(rows[limitation.athlete_id], []).append(_restriction(limitation))
    names = Effort.objects.standing().filter(athlete_id__in=rows).values_list("pk", "benchmark__name")
    people.benchmark_names.update(names)
    return people


def _first_guesses(athletes: list[Athlete]) -> People:
    sex = np.array([athlete.sex for athlete in athletes], dtype="U6")
    mass = np.array([np.nan if a.body_mass_kg is None else a.body_mass_kg for a in athletes], float)
    priors = {engine: engine_prior(engine, sex, mass) for engine in ENGINES}
    return People(
        athletes=athletes,
        engine_mean={engine: np.array(mean) for engine, (mean, _) in priors.items()},
        engine_cov={engine: np.array(cov) for engine, (_, cov) in priors.items()},
        engine_efforts={engine: {} for engine in ENGINES},
    )


def _restriction(limitation: Limitation) -> Restriction:
    return Restriction(
        starts_on=limitation.starts_on,
        review_on=limitation.review_on,
        patterns=frozenset(limitation.patterns),
        movements=frozenset(movement.pk for movement in limitation.movements.all()),
    )
