import numpy as np
import pytest

from athletes.capacity.gym_prior import FEWEST_ATHLETES, LEAST_SPREAD, learn
from athletes.capacity.movements import Movement, movement_prior
from athletes.capacity.people import People
from athletes.capacity.power_duration import estimate, log_power
from athletes.capacity.priors import ENGINE_LOG_SD, engine_prior
from athletes.capacity.repetitions import estimate as estimate_best

PUBLISHED_SD = np.array(ENGINE_LOG_SD["row"])


def learnt(n, centre=(0.0, 0.0, 0.0), spread=(0.2, 0.3, 0.3), seed=1, known=True, noise=0.03):
    """What is learnt from n rowers around a centre, three efforts each."""
    rng = np.random.default_rng(seed)
    sex = rng.choice(["male", "female"], n)
    mass = np.where(sex == "male", 82.0, 68.0)
    truth = engine_prior("row", People.of(sex, mass, 30.0))[0] + np.array(centre) + rng.normal(size=(n, 3)) * spread
    seconds = np.tile([60.0, 240.0, 900.0], (n, 1))
    power = np.exp(log_power(seconds, truth[:, None]) + noise * rng.normal(size=seconds.shape))
    people = People.of(sex, mass, 30.0) if known else People.of(np.full(n, ""), np.nan, 30.0)
    prior = engine_prior("row", people)
    return learn(*estimate(power, seconds, 0.03, *prior), *prior, PUBLISHED_SD)


@pytest.mark.parametrize("known", [True, False])
def test_a_weaker_gym_moves_the_centre_most_of_the_way(known):
    shift, _ = learnt(40, centre=(np.log(0.8), 0.0, 0.0), known=known)
    assert 0.7 * np.log(0.8) > shift[0] > 1.2 * np.log(0.8)
    assert abs(shift[1]) < 0.15


@pytest.mark.parametrize("n", [0, 1, 5, FEWEST_ATHLETES - 1])
def test_a_few_athletes_move_nothing(n):
    shift, spread = learnt(n, centre=(np.log(0.8), 0.0, 0.0))
    np.testing.assert_array_equal(shift, 0.0)
    np.testing.assert_array_equal(spread, PUBLISHED_SD)


def test_more_athletes_move_it_further():
    centre = (np.log(0.8), 0.0, 0.0)
    few, many = (np.mean([learnt(n, centre, seed=seed)[0][0] for seed in range(8)]) for n in (20, 200))
    assert many < few < 0.7 * np.log(0.8)
    assert many == pytest.approx(np.log(0.8), abs=0.03)


def test_a_gym_like_the_published_one_keeps_its_centre():
    shift, _ = learnt(300)
    np.testing.assert_allclose(shift, 0.0, atol=0.08)


@pytest.mark.parametrize("spread", [0.15, 0.25, 0.40])
def test_the_spread_of_critical_power_is_found(spread):
    assert learnt(300, spread=(spread, 0.3, 0.3))[1][0] == pytest.approx(spread, rel=0.15)


def test_a_gym_of_twins_keeps_half_of_the_published_spread():
    _, spread = learnt(30, spread=(0.0, 0.0, 0.0))
    assert spread[0] == pytest.approx(LEAST_SPREAD * PUBLISHED_SD[0])
    assert (spread >= LEAST_SPREAD * PUBLISHED_SD).all()


def test_efforts_that_say_nothing_leave_the_published_prior():
    prior = engine_prior("row", People.of(np.full(50, "male"), 82.0, 30.0))
    shift, spread = learn(*prior, *prior, PUBLISHED_SD)
    np.testing.assert_allclose(shift, 0.0, atol=1e-9)
    np.testing.assert_allclose(spread, PUBLISHED_SD, rtol=1e-6)


def best_of_a_gym(n, centre, spread, seed=3, noise=0.08):
    """What is learnt of a movement with the typical best 10 from n men's results around a centre."""
    rng = np.random.default_rng(seed)
    movement = Movement("repetitions", 10.0, 0.6)
    prior_mean, prior_sd = movement_prior(movement, People.of(np.full(n, "male"), 82.0, 30.0))
    observed = np.exp(prior_mean + centre + spread * rng.normal(size=n) + noise * rng.normal(size=n))[:, None]
    mean, sd = estimate_best(observed, noise, prior_mean, prior_sd)
    return learn(
        mean[:, None], sd[:, None, None] ** 2, prior_mean[:, None], prior_sd[:, None, None] ** 2, [prior_sd[0]]
    )


def test_a_movements_centre_and_spread_are_found():
    shift, spread = best_of_a_gym(200, centre=0.4, spread=0.4)
    assert shift[0] == pytest.approx(0.4, abs=0.08)
    assert spread[0] == pytest.approx(0.4, rel=0.15)


def test_a_gym_of_twins_keeps_half_the_spread_in_a_movement_too():
    prior_sd = Movement("repetitions", 10.0, 0.6).known_sd
    assert best_of_a_gym(40, centre=0.0, spread=0.0)[1][0] == pytest.approx(LEAST_SPREAD * prior_sd)


def test_nineteen_athletes_teach_nothing_of_a_movement():
    shift, _ = best_of_a_gym(FEWEST_ATHLETES - 1, centre=0.4, spread=0.4)
    assert shift[0] == 0.0


def test_two_parameters_are_refused():
    with pytest.raises(ValueError, match="three parameters"):
        learn(np.zeros((30, 2)), np.eye(2), np.zeros((30, 2)), np.eye(2), [0.3, 0.3])
