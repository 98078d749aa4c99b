"""One benchmark on one machine informs every machine."""

import numpy as np
import pytest

from athletes.capacity import power_duration
from athletes.capacity.best import best_power, best_time_for_distance, best_time_for_kcal
from athletes.capacity.constants import ENGINES, MISFIT_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.ergometer import pace_from_watts
from athletes.capacity.kinship import joint_covariance
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.capacity.priors import PUBLISHED, engine_prior, engines_prior

MINUTE = 60.0
PAIR = People.of(["", "male"], [np.nan, 90.0], [np.nan, 50.0])
MISFIT = MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE)


def efforts(*trials):
    """Of one athlete: (power, duration) each."""
    power, duration = np.array(trials, float).T[:, None]
    return Efforts(power, duration, np.full(power.shape, 0.03))


def estimates(sex="", mass=np.nan, **tested):
    """The engines of one athlete, by name: mean and covariance."""
    means, covariances = estimate_engines(tested, People.of(sex, mass, 30.0))
    return {engine: (means[engine][0], covariances[engine][0]) for engine in ENGINES}


def rower(seconds, **facts):
    """Who rows 2000 m in so many seconds."""
    return estimates(row=efforts((2.80 * (2000.0 / seconds) ** 3, seconds)), **facts)


def spread(estimate, seconds=240.0):
    return log_power_sd(seconds, *estimate)


def random_efforts(n, seed=2):
    rng = np.random.default_rng(seed)
    people = People.of(rng.choice(["male", "female", ""], n), rng.normal(75.0, 10.0, n))
    found = {}
    for engine in ENGINES:
        mean, _ = engine_prior(engine, people)
        seconds = np.exp(rng.uniform(np.log(40.0), np.log(1200.0), (n, 3)))
        power = np.exp(log_power(seconds, mean[:, None]) + 0.2 * rng.normal(size=(n, 1)))
        power[rng.random(power.shape) < 0.4] = np.nan
        found[engine] = Efforts(power, seconds, np.full(power.shape, 0.03))
    return found, people


def test_without_correlation_each_engine_is_as_alone():
    found, people = random_efforts(60)
    mean, _ = engines_prior(people)
    no_ties = joint_covariance(PUBLISHED.log_sd, np.tile(np.eye(4), (3, 1, 1)))
    arrays = (np.stack([getattr(own, name) for own in found.values()], 1) for name in Efforts.__annotations__)
    means, covariances = power_duration.estimate_together(*arrays, mean, np.linalg.inv(no_ties)[None])
    for e, (engine, own) in enumerate(found.items()):
        prior = mean[:, 3 * e : 3 * e + 3], np.diag(PUBLISHED.log_sd[e] ** 2)
        alone = power_duration.estimate(own.power_w, own.duration_s, own.sd_log, *prior)
        np.testing.assert_allclose(means[:, e], alone[0], atol=1e-5, err_msg=engine)
        own_cov = covariances[:, 3 * e : 3 * e + 3, 3 * e : 3 * e + 3]
        np.testing.assert_allclose(own_cov, alone[1], atol=1e-5, err_msg=engine)


def test_without_any_effort_the_prior_is_kept():
    means, covariances = estimate_engines({}, PAIR)
    for engine in ENGINES:
        mean, covariance = engine_prior(engine, PAIR)
        np.testing.assert_allclose(means[engine], mean)
        np.testing.assert_allclose(covariances[engine], covariance + MISFIT, atol=1e-9)


@pytest.mark.parametrize("untested", ["ski", "bike", "run"])
def test_a_row_makes_every_other_engine_surer_but_not_as_sure_as_an_own_test(untested):
    row = efforts((250.0, 450.0))
    speed_or_power = 3.5 if untested == "run" else 220.0
    own = estimates(row=row, **{untested: efforts((speed_or_power, 450.0))})[untested]
    transferred = estimates(row=row)[untested]
    prior = tuple(array[0] for array in engine_prior(untested, People.of("", np.nan, 30.0)))
    assert 1.5 * spread(own) < spread(transferred) < 0.95 * spread(prior)


def test_a_run_says_less_of_the_bike_than_a_row_does():
    by_row = estimates("male", 80.0, row=efforts((250.0, 450.0)))["bike"]
    by_run = estimates("male", 80.0, run=efforts((3.5, 450.0)))["bike"]
    assert spread(by_row) < spread(by_run)


def test_a_better_rower_is_expected_to_do_better_on_every_machine():
    slow, fast = rower(520.0), rower(440.0)
    for engine in ENGINES:
        assert log_power(MINUTE, fast[engine][0]) > log_power(MINUTE, slow[engine][0])


def test_a_surprising_row_moves_the_ski_only_part_of_the_way():
    usual, strong = rower(480.0, sex="male", mass=82.0), rower(420.0, sex="male", mass=82.0)
    moved = {e: float(strong[e][0][0] - usual[e][0][0]) for e in ("row", "ski", "run")}
    assert moved["ski"] == pytest.approx(0.85 * moved["row"], rel=0.02)
    assert moved["run"] < 0.6 * moved["ski"]


@pytest.mark.parametrize("seconds", [440.0, 460.0, 480.0, 500.0, 520.0])
def test_over_a_kilometre_a_rower_is_about_three_seconds_slower_on_the_ski(seconds):
    # Common practice. Whoever is far from the middle is drawn towards it on the untested machine
    found = rower(seconds)
    row, ski = (best_time_for_distance(engine, 1000.0, found[engine][0]) / 2.0 for engine in ("row", "ski"))
    assert ski - row == pytest.approx(3.0, abs=1.5)


@pytest.mark.parametrize("seconds", [440.0, 480.0, 520.0])
@pytest.mark.parametrize("kcal", [10.0, 15.0])
def test_over_a_sprint_a_rower_is_about_as_fast_on_the_ski(seconds, kcal):
    thetas = (rower(seconds)[engine][0] for engine in ("row", "ski"))
    row, ski = (float(pace_from_watts(best_power(best_time_for_kcal(kcal, theta), theta))) for theta in thetas)
    assert ski == pytest.approx(row, abs=2.0)  # s per 500 m; common practice


def test_an_absurd_ski_does_not_spoil_the_row():
    row, skis = efforts((250.0, 450.0)), [(220.0, 450.0), (300.0, 120.0), (240.0, 300.0)]
    clean = estimates(row=row, ski=efforts(*skis))
    absurd = estimates(row=row, ski=efforts(*skis, (900.0, 400.0)))
    for engine in ("row", "ski"):
        assert abs(absurd[engine][0] - clean[engine][0]).max() < 0.02


def test_athletes_do_not_inform_each_other():
    found, people = random_efforts(40)
    together, _ = estimate_engines(found, people)
    for i in range(0, 40, 7):
        own = {
            engine: Efforts(*(getattr(e, n)[i : i + 1] for n in Efforts.__annotations__)) for engine, e in found.items()
        }
        alone, _ = estimate_engines(own, people.take(np.array([i])))
        for engine in ENGINES:
            np.testing.assert_allclose(together[engine][i], alone[engine][0], atol=1e-6)
