from types import SimpleNamespace

import numpy as np
import pytest

from athletes.capacity.power_duration import estimate
from athletes.capacity.priors import engine_prior
from sessions.scaling.ability import abilities_of
from sessions.scaling.chosen import Chosen
from sessions.scaling.crowd import crowd_of
from sessions.scaling.engine import hold_power, hold_power_gradient
from sessions.scaling.gradient import own_cap_gradient
from sessions.scaling.task import task_of
from tests.sessions.scaling.builders import circuit, engine_option, movement_option, room

PLAN = circuit(engine_option(), movement_option())
CONDITIONS = (42.0, 5, 120.0, 0.2, 0.15)


def abilities(people, quantile=0.2):
    """Of an engine with 0.2·CP between its sets, and a movement."""
    task = task_of(PLAN, 1.0, quantile)
    chosen = Chosen(task.ladder, np.zeros((2, len(people)), int))
    expected, cautious, _, sd = abilities_of(task, crowd_of(people, PLAN, ("row",)), chosen, np.array([[0.2]]))
    return SimpleNamespace(expected=expected, cautious=cautious, sd=sd)


def held(ability):
    effort = ability.effort
    return hold_power(effort.critical_power[0, 0], effort.w_prime[0, 0], effort.ramp_s[0, 0], *CONDITIONS)


def test_expected_ability_is_the_centre():
    expected = abilities(room(PLAN)).expected
    assert expected.effort.critical_power[0, 0] == pytest.approx(200.0)
    assert expected.most[0, 0] == pytest.approx(20.0)
    assert expected.effort.power(0.85)[0][0, 0] == pytest.approx(held(expected))


@pytest.mark.parametrize("quantile", [0.05, 0.2, 0.5])
def test_the_cautious_power_lies_at_its_quantile(quantile):
    people = room(PLAN, engine_sd=np.array([0.06, 0.15, 0.3]))
    draws = np.random.default_rng(1).multivariate_normal(
        people.engine_mean["row"][0], people.engine_cov["row"][0], 200_000
    )
    below = (hold_power(*np.exp(draws).T, *CONDITIONS) < held(abilities(people, quantile).cautious)).mean()
    assert below == pytest.approx(quantile, abs=0.015)  # first order: exact for a straight line


@pytest.mark.parametrize(("watts", "seconds"), [([], []), ([230.0], [470.0]), ([240.0, 420.0], [470.0, 50.0])])
def test_so_does_that_of_estimates_as_they_come_within_one_percent(watts, seconds):
    # After one effort critical power and W' are strongly correlated
    prior_mean, prior_cov = engine_prior("row", np.array([""]), np.array([np.nan]))
    mean, cov = estimate(np.array([watts]), np.array([seconds]), 0.03, prior_mean, prior_cov)
    people = room(PLAN)
    people.engine_mean["row"], people.engine_cov["row"] = mean, cov
    draws = np.random.default_rng(3).multivariate_normal(mean[0], cov[0], 200_000)
    target = held(abilities(people).cautious)
    assert target == pytest.approx(np.quantile(hold_power(*np.exp(draws).T, *CONDITIONS), 0.2), rel=0.01)


def test_the_cautious_repetitions_lie_at_their_quantile():
    assert abilities(room(PLAN)).cautious.most[0, 0] == pytest.approx(20.0 * np.exp(-0.841621 * 0.10), rel=1e-6)


def test_the_doubt_is_the_covariance_along_the_gradient():
    rng = np.random.default_rng(5)
    people, root = room(PLAN, n=20), 0.1 * rng.normal(size=(20, 3, 3))
    cov = root @ np.swapaxes(root, 1, 2)
    people.engine_cov["row"] = cov
    gradient = hold_power_gradient(people.engine_mean["row"], *CONDITIONS)
    expected = np.sqrt(np.einsum("na,nab,nb->n", gradient, cov, gradient))
    np.testing.assert_allclose(abilities(people).sd, [expected, np.full(20, 0.10)])


def test_an_exact_estimate_leaves_nothing_to_be_cautious_about():
    found = abilities(room(PLAN, engine_sd=0.0, most_sd=0.0))
    assert found.cautious.effort.critical_power[0, 0] == pytest.approx(200.0)
    assert found.sd.tolist() == [[0.0], [0.0]]


def test_the_gradient_of_an_own_cap_is_that_of_the_power_held():
    plan = circuit(engine_option(), movement_option(), engine_option("ski"))
    rung = np.array([[0, 0, 0], [-1, 0, 0]])
    gradient = own_cap_gradient(plan, room(plan, n=2), rung)
    busy = np.array([[20.0 + 42.0, np.nan, 42.0 + 20.0], [np.nan, np.nan, 20.0]])  # seconds at the other stations
    for i, s, engine in ((0, 0, "row"), (0, 2, "ski"), (1, 2, "ski")):
        theta = room(plan).engine_mean[engine][0]
        share = 0.55 * busy[i, s] / (180.0 - 42.0)
        np.testing.assert_allclose(gradient[i, s], hold_power_gradient(theta, 42.0, 5, 180.0, share, 0.15), rtol=1e-9)
    assert (gradient[:, 1] == 0.0).all()
    assert (gradient[1, 0] == 0.0).all()
