"""Many results at once: which of them look wrong, by the same rules as `questions`, which asks about one."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from django.db.models import Q

from athletes.capacity import plausibility
from athletes.capacity.constants import LOAD_TRIAL_SD, POWER_TRIAL_SD, REPETITION_LIMIT, REPETITIONS_TRIAL_SD
from athletes.capacity.plausibility import Doubt
from athletes.capacity.priors import engine_prior, movement_prior
from athletes.estimates.observations import reduced
from athletes.estimates.people import engine_centre, sex_and_mass
from athletes.importing.sheets.rows import Entry
from athletes.models import Athlete, Benchmark, Estimate, Movement

MANY_REPETITIONS = f"More than {REPETITION_LIMIT} repetitions say little about a maximum."


@dataclass(frozen=True)
class Candidate:
    """A result that is understood, of an athlete who is here (`athlete.pk`) or is to be added."""

    entry: Entry
    athlete: Athlete


@dataclass(frozen=True)
class Answer:
    """What is to be said of a candidate: `refused` why it cannot be kept, else `question` what to ask; or nothing."""

    refused: str = ""
    question: str = ""


def doubts(candidates: list[Candidate], benchmarks: dict[int, Benchmark]) -> list[Answer]:
    """An answer for each candidate, seen from the estimates as they stand; two queries, however many they are.

    `benchmarks` come with movement and machine type.
    """
    used = [benchmarks[pk] for pk in {candidate.entry.bench for candidate in candidates}]
    known = _Expected([candidate.athlete for candidate in candidates], used)
    answers: list[Answer] = [Answer()] * len(candidates)
    by_bench = defaultdict(list)
    for place, candidate in enumerate(candidates):
        by_bench[candidate.entry.bench].append(place)
    for bench, places in by_bench.items():
        benchmark = benchmarks[bench]
        judged = [(place, *_reduced(benchmark, candidates[place].entry)) for place in places]
        for place, _, _, refusal in judged:
            answers[place] = Answer(refused=refusal)
        judged = [(place, value, duration) for place, value, duration, refusal in judged if not refusal]
        if judged:
            athletes = [candidates[place].athlete for place, _, _ in judged]
            codes = _codes(benchmark, known, athletes, *np.array([row[1:] for row in judged], float).T)
            for (place, *_), code in zip(judged, codes, strict=True):
                answers[place] = _answer(Doubt(int(code)), candidates[place].entry)
    return answers


class _Expected:
    """What is expected of some athletes on the engines and in the movements of some benchmarks.

    Where there is an estimate it is that, and otherwise the first guess, as in selectors.capacity. Two queries.
    """

    def __init__(self, athletes: list[Athlete], benchmarks: list[Benchmark]):
        self.athletes = list({id(athlete): athlete for athlete in athletes}.values())
        self.rows = {id(athlete): row for row, athlete in enumerate(self.athletes)}
        movements = [benchmark.movement for benchmark in benchmarks]
        self.engines, self.movements = {}, {}
        centre, facts = engine_centre(), sex_and_mass(self.athletes)
        for engine in {movement.engine for movement in movements} - {""}:
            self.engines[engine] = tuple(np.array(part) for part in engine_prior(engine, *facts, centre))
        for m in movements:
            if not m.engine:
                self.movements[m.pk] = movement_prior(m.typical_best, m.typical_spread, len(self.athletes))
        self._take_estimates()

    def _take_estimates(self) -> None:
        row_of = {athlete.pk: row for row, athlete in enumerate(self.athletes) if athlete.pk}
        wanted = Q(engine__in=self.engines) | Q(movement__in=self.movements)
        rows = Estimate.objects.filter(wanted, athlete__in=row_of) if row_of else Estimate.objects.none()
        columns = ("athlete_id", "engine", "movement_id", "mean", "covariance")
        for athlete, engine, movement, mean, covariance in rows.values_list(*columns):
            if engine:
                means, covariances = self.engines[engine]
                means[row_of[athlete]], covariances[row_of[athlete]] = mean, covariance
            else:
                means, sds = self.movements[movement]
                means[row_of[athlete]], sds[row_of[athlete]] = mean[0], covariance[0][0] ** 0.5

    def of(self, movement: Movement, athletes: list[Athlete]) -> tuple[np.ndarray, np.ndarray]:
        """Means and covariances of an engine, or means and SDs of a movement, in the order of `athletes`."""
        at = [self.rows[id(athlete)] for athlete in athletes]
        mean, spread = self.engines[movement.engine] if movement.engine else self.movements[movement.pk]
        return mean[at], spread[at]


def _reduced(benchmark: Benchmark, entry: Entry) -> tuple[float, float, str]:
    try:
        value, duration = reduced(benchmark, entry.value, entry.repetitions)
    except ValueError as error:
        return np.nan, np.nan, str(error)
    return value, np.nan if duration is None else duration, ""


def _codes(benchmark: Benchmark, known: _Expected, athletes: list[Athlete], value, duration) -> np.ndarray:
    movement = benchmark.movement
    mean, spread = known.of(movement, athletes)
    if movement.engine:
        surprise = plausibility.effort_surprise(value, duration, POWER_TRIAL_SD, mean, spread)
        return plausibility.doubt_effort(movement.engine, value, duration, surprise)
    lift = benchmark.measure == Benchmark.Measure.LIFT
    surprise = plausibility.surprise(value, mean, spread, LOAD_TRIAL_SD if lift else REPETITIONS_TRIAL_SD)
    judge = plausibility.doubt_one_rep_max if lift else plausibility.doubt_repetitions
    # Holds are counted in seconds and may be long; the bound on repetitions does not apply to them.
    bounded = np.ones_like(value) if benchmark.measure == Benchmark.Measure.HOLD else value
    return judge(bounded, surprise)


def _answer(doubt: Doubt, entry: Entry) -> Answer:
    if doubt == Doubt.IMPOSSIBLE:
        return Answer(refused=f"“{entry.typed}”: {plausibility.sentence(doubt)}")
    if doubt == Doubt.NONE and (entry.repetitions or 0) > REPETITION_LIMIT:
        return Answer(question=MANY_REPETITIONS)
    return Answer(question=plausibility.sentence(doubt))
