"""Many results at once: which of them look wrong, by the same rules as `questions`, which asks about one."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from athletes.capacity import plausibility
from athletes.capacity.constants import REPETITION_LIMIT
from athletes.capacity.plausibility import Doubt
from athletes.efforts.expectations import away, expected, of_people
from athletes.efforts.expectations import doubts as judge
from athletes.efforts.questions import meant, surprising
from athletes.estimates.observations import reduced
from athletes.estimates.people import people_of
from athletes.importing.sheets.rows import ReadCell
from athletes.models import Athlete, Benchmark

MANY_REPETITIONS = f"More than {REPETITION_LIMIT} repetitions say little about a maximum."


@dataclass(frozen=True)
class Candidate:
    """A result that is understood, of an athlete who is here (`athlete.pk`) or is to be added."""

    entry: ReadCell
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
            entries = [candidates[place].entry for place, _, _ in judged]
            of_them = known.of(benchmark, athletes)
            odd = away(benchmark, [e.value for e in entries], [e.repetitions for e in entries], *of_them)
            codes = judge(benchmark, *np.array([row[1:] for row in judged], float).T, odd)
            usual = expected(benchmark, *of_them).value
            for (place, value, _), code, once in zip(judged, codes, usual, strict=True):
                answers[place] = _answer(Doubt(int(code)), benchmark, candidates[place].entry, value, float(once))
    return answers


class _Expected:
    """What is expected of some athletes, who need not be kept yet, in some benchmarks: their estimates, else a first
    guess. Two queries."""

    def __init__(self, athletes: list[Athlete], benchmarks: list[Benchmark]):
        self.athletes = list({id(athlete): athlete for athlete in athletes}.values())
        self.rows = {id(athlete): row for row, athlete in enumerate(self.athletes)}
        movements = {b.movement_id for b in benchmarks if not b.movement.engine}
        self.people = people_of(self.athletes, movements)

    def of(self, benchmark: Benchmark, athletes: list[Athlete]) -> tuple[np.ndarray, np.ndarray]:
        """Means and covariances of the benchmark's engine or movement, in the order of `athletes`."""
        at = [self.rows[id(athlete)] for athlete in athletes]
        mean, covariance = of_people(benchmark, self.people)
        return mean[at], covariance[at]


def _reduced(benchmark: Benchmark, entry: ReadCell) -> tuple[float, float, str]:
    try:
        value, duration = reduced(benchmark, entry.value, entry.repetitions)
    except ValueError as error:
        return np.nan, np.nan, str(error)
    return value, np.nan if duration is None else duration, ""


def _answer(doubt: Doubt, benchmark: Benchmark, entry: ReadCell, value: float, usual: float) -> Answer:
    """What is to be said of an entry that reduces to `value`, where `usual` is expected (of a lift: once)."""
    about = meant(benchmark, entry.value, entry.repetitions, entry.unit)
    hint = f" Did you mean {about}?" if about else ""
    if doubt == Doubt.IMPOSSIBLE:
        return Answer(refused=f"“{entry.typed}”: {plausibility.sentence(doubt)}{hint}")
    if doubt in (Doubt.FAR_ABOVE, Doubt.FAR_BELOW):
        per_set = value / entry.value if benchmark.measure == Benchmark.Measure.LIFT else 1.0
        return Answer(question=surprising(doubt, benchmark, usual / per_set, entry.repetitions, entry.unit) + hint)
    if doubt == Doubt.NONE and (entry.repetitions or 0) > REPETITION_LIMIT:
        return Answer(question=MANY_REPETITIONS + hint)
    return Answer(question=plausibility.sentence(doubt))
