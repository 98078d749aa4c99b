import numpy as np
import pytest

from athletes.capacity.power_duration import estimate
from athletes.capacity.priors import engine_prior
from sessions.scaling.ability import Belief, belief_of, cautious, expected, log_sd
from sessions.scaling.engine import hold_power, hold_power_gradient
from sessions.scaling.ladder import choose, ladder_of
from tests.sessions.scaling.builders import circuit, engine_option, movement_option, room

PLAN = circuit(engine_option(), movement_option())
CONDITIONS = (42.0, 5, 120.0, 0.2, 0.15)


def belief(**kwargs):
    rung = np.zeros((1, 2), int)
    return belief_of(room(PLAN, **kwargs), choose(ladder_of(PLAN), rung), rung)


def test_expected_ability_is_the_centre():
    ability = expected(belief())
    assert ability.critical_power[0, 0] == pytest.approx(200.0)
    assert ability.most[0, 1] == pytest.approx(20.0)


@pytest.mark.parametrize("quantile", [0.05, 0.2, 0.5])
def test_the_cautious_power_lies_at_its_quantile(quantile):
    about = belief(engine_sd=np.array([0.06, 0.15, 0.3]))
    gradient = hold_power_gradient(about.mean, *CONDITIONS)
    ability = cautious(about, gradient, quantile)
    target = hold_power(ability.critical_power[0, 0], ability.w_prime[0, 0], ability.ramp_s[0, 0], *CONDITIONS)
    draws = np.random.default_rng(1).multivariate_normal(about.mean[0], about.cov[0], 200_000)
    below = (hold_power(*np.exp(draws).T, *CONDITIONS) < target).mean()
    assert below == pytest.approx(quantile, abs=0.015)  # first order: exact for a straight line


@pytest.mark.parametrize(("watts", "seconds"), [([], []), ([230.0], [470.0]), ([240.0, 420.0], [470.0, 50.0])])
def test_so_does_that_of_estimates_as_they_come_within_one_percent(watts, seconds):
    # After one effort critical power and W' are strongly correlated
    prior_mean, prior_cov = engine_prior("row", np.array([""]), np.array([np.nan]))
    mean, cov = estimate(np.array([watts]), np.array([seconds]), 0.03, prior_mean, prior_cov)
    about = Belief((np.array([0]), np.array([0])), mean, cov, np.zeros((1, 2)), np.zeros((1, 2)))
    ability = cautious(about, hold_power_gradient(mean, *CONDITIONS), 0.2)
    target = hold_power(ability.critical_power[0, 0], ability.w_prime[0, 0], ability.ramp_s[0, 0], *CONDITIONS)
    draws = np.random.default_rng(3).multivariate_normal(mean[0], cov[0], 200_000)
    assert target == pytest.approx(np.quantile(hold_power(*np.exp(draws).T, *CONDITIONS), 0.2), rel=0.01)


def test_the_cautious_repetitions_lie_at_their_quantile():
    about = belief()
    gradient = hold_power_gradient(about.mean, *CONDITIONS)
    assert cautious(about, gradient, 0.2).most[0, 1] == pytest.approx(20.0 * np.exp(-0.841621 * 0.10), rel=1e-6)


def test_an_exact_estimate_leaves_nothing_to_be_cautious_about():
    about = belief(engine_sd=0.0, most_sd=0.0)
    gradient = hold_power_gradient(about.mean, *CONDITIONS)
    assert cautious(about, gradient, 0.2).critical_power[0, 0] == pytest.approx(200.0)
    assert log_sd(about, gradient).tolist() == [[0.0, 0.0]]
