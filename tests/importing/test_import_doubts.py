"""A thousand results judged together are judged as `questions` judges one."""

from datetime import date

import pytest

from athletes.efforts.parsing import Result
from athletes.efforts.questions import question_about
from athletes.gym.read import today
from athletes.importing.doubts import Candidate, doubts
from athletes.importing.sheets.rows import ReadCell
from athletes.models import Athlete, Benchmark
from tests import gym

RESULTS = {
    "2000-m-row": [60, 300, 380, 430, 480, 700, 2000],
    "1-min-row-calories": [6, 15, 30, 60],
    "1500-m-run": [150, 240, 400, 900],
    "pull-ups-unbroken": [1, 6, 25, 90, 700],
    "goblet-squat": [10, 60, 150, 600],
}


@pytest.fixture
def candidates(furnished) -> list[Candidate]:
    athletes = [*gym.people(3), *gym.people(2, tested=False)]
    found = []
    for slug, values in RESULTS.items():
        benchmark = Benchmark.objects.get(slug=slug)
        repetitions = 5 if benchmark.measure == "lift" else None
        found += [
            Candidate(ReadCell(1, "x", benchmark.pk, str(value), date(2025, 11, 3), float(value), repetitions), athlete)
            for value in values
            for athlete in athletes
        ]
    return found


def benchmarks():
    return Benchmark.objects.select_related("movement__machine_type").in_bulk()


def test_each_is_judged_as_if_it_were_alone(candidates):
    found = benchmarks()
    kinds = set()
    for candidate, answer in zip(candidates, doubts(candidates, found), strict=True):
        entry = candidate.entry
        alone = question_about(candidate.athlete, found[entry.bench], Result(entry.value, entry.repetitions), today())
        if answer.refused:
            assert alone.startswith("This cannot be right as it stands")
        else:
            assert alone.startswith(answer.question)
            assert (" was expected." in answer.question) == (" was expected." in alone)
            assert bool(alone) == bool(answer.question)
        kinds.add((bool(answer.refused), answer.question.partition("?")[0]))
    assert len(kinds) == 4  # nothing odd, impossible, far above, far below


def test_newcomers_are_judged_by_the_first_guess_of_what_is_known_of_them(candidates):
    newcomer = Athlete(name="Nina Nu", board_name="Nina", sex="female", body_mass_kg=61)
    here = Athlete.objects.create(name="Nora Nu", board_name="Nora", sex="female", body_mass_kg=61)
    entries = [candidate.entry for candidate in candidates]
    together = doubts([Candidate(entry, who) for entry in entries for who in (newcomer, here)], benchmarks())
    assert together[0::2] == together[1::2]


def test_queries_do_not_grow(candidates, django_assert_num_queries):
    found = benchmarks()
    with django_assert_num_queries(3):
        doubts(candidates, found)
