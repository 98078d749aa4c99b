"""What a number of athletes can do, as arrays: stored estimates, and the first guess where there is none."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np

from athletes.capacity.constants import ENGINES, METHOD_VERSION, PATTERNS
from athletes.capacity.priors import PUBLISHED, Centre, engine_prior, movement_prior
from athletes.models import Athlete, Effort, Estimate, Gym, Limitation

# A movement is out when it loads a forbidden pattern at least this much (common practice: when in doubt, out).
FORBIDDING_INVOLVEMENT = 0.3


@dataclass(frozen=True)
class Restriction:
    """A limitation as the method needs it: from when to when (that day not included), and what is out."""

    starts_on: date
    review_on: date | None
    patterns: frozenset[str]
    movements: frozenset[int]
    entered_at: datetime

    def forbids(self, day: date, movement_id: int, involvement: list[float]) -> bool:
        if day < self.starts_on or (self.review_on is not None and day >= self.review_on):
            return False
        loaded = {p for p, weight in zip(PATTERNS, involvement, strict=True) if weight >= FORBIDDING_INVOLVEMENT}
        return movement_id in self.movements or bool(self.patterns & loaded)


@dataclass(frozen=True, eq=False)
class People:
    """n athletes with arrays in their order; see sessions.scaling.room for the engines' shapes.

    `engine_efforts[engine]` and `movement_efforts[movement id]` hold, by row, the ids of the efforts behind a number,
    the latest first: own efforts where there are any, and otherwise those of the nearest engine or movement.
    `benchmark_names` gives the name of each effort's benchmark, `own` the engines and movements (ids) with own efforts,
    by row.
    """

    athletes: list[Athlete]
    engine_mean: dict[str, np.ndarray]
    engine_cov: dict[str, np.ndarray]
    engine_efforts: dict[str, dict[int, list[int]]]
    movement_estimates: dict[int, dict[int, tuple[float, float]]] = field(default_factory=dict)
    movement_efforts: dict[int, dict[int, list[int]]] = field(default_factory=dict)
    restrictions: dict[int, list[Restriction]] = field(default_factory=dict)
    benchmark_names: dict[int, str] = field(default_factory=dict)
    own: dict[int, set[str | int]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.athletes)

    def movement(self, movement_id: int, typical_best: float, typical_spread: float) -> tuple[np.ndarray, np.ndarray]:
        """Log of the athletes' best in a movement and its SD, (n,) each."""
        mean, sd = movement_prior(typical_best, typical_spread, len(self))
        for row, (own_mean, own_sd) in self.movement_estimates.get(movement_id, {}).items():
            mean[row], sd[row] = own_mean, own_sd
        return mean, sd

    def tested(self, row: int, engine: str, movement_id: int) -> bool:
        """Whether an athlete has own efforts on this engine or, where there is none, in this movement."""
        return (engine or movement_id) in self.own.get(row, ())

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
    """The athletes with these ids, in the order of their ids.

    Five queries, however many they are, and one more where someone is without an estimate.
    """
    athletes = list(Athlete.objects.filter(pk__in=athlete_ids).order_by("pk"))
    rows = {athlete.pk: row for row, athlete in enumerate(athletes)}
    kept = Estimate.objects.filter(athlete_id__in=rows)
    estimates = list(kept.values_list("athlete_id", "engine", "movement_id", "mean", "covariance", "efforts"))
    someone_is_new = len({athlete_id for athlete_id, engine, *_ in estimates if engine}) < len(athletes)
    people = _first_guesses(athletes, engine_centre() if someone_is_new else PUBLISHED)
    for athlete_id, engine, movement_id, mean, covariance, efforts in estimates:
        row = rows[athlete_id]
        if engine:
            people.engine_mean[engine][row], people.engine_cov[engine][row] = mean, covariance
            people.engine_efforts[engine][row] = efforts
        else:
            people.movement_estimates.setdefault(movement_id, {})[row] = (mean[0], covariance[0][0] ** 0.5)
            people.movement_efforts.setdefault(movement_id, {})[row] = efforts
    for athlete_id, restrictions in restrictions_of(rows).items():
        people.restrictions[rows[athlete_id]] = restrictions
    _add_efforts(people, rows)
    return people


def restrictions_of(athlete_ids: Iterable[int]) -> dict[int, list[Restriction]]:
    """What these athletes are kept from, by athlete; two queries at most."""
    found: dict[int, list[Restriction]] = {}
    for limitation in Limitation.objects.filter(athlete_id__in=athlete_ids).prefetch_related("movements"):
        found.setdefault(limitation.athlete_id, []).append(_restriction(limitation))
    return found


def _add_efforts(people: People, rows: dict[int, int]) -> None:
    """What is known of the efforts behind the numbers."""
    efforts = Effort.objects.standing().filter(athlete_id__in=rows)
    wanted = ("pk", "athlete_id", "benchmark__name", "benchmark__movement__engine", "benchmark__movement_id")
    for pk, athlete_id, name, engine, movement_id in efforts.values_list(*wanted):
        people.benchmark_names[pk] = name
        people.own.setdefault(rows[athlete_id], set()).add(engine or movement_id)


def sex_and_mass(athletes: list[Athlete]) -> tuple[np.ndarray, np.ndarray]:
    """What centres the first guess: sex ("" where not said) and body mass [kg] (NaN where not known), (n,) each."""
    sex = np.array([athlete.sex for athlete in athletes], dtype="U6")
    return sex, np.array([np.nan if a.body_mass_kg is None else a.body_mass_kg for a in athletes], float)


def engine_centre() -> Centre:
    """The centre of first guesses: as published, moved by what the gym's own athletes have taught. One query."""
    learnt = Gym.objects.filter(pk=1).values_list("priors", flat=True).first() or {}
    if learnt.get("method_version") != METHOD_VERSION:
        return PUBLISHED
    log_mean, log_sd = PUBLISHED.log_mean.copy(), PUBLISHED.log_sd.copy()
    for engine, own in learnt["engines"].items():
        row = ENGINES.index(engine)
        log_mean[row] += own["shift"]
        log_sd[row] = own["log_sd"]
    return Centre(log_mean, log_sd)


def _first_guesses(athletes: list[Athlete], centre: Centre) -> People:
    priors = {engine: engine_prior(engine, *sex_and_mass(athletes), centre) for engine in ENGINES}
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
        entered_at=limitation.created_at,
    )
