import numpy as np
import pytest

from athletes.capacity.movements import (
    KINDS,
    LEAST_KNOWN_SHARE,
    PACED,
    Movement,
    minute_rate,
    movement_prior,
    paced_prior,
)
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power

# pull, push, hinge, squat, trunk, grip, whole body
PULL, PUSH, SQUAT = (1.0, 0.0, 0.0, 0.0, 0.3, 0.7, 0.0), (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.0), (0, 0, 0, 1.0, 0.2, 0, 0)
PULL_UP, BACK_SQUAT = Movement("repetitions", 4.0, 0.8, PULL), Movement("loaded", 75.0, 0.4, SQUAT)


def best(movement, sex="", mass=np.nan, age=np.nan):
    """The best expected; of a paced movement the most in one minute."""
    people = People.of(sex, mass, age)
    if movement.kind == PACED:
        return float(np.exp(log_power(60.0, paced_prior(movement, people)[0]))[0])
    return float(np.exp(movement_prior(movement, people)[0][0]))


def test_who_says_nothing_is_typical():
    for kind in KINDS:
        assert best(Movement(kind, 12.0, 0.5)) == pytest.approx(12.0)


def test_a_womans_first_back_squat_is_not_a_mans():
    assert best(BACK_SQUAT, "female", 68.0) == pytest.approx(best(BACK_SQUAT, "male", 82.0) * 0.6, rel=0.05)


def test_the_heavier_lift_more_and_pull_up_less():
    light, heavy = ({"sex": "male", "mass": mass} for mass in (70.0, 100.0))
    assert best(BACK_SQUAT, **heavy) / best(BACK_SQUAT, **light) == pytest.approx((100.0 / 70.0) ** 0.67)
    assert best(PULL_UP, **heavy) < best(PULL_UP, **light)


@pytest.mark.parametrize("kind", KINDS)
def test_age_takes_something_off_every_kind(kind):
    movement = Movement(kind, 20.0, 0.5, PUSH)
    at = [best(movement, "male", 82.0, age) for age in (20.0, 35.0, 50.0, 65.0)]
    assert at[0] == at[1] > at[2] > at[3] > 0.5 * at[1]


@pytest.mark.parametrize("unknown", [{"sex": ""}, {"mass": np.nan}, {"age": np.nan}])
def test_what_is_not_known_widens_it(unknown):
    known = {"sex": "male", "mass": 82.0, "age": 40.0}
    sd = [movement_prior(PULL_UP, People.of(*facts.values()))[1][0] for facts in (known, known | unknown)]
    assert sd[0] < sd[1]


def test_with_nothing_known_the_spread_is_the_typical_one():
    assert movement_prior(PULL_UP, People.of("", np.nan))[1][0] == pytest.approx(0.8)
    assert PULL_UP.known_sd >= LEAST_KNOWN_SHARE * 0.8


def test_what_the_gym_has_taught_takes_the_place_of_the_typical():
    taught = Movement("repetitions", 4.0, 0.8, PULL, shift=0.5, learnt_sd=0.3)
    mean, sd = movement_prior(taught, People.of("male", 82.0, 30.0))
    assert mean[0] == pytest.approx(movement_prior(PULL_UP, People.of("male", 82.0, 30.0))[0][0] + 0.5)
    assert sd[0] == pytest.approx(0.3)


def test_what_the_gym_has_taught_of_a_paced_movement_moves_its_curve():
    people = People.of(["male", ""], 82.0, 30.0)
    mean, cov = paced_prior(Movement(PACED, 20.0, 0.3), people)
    taught = Movement(PACED, 20.0, 0.3, shift=0.2, reserve_shift=-0.1, learnt_sd=0.2)
    own_mean, own_cov = paced_prior(taught, people)
    np.testing.assert_allclose(own_mean - mean, np.tile([0.2, -0.1, 0.0], (2, 1)))
    assert own_cov[0, 0, 0] == pytest.approx(0.04)
    assert (np.linalg.eigvalsh(cov) > 0).all()
    assert cov[1, 0, 0] > cov[0, 0, 0]


def test_each_kind_has_its_own_first_guess():
    with pytest.raises(ValueError, match="curve"):
        movement_prior(Movement(PACED, 20.0, 0.3), People.of("", np.nan))
    with pytest.raises(ValueError, match="curve"):
        paced_prior(PULL_UP, People.of("", np.nan))


def test_a_paced_movement_has_the_minute_and_slows_down():
    curve, _ = paced_prior(Movement(PACED, 20.0, 0.3), People.of("", np.nan))
    assert np.exp(log_power(60.0, curve))[0] == pytest.approx(20.0)
    assert 0.65 * 20.0 < np.exp(log_power(420.0, curve))[0] < 0.75 * 20.0


def test_an_unbroken_best_at_its_pace_lies_on_the_curve_of_its_minute():
    curve, _ = paced_prior(Movement(PACED, minute_rate(60.0, 1.6), 0.3), People.of("", np.nan))
    assert np.exp(log_power(96.0, curve))[0] == pytest.approx(60.0 / 1.6)


@pytest.mark.parametrize("arguments", [("swim", 10.0, 0.5), ("hold", 0.0, 0.5), ("hold", 10.0, 0.0)])
def test_nonsense_is_refused(arguments):
    with pytest.raises(ValueError, match="kind|above zero"):
        Movement(*arguments)
