import numpy as np
import pytest

from athletes.capacity.engines import Efforts
from athletes.capacity.estimate import Library, estimate
from athletes.capacity.fitness import FEWEST_ATHLETES, general_fitness, quantities, reference
from athletes.capacity.people import People
from tests.athletes.capacity.members import EFFORTS, LIBRARY, PEOPLE, TRIALS, A, B, C, D, E, F


def standing(estimates):
    values, weight = quantities(estimates)
    return general_fitness(values, weight, reference(values, weight, len(values)))


@pytest.fixture(scope="module")
def room():
    """The six members seven times, who differ a little, and their estimates."""
    rng = np.random.default_rng(4)
    rows = np.repeat(np.arange(len(PEOPLE)), 7)
    noise = np.exp(0.05 * rng.normal(size=(len(rows), 1)))
    efforts = {k: Efforts(e.power_w[rows] * noise, e.duration_s[rows], e.sd_log[rows]) for k, e in EFFORTS.items()}
    return estimate(
        LIBRARY, PEOPLE.take(rows), efforts, {k: type(t)(t.best[rows], t.sd_log[rows]) for k, t in TRIALS.items()}
    )


def test_the_room_stands_in_the_order_that_a_coach_sees(room):
    z = standing(room).reshape(6, 7).mean(1)
    assert z[A] == z.max()
    assert z[A] > z[B]
    assert z[A] > z[C] > z[D]
    assert min(z[D], z[E]) == z.min()
    assert z[D] < z[F] < z[A]


def test_it_is_counted_in_sds_of_the_room_around_its_middle(room):
    z = standing(room)
    assert z.std() == pytest.approx(1.0)
    assert abs(np.median(z)) < 0.3


def test_who_was_never_tested_stands_where_sex_and_age_put_them():
    sex, age = np.repeat(["male", "female"], 10), np.tile(np.linspace(25.0, 70.0, 10), 2)
    z = standing(estimate(LIBRARY, People.of(sex, np.nan, age), {}, {}))
    assert (z[:10] > z[10:]).all()
    assert z[0] > z[9]


def test_a_room_that_knows_nothing_stands_in_the_middle():
    np.testing.assert_allclose(standing(estimate(LIBRARY, People.of([""] * 12, np.nan), {}, {})), 0.0, atol=1e-9)


def test_a_small_gym_is_measured_by_a_usual_spread():
    people = People.of(["male"] * (FEWEST_ATHLETES - 1), 82.0, 30.0)
    z = standing(estimate(Library(()), people, {}, {}))
    np.testing.assert_allclose(z, 0.0, atol=1e-12)


def test_one_athlete_is_compared_with_the_gym_and_not_with_nobody(room):
    values, weight = quantities(room)
    gym = reference(values, weight, len(values))
    np.testing.assert_allclose(general_fitness(values[:1], weight, gym), general_fitness(values, weight, gym)[:1])
