"""The retest list against what really happens: many results are simulated, everything is estimated again, and the drop
of the targets' SD is measured."""

import numpy as np
import pytest

from athletes.capacity import power_duration, repetitions
from athletes.capacity.constants import ENGINES, POWER_TRIAL_SD
from athletes.capacity.joint import engines_covariance, quantities_covariance
from athletes.capacity.power_duration import log_power, log_power_gradient
from athletes.capacity.priors import engines_prior
from athletes.capacity.retest import NONE, after_result, expected_gain, propose, sd_after

ROW, SKI, BIKE, RUN = range(4)
SIMULATED = 400
# engine, duration [s]: a sprint and a long one on row and ski, one on the bike
TESTS = [(ROW, 45.0), (ROW, 480.0), (SKI, 60.0), (SKI, 300.0), (BIKE, 600.0)]


def padded(*by_engine):
    """Efforts of one athlete, (1, 4, m) each: lists of (power, duration, sd) for each engine."""
    most = max(map(len, by_engine), default=0)
    arrays = np.full((3, 1, len(ENGINES), most), np.nan)
    arrays[2] = POWER_TRIAL_SD
    for e, own in enumerate(by_engine):
        for m, effort in enumerate(own):
            arrays[:, 0, e, m] = effort
    return arrays


def known(efforts, sex="female", mass=64.0):
    """Estimate (n, 4, 3), joint covariance (n, 12, 12) and prior of athletes with these efforts (3, n, 4, m)."""
    n = efforts.shape[1]
    mean, cov = engines_prior(np.full(n, sex), np.full(n, mass))
    theta, own = power_duration.estimate_together(*efforts, mean, cov)
    return theta, engines_covariance(*efforts, theta, cov), own


def observe(theta, tests=TESTS):
    """Gradients (1, B, 12) of what each test shows."""
    gradient = np.zeros((1, len(tests), 12))
    for b, (e, seconds) in enumerate(tests):
        gradient[0, b, 3 * e : 3 * e + 3] = log_power_gradient(seconds, theta[0, e])
    return gradient


GYMS = {
    "nothing known": padded([], [], [], []),
    "an old row": padded([(170.0, 510.0, 0.08)], [], [], []),
    "a fresh sprint on the ski": padded([(150.0, 480.0, 0.06)], [(230.0, 40.0, 0.03)], [], []),
}


@pytest.mark.parametrize("gym", GYMS)
def test_the_blocks_of_the_joint_covariance_are_those_of_the_estimate(gym):
    _, joint, own = known(GYMS[gym])
    for e in range(4):
        assert joint[0, 3 * e : 3 * e + 3, 3 * e : 3 * e + 3] == pytest.approx(own[0, e], rel=1e-6, abs=1e-9)


def test_an_effort_that_hardly_counts_is_weighed_as_the_estimate_weighs_it():
    efforts = padded([(170.0, 510.0, 0.03), (168.0, 500.0, 0.03), (900.0, 480.0, 0.03)], [], [], [])
    _, joint, own = known(efforts)
    assert joint[0, :3, :3] == pytest.approx(own[0, 0], rel=1e-6)


def simulated_drop(efforts, targets, weight, test, seed=5):
    """Mean drop of the weighted sum of the targets' SDs when results of a test are drawn and all is estimated anew."""
    theta, joint, _ = known(efforts)
    rng = np.random.default_rng(seed)
    truth = rng.multivariate_normal(theta.ravel(), joint[0], SIMULATED).reshape(SIMULATED, 4, 3)
    e, seconds = test
    power = np.exp(log_power(seconds, truth[:, e]) + POWER_TRIAL_SD * rng.normal(size=SIMULATED))
    many = np.tile(np.pad(efforts, [(0, 0)] * 3 + [(0, 1)], constant_values=np.nan), (1, SIMULATED, 1, 1))
    many[2][np.isnan(many[2])] = POWER_TRIAL_SD
    many[0, :, e, -1], many[1, :, e, -1] = power, seconds
    _, after, _ = known(many)
    # The same targets, asked of the estimate as it is now: what is compared is how sure they are, not where they lie.
    before = np.sqrt(np.einsum("td,de,te->t", targets, joint[0], targets))
    now = np.sqrt(np.einsum("td,nde,te->nt", targets, after, targets))
    return float(((before - now) * weight).sum(-1).mean())


def programmed(theta):
    """Targets (T, 12) and how often they are programmed: minutes on row and ski, five minutes on the bike."""
    asked = [(ROW, 60.0, 4.0), (SKI, 60.0, 2.0), (BIKE, 300.0, 1.0)]
    return observe(theta, [(e, seconds) for e, seconds, _ in asked])[0], np.array([times for *_, times in asked])


@pytest.mark.parametrize("gym", GYMS)
def test_what_is_expected_is_what_simulated_results_bring(gym):
    efforts = GYMS[gym]
    theta, joint, _ = known(efforts)
    targets, weight = programmed(theta)
    noise = np.full(len(TESTS), POWER_TRIAL_SD)
    expected = expected_gain(joint, observe(theta), noise, targets[None], weight[None])[0]
    real = np.array([simulated_drop(efforts, targets, weight, test) for test in TESTS])
    assert expected == pytest.approx(real, rel=0.15, abs=0.01)
    for better in range(len(TESTS)):
        for worse in range(len(TESTS)):
            if real[better] > 1.15 * real[worse]:  # closer than that chance decides the simulation
                assert expected[better] > expected[worse], (TESTS[better], TESTS[worse])
    first = propose(joint, observe(theta), noise, targets[None], weight[None], np.ones((1, len(TESTS)), bool))
    assert real[first.benchmark[0, 0]] > 0.9 * real.max()


def test_for_repetitions_it_is_exact():
    closeness = np.array([[1.0, 0.6, 0.2], [0.6, 1.0, 0.3], [0.2, 0.3, 1.0]])
    prior = 0.25 * closeness[None]
    observed, sd = np.full((1, 3, 2), np.nan), np.full((1, 3, 2), 0.08)
    observed[0, 0, 0] = 12.0
    mean, _ = repetitions.estimate_together(observed, sd, np.log([10.0, 20.0, 15.0]), prior)
    joint = quantities_covariance(observed, sd, mean, prior)
    after = sd_after(joint, np.eye(3)[None], np.full(3, 0.08), np.eye(3)[None])[0]
    for tested in range(3):
        again = observed.copy()
        again[0, tested, 1] = np.exp(mean[0, tested])
        _, now = repetitions.estimate_together(again, sd, np.log([10.0, 20.0, 15.0]), prior)
        assert after[tested] == pytest.approx(now[0])


def random_gym(n=7, tests=6, targets=5, size=8, seed=1):
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(n, size, size))
    covariance = root @ root.swapaxes(1, 2) / size
    return (
        covariance,
        rng.normal(size=(n, tests, size)),
        rng.uniform(0.02, 0.2, tests),
        rng.normal(size=(n, targets, size)),
        rng.integers(0, 4, (n, targets)).astype(float),
    )


def test_each_proposal_is_the_best_one_given_those_before_it():
    covariance, tests, noise, targets, weight = random_gym()
    allowed = np.ones(tests.shape[:2], bool)
    found = propose(covariance, tests, noise, targets, weight, allowed)
    for row in range(len(covariance)):
        own, left = covariance[row : row + 1], list(range(tests.shape[1]))
        one = slice(row, row + 1)
        for place in range(found.benchmark.shape[1]):
            gains = expected_gain(own, tests[one], noise, targets[one], weight[one])[0]
            chosen = max(left, key=lambda b, gains=gains: gains[b])
            assert found.benchmark[row, place] == chosen
            assert found.gain[row, place] == pytest.approx(gains[chosen])
            left.remove(chosen)
            own = after_result(own, tests[one, chosen], noise[[chosen]])
        drop = ((found.sd[row, 0] - found.sd[row, -1]) * weight[row]).sum()
        assert found.gain[row].sum() == pytest.approx(drop)


def test_no_result_ever_makes_a_target_less_sure():
    covariance, tests, noise, targets, _ = random_gym(seed=3)
    before = np.sqrt(np.einsum("ntd,nde,nte->nt", targets, covariance, targets))
    assert (sd_after(covariance, tests, noise, targets) <= before[:, None] + 1e-12).all()


def test_what_must_not_be_proposed_is_not():
    covariance, tests, noise, targets, weight = random_gym()
    allowed = np.random.default_rng(0).random(tests.shape[:2]) < 0.4
    allowed[0] = False
    found = propose(covariance, tests, noise, targets, weight, allowed).benchmark
    assert (found[0] == NONE).all()
    rows, places = np.nonzero(found != NONE)
    assert len(rows)
    assert allowed[rows, found[rows, places]].all()


def test_nothing_is_proposed_where_nothing_is_programmed_or_there_is_no_benchmark():
    covariance, tests, noise, targets, weight = random_gym()
    allowed = np.ones(tests.shape[:2], bool)
    assert (propose(covariance, tests, noise, targets, 0.0 * weight, allowed).benchmark == NONE).all()
    none = propose(covariance, tests[:, :0], noise[:0], targets, weight, allowed[:, :0])
    assert (none.benchmark == NONE).all()
