"""Benchmarks that most tests of the pages need."""

from datetime import date, timedelta

import pytest

from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Movement


@pytest.fixture
def row_movement(db) -> Movement:
    return Movement.objects.create(name="Row", slug="row", kind="engine", engine="row")


@pytest.fixture
def row_2000(row_movement) -> Benchmark:
    return Benchmark.objects.create(
        name="2000 m row", slug="row-2000", movement=row_movement, measure="time_for_distance", fixed=2000
    )


@pytest.fixture
def pull_ups(db) -> Benchmark:
    movement = Movement.objects.create(name="Pull-up", slug="pull-up", kind="repetitions", typical_best=10)
    return Benchmark.objects.create(name="Most pull-ups", slug="pull-ups", movement=movement, measure="repetitions")


@pytest.fixture
def record(db):
    """Keep a result without being asked about it."""

    def keep(athlete: Athlete, benchmark: Benchmark, typed: str, on: date | None = None) -> Effort:
        day = on or today() - timedelta(days=10)
        return effort_record(
            athlete=athlete, benchmark=benchmark, typed=typed, performed_on=day, by=None, confirmed=True
        )

    return keep
