"""What a number of athletes can do, as arrays: stored estimates, and the first guess where there is none."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np
from django.db.models import Exists, OuterRef

from athletes.capacity.arrays import Array, BoolArray
from athletes.capacity.constants import ENGINES, PATTERNS
from athletes.capacity.movements import movement_prior, paced_prior
from athletes.capacity.people import People as Facts
from athletes.capacity.priors import engine_prior
from athletes.estimates.library import Described, Learnt, kin, learnt
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Estimate, Evidence, Limitation

# A movement is out when it loads a forbidden pattern at least this much (common practice: when in doubt, out).
FORBIDDING_INVOLVEMENT = 0.3
DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Restriction:
    """A limitation as the method needs it: from when to when (that day not included), and what is out."""

    starts_on: date
    review_on: date | None
    patterns: frozenset[str]
    movements: frozenset[int]
    entered_at: datetime
    kind: str = ""

    def holds(self, day: date) -> bool:
        return self.starts_on <= day and (self.review_on is None or day < self.review_on)

    def forbids(self, day: date, movement_id: int, involvement: Iterable[float]) -> bool:
        if not self.holds(day):
            return False
        loaded = {p for p, weight in zip(PATTERNS, involvement, strict=True) if weight >= FORBIDDING_INVOLVEMENT}
        return movement_id in self.movements or bool(self.patterns & loaded)


@dataclass(frozen=True, eq=False)
class People:
    """n athletes with arrays in their order; see sessions.scaling.room for the engines' shapes.

    `stored` holds mean and covariance by movement (id) and row; `efforts` by subject (an engine, or a movement's id)
    and row the ids of the efforts behind a number, the latest first: own ones, or those of the nearest kin.
    `benchmark_names` gives the name of each effort's benchmark; `own` the subjects with own results or logs, by row;
    `drift`, by subject and row too, the SD of what may have changed since in all of its efforts alike, and `moved` how
    far logs have moved a number since its last test; `tested_here` the movements that anybody in the gym was tested on
    or logged; `kin` the movements of one ladder.
    """

    athletes: list[Athlete]
    facts: Facts
    taught: Learnt
    engine_mean: dict[str, Array]
    engine_cov: dict[str, Array]
    stored: dict[int, dict[int, tuple[list, list]]] = field(default_factory=dict)
    efforts: dict[str | int, dict[int, list[int]]] = field(default_factory=dict)
    restrictions: dict[int, list[Restriction]] = field(default_factory=dict)
    benchmark_names: dict[int, str] = field(default_factory=dict)
    own: dict[int, set[str | int]] = field(default_factory=dict)
    drift: dict[str | int, dict[int, float]] = field(default_factory=dict)
    moved: dict[str | int, dict[int, float]] = field(default_factory=dict)
    tested_here: set[int] = field(default_factory=set)
    kin: dict[int, set[int]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.athletes)

    @property
    def fitness(self) -> Array:
        """SDs above the middle of the room, (n,)."""
        return np.array([athlete.fitness for athlete in self.athletes], float)

    def age(self, day: date) -> Array:
        """Years on a day, (n,); NaN where not known."""
        return _ages(self.athletes, day)

    def movement(self, movement: Described, involvement: Iterable[float]) -> tuple[Array, Array]:
        """Log of the athletes' best in a movement and its SD, (n,) each; of one that is not paced."""
        mean, sd = movement_prior(self.taught.movement(movement, involvement), self.facts)
        for row, own_mean, own_cov in self._kept(movement.id, numbers=1):
            mean[row], sd[row] = own_mean[0], own_cov[0][0] ** 0.5
        return mean, sd

    def paced(self, movement: Described, involvement: Iterable[float]) -> tuple[Array, Array]:
        """Curve of a paced movement, log of (rate/min, rate/min · s, s): means (n, 3) and covariances (n, 3, 3)."""
        mean, covariance = paced_prior(self.taught.movement(movement, involvement), self.facts)
        for row, own_mean, own_cov in self._kept(movement.id, numbers=3):
            mean[row], covariance[row] = own_mean, own_cov
        return mean, covariance

    def _kept(self, movement_id: int, numbers: int) -> Iterator[tuple[int, list, list]]:
        """What is stored of a movement, row by row, where it is as many numbers as asked for.

        A movement may have become paced since its estimates were stored, or since a circuit was frozen: one number
        says nothing of a curve, nor a curve of the most unbroken repetitions.
        """
        for row, (mean, covariance) in self.stored.get(movement_id, {}).items():
            if len(mean) == numbers:
                yield row, mean, covariance

    def drift_sd(self, subject: str | int) -> Array:
        """SD of what may have changed since in all efforts of an engine or a paced movement (id) alike, (n,)."""
        return self._by_row(self.drift, subject)

    def moved_by_logs(self, subject: str | int) -> Array:
        """What logs have added to the log of a capacity since its last test, (n,): of a curve, to all its powers."""
        return self._by_row(self.moved, subject)

    def _by_row(self, kept: dict[str | int, dict[int, float]], subject: str | int) -> Array:
        of = kept.get(subject, {})
        return np.array([of.get(row, 0.0) for row in range(len(self))], float)

    def tested(self, row: int, engine: str, movement_id: int) -> bool:
        """Whether an athlete has results or logs of this engine or, where there is none, of this movement."""
        return (engine or movement_id) in self.own.get(row, ())

    def known(self, row: int, engine: str, movement_id: int, near: Collection[int] = ()) -> bool:
        """Whether an athlete, or a close kin of the movement, was ever tested or logged there: another ergometer, its
        ladder, or one of `near`, the movements of the same swap ladder."""
        own = self.own.get(row, set())
        if engine:
            return engine in own or (engine != "run" and bool(own & set(ENGINES) - {"run"}))
        return bool(own & (self.kin.get(movement_id, {movement_id}) | set(near)))

    def benchmarks(self, efforts: list[int]) -> list[str]:
        """Names of the benchmarks behind a number, the latest first, each once."""
        return list(dict.fromkeys(self.benchmark_names[effort] for effort in efforts if effort in self.benchmark_names))

    def allowed(self, day: date, movement_id: int, involvement: Iterable[float]) -> BoolArray:
        """Who may do a movement on a day, (n,) of bool."""
        allowed = np.ones(len(self), bool)
        for row, restrictions in self.restrictions.items():
            allowed[row] = not any(r.forbids(day, movement_id, involvement) for r in restrictions)
        return allowed


def load_people(athlete_ids: list[int], movements: Collection[int] | None = None) -> People:
    """The athletes with these ids, in the order of their ids, with their estimates of `movements` (None: of all).

    Ten queries at most, however many they are.
    """
    athletes = list(Athlete.objects.filter(pk__in=athlete_ids).order_by("pk"))
    people = people_of(athletes, movements)
    rows = {athlete.pk: row for row, athlete in enumerate(athletes)}
    for athlete_id, restrictions in restrictions_of(rows).items():
        people.restrictions[rows[athlete_id]] = restrictions
    _add_results(people, rows)
    return people


def known_of(athlete_ids: Iterable[int]) -> People:
    """`people_of` the athletes with these ids, in the order of their ids. Five queries."""
    return people_of(list(Athlete.objects.filter(pk__in=athlete_ids).order_by("pk")))


def people_of(athletes: list[Athlete], movements: Collection[int] | None = None) -> People:
    """What athletes can do, who need not be kept yet: then a first guess. Two queries; results and limitations are not
    loaded."""
    people = _first_guesses(athletes, learnt())
    rows = {athlete.pk: row for row, athlete in enumerate(athletes) if athlete.pk}
    kept = Estimate.objects.filter(athlete_id__in=rows)
    if movements is not None:
        kept = kept.filter(movement_id__in=movements) | kept.filter(movement__isnull=True)
    columns = ("athlete_id", "engine", "movement_id", "mean", "covariance", "efforts", "drift_sd", "adjustment")
    for athlete_id, engine, movement_id, mean, covariance, efforts, drift_sd, moved in kept.values_list(*columns):
        row = rows[athlete_id]
        if engine:
            people.engine_mean[engine][row], people.engine_cov[engine][row] = mean, covariance
        else:
            people.stored.setdefault(movement_id, {})[row] = (mean, covariance)
        people.efforts.setdefault(engine or movement_id, {})[row] = efforts
        people.drift.setdefault(engine or movement_id, {})[row] = drift_sd
        people.moved.setdefault(engine or movement_id, {})[row] = moved
    return people


def restrictions_of(athlete_ids: Iterable[int]) -> dict[int, list[Restriction]]:
    """What these athletes are kept from, by athlete; two queries at most."""
    found: dict[int, list[Restriction]] = {}
    for limitation in Limitation.objects.filter(athlete_id__in=athlete_ids).prefetch_related("movements"):
        found.setdefault(limitation.athlete_id, []).append(_restriction(limitation))
    return found


def facts_of(athletes: list[Athlete], day: date) -> Facts:
    """What centres the first guess: sex, body mass and age on a day, as far as they are known."""
    sex = np.array([athlete.sex for athlete in athletes], dtype="U6")
    mass = np.array([np.nan if a.body_mass_kg is None else a.body_mass_kg for a in athletes], float)
    return Facts(sex, mass, _ages(athletes, day))


def _ages(athletes: list[Athlete], day: date) -> Array:
    years = [np.nan if a.born is None else max((day - a.born).days / DAYS_A_YEAR, 1.0) for a in athletes]
    return np.array(years, float)


def _add_results(people: People, rows: dict[int, int]) -> None:
    """Who was tested on what, and the names of the benchmarks."""
    done = Exists(Effort.objects.standing().filter(benchmark=OuterRef("pk")))
    wanted = ("pk", "name", "movement__engine", "movement_id", done)
    benchmarks = {}
    for pk, name, engine, movement_id, tested_here in Benchmark.objects.values_list(*wanted):
        benchmarks[pk] = name, engine or movement_id
        if tested_here:
            people.tested_here.add(movement_id)
    efforts = Effort.objects.standing().filter(athlete_id__in=rows).values_list("pk", "athlete_id", "benchmark_id")
    for pk, athlete_id, benchmark_id in efforts:
        if benchmark_id not in benchmarks:  # added since they were read
            continue
        people.benchmark_names[pk], subject = benchmarks[benchmark_id]
        people.own.setdefault(rows[athlete_id], set()).add(subject)
    logged = Evidence.objects.filter(athlete_id__in=rows).order_by().values_list("athlete_id", "engine", "movement_id")
    for athlete_id, engine, movement_id in logged.distinct():
        people.own.setdefault(rows[athlete_id], set()).add(engine or movement_id)
    people.tested_here.update(
        Evidence.objects.filter(movement__isnull=False).order_by().values_list("movement_id", flat=True).distinct()
    )
    people.kin.update(kin())


def _first_guesses(athletes: list[Athlete], taught: Learnt) -> People:
    facts = facts_of(athletes, today())
    priors = {engine: engine_prior(engine, facts, taught.centre) for engine in ENGINES}
    return People(
        athletes=athletes,
        facts=facts,
        taught=taught,
        engine_mean={engine: np.array(mean) for engine, (mean, _) in priors.items()},
        engine_cov={engine: np.array(cov) for engine, (_, cov) in priors.items()},
    )


def _restriction(limitation: Limitation) -> Restriction:
    return Restriction(
        starts_on=limitation.starts_on,
        review_on=limitation.review_on,
        patterns=frozenset(limitation.patterns),
        movements=frozenset(movement.pk for movement in limitation.movements.all()),
        entered_at=limitation.created_at,
        kind=limitation.kind,
    )
