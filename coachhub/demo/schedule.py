"""Who was tested in what, and when: four test weeks a year, and single retests in between."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from coachhub.demo.benchmarks import BENCHMARKS
from coachhub.demo.people import PEOPLE, Person
from coachhub.demo.truth import SEED
from sessions.weeks.read import monday_of

SCHEDULE, RESULT, TYPING = 1, 2, 3  # purposes of random numbers
WEEKS = 104
TEST_WEEKS = (94, 81, 68, 55, 42, 29, 16, 3)  # weeks ago; short and long tests in turn
SHORT = [
    ["Row 500 m", "Row 15 kcal"],
    ["Back squat rep-max", "Bench press rep-max", "Thruster rep-max"],
    ["Unbroken push-ups", "Unbroken ring rows", "Longest plank", "50 air squats for time"],
    ["Ski 500 m", "Ski 15 kcal", "Unbroken hip-extension sit-ups"],
    ["Fan bike 1-minute calories", "Unbroken box jumps", "Step-ups in 1:00"],
    ["Run 400 m", "Run 1 mile"],
]
LONG = [
    ["Row 2000 m", "Unbroken double-unders", "Unbroken swings, 24 kg"],
    ["Deadlift rep-max", "Overhead press rep-max"],
    ["Unbroken pull-ups", "Unbroken banded pull-ups", "Unbroken sit-ups", "Longest dead hang"],
    ["Ski 1000 m", "Unbroken wall balls"],
    ["Fan bike 10-minute calories", "Row 1-minute calories", "Burpees in 7:00"],
    ["Run 5 km"],
]
RETEST_CHANCE = 0.13  # a week, for someone who never misses a test
GAP_CHANCE = 0.15  # that someone was away for the better part of a year
# Nobody above this age is asked for it here.
TOO_OLD = {"Unbroken box jumps": 58, "Unbroken double-unders": 52, "Run 400 m": 60}


@dataclass(frozen=True)
class Appointment:
    """A person at a test, some weeks before the one of the seeding; `row` is the person's place in the list."""

    row: int
    person: Person
    benchmark: str
    week: int
    weekday: int
    day: date

    @property
    def weeks_ago(self) -> float:
        return self.week - self.weekday / 7

    def random(self, purpose: int) -> np.random.Generator:
        """Random numbers of this test alone, for one purpose."""
        place = [recipe.name for recipe in BENCHMARKS].index(self.benchmark)
        return np.random.default_rng([SEED, purpose, self.row, place, self.week, self.weekday])


def appointments(as_of: date) -> list[Appointment]:
    """Every test of the two years before `as_of`, that day not included, by day."""
    found = []
    for row, person in enumerate(PEOPLE):
        found += _of(row, person, as_of)
    return sorted(found, key=lambda a: (a.day, a.row, a.benchmark))


def _of(row: int, person: Person, as_of: date) -> Iterator[Appointment]:
    rng = np.random.default_rng([SEED, SCHEDULE, row])
    away = range(24, 60) if rng.random() < GAP_CHANCE else range(0)
    for week in range(WEEKS, -1, -1):
        # Drawn for every week, so that what is left out below moves nothing else.
        plan = _test_week(person, week, rng) | _retest(person, rng)
        if not person.last <= week <= person.weeks or week in away:
            continue
        for weekday, benchmark in sorted(plan):
            day = monday_of(as_of) + timedelta(days=weekday - 7 * week)
            if day < as_of and person.age <= TOO_OLD.get(benchmark, 99):
                yield Appointment(row, person, benchmark, week, weekday, day)


def _test_week(person: Person, week: int, rng: np.random.Generator) -> set[tuple[int, str]]:
    if week not in TEST_WEEKS:
        return set()
    days = LONG if TEST_WEEKS.index(week) % 2 else SHORT
    return {(day, name) for day, names in enumerate(days) if rng.random() < person.shows for name in names}


def _retest(person: Person, rng: np.random.Generator) -> set[tuple[int, str]]:
    chance, weekday, which = rng.random(), int(rng.integers(6)), int(rng.integers(len(BENCHMARKS)))
    return {(weekday, BENCHMARKS[which].name)} if chance < RETEST_CHANCE * person.shows else set()
