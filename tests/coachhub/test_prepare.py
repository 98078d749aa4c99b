"""What is worked out before the web server starts: estimates, where an earlier method made them or none are there."""

import pytest

from athletes.models import Athlete, Estimate, Gym
from coachhub.prepare import prepare_database, prepare_estimates
from tests import gym


@pytest.fixture
def people(furnished) -> list[Athlete]:
    return gym.people(22)


def test_estimates_of_an_earlier_method_are_made_anew_at_the_upgrade(people):
    Estimate.objects.filter(engine="row").update(method_version="3", mean=[1, 2, 3])
    Athlete.objects.update(fitness=0)
    Gym.objects.update(priors={"method_version": "3"})
    said = []
    prepare_database(said.append)
    assert [line for line in said if "estimates anew" in line] == said != []
    assert set(Estimate.objects.values_list("method_version", flat=True)) == {"4"}
    assert not Athlete.objects.filter(fitness=0).exists()
    assert "row" in Gym.objects.get().priors["engines"]
    assert not prepare_estimates(said.append)
    assert len(said) == 1


def test_results_without_estimates_are_worked_out(people):
    Estimate.objects.all().delete()
    assert prepare_estimates(lambda text: None)
    assert Estimate.objects.filter(athlete=people[0]).exists()


def test_an_installation_without_people_has_nothing_to_do(db):
    assert not prepare_estimates(print)
