"""What is expected of a test rests on tests, not on what logs have made of the doses."""

from uuid import uuid4

import pytest

from athletes.efforts.expectations import expected, of_people
from athletes.estimates.people import people_of
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Evidence, Movement
from tests import gym


def likely(athlete: Athlete, slug: str) -> float:
    benchmark = Benchmark.objects.select_related("movement__machine_type").get(slug=slug)
    return float(expected(benchmark, *of_people(benchmark, people_of([athlete]))).value[0])


@pytest.mark.parametrize(
    ("slug", "subject"), [("2000-m-row", {"engine": "row"}), ("pull-ups-unbroken", {"movement": "pull-up"})]
)
def test_what_logs_took_off_the_doses_changes_no_expectation(furnished, slug, subject):
    [athlete] = gym.people(1)
    before = likely(athlete, slug)
    of = {name: Movement.objects.get(slug=key) if name == "movement" else key for name, key in subject.items()}
    Evidence.objects.create(athlete=athlete, source=uuid4(), station=1, step=-0.15, performed_on=today(), **of)
    estimates_refresh(athletes=[athlete.pk])
    assert athlete.estimates.get(**of).adjustment == pytest.approx(-0.15)
    assert likely(athlete, slug) == pytest.approx(before)
