import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.drag import LOG_DRAG_PER_LEVER, MIDDLE_LEVER, Reach, lever_for, to_step
from athletes.capacity.priors import ENGINE_CENTRE
from athletes.capacity.profile import (
    ADVISED_LEVERS,
    FEWEST_ATHLETES,
    MIDDLE_DRAG,
    gym_median,
    log_drag_offset,
    target_drag,
    traits,
)

CENTRE = np.log(ENGINE_CENTRE["row"])
MEDIAN = gym_median(np.empty((0, 3)), np.empty(0))
LEVERS = np.array([1.0, 3.0, 5.0, 6.0, 8.0, 10.0])
TYPICAL = MIDDLE_DRAG["row"] * np.exp(LOG_DRAG_PER_LEVER * (LEVERS - MIDDLE_LEVER))  # as a machine in use reads
ROOM_AIR = 1.20


def drag(critical_power_w, w_prime_j, ramp_s, body_mass_kg=75.0):
    return target_drag(np.log([[critical_power_w, w_prime_j, ramp_s]]), np.array([body_mass_kg]), MEDIAN).item()


def test_traits_are_the_ratios():
    np.testing.assert_allclose(
        np.exp(traits(np.log([[200.0, 15_000.0, 25.0]]), [80.0])), [[75.0, (200.0 + 600.0) / 200.0, 80.0]]
    )


def test_someone_in_the_middle_sits_at_lever_6_to_6_5_of_a_typical_machine():
    lever, reach = lever_for(target_drag(CENTRE[None], [75.0], MEDIAN), LEVERS, TYPICAL, ROOM_AIR, ROOM_AIR)
    assert 6.0 <= lever.item() <= 6.5
    assert 6.0 <= to_step(lever).item() <= 6.5
    assert reach.tolist() == [Reach.WITHIN]


def test_engines_get_less_drag_and_power_gets_more():
    engine, middle, power = drag(230.0, 9_000.0, 30.0), drag(177.0, 13_000.0, 22.0), drag(150.0, 20_000.0, 18.0)
    assert engine < middle < power


def test_more_of_either_ratio_or_of_mass_never_means_less_drag():
    base = drag(177.0, 13_000.0, 22.0)
    assert drag(177.0, 15_000.0, 22.0) > base
    assert drag(177.0, 13_000.0, 18.0) > base
    assert drag(177.0, 13_000.0, 22.0, 90.0) > base
    assert drag(200.0, 13_000.0, 22.0) < base


def test_an_unknown_body_mass_counts_as_the_median():
    assert drag(177.0, 13_000.0, 22.0, np.nan) == pytest.approx(drag(177.0, 13_000.0, 22.0, np.exp(MEDIAN[2])))


def test_size_alone_is_no_profile():
    # Twice the engine with twice the work above it, and the same ramp, is the same shape
    assert drag(354.0, 26_000.0, 22.0) == pytest.approx(drag(177.0, 13_000.0, 22.0))


@given(st.tuples(st.floats(3.5, 6.5), st.floats(7.0, 11.5), st.floats(0.0, 4.5)), st.floats(30.0, 250.0))
def test_advice_is_bounded(theta, body_mass_kg):
    low, high = (MIDDLE_DRAG["row"] * np.exp(LOG_DRAG_PER_LEVER * (lever - MIDDLE_LEVER)) for lever in ADVISED_LEVERS)
    assert low - 1e-9 <= target_drag(np.array([theta]), [body_mass_kg], MEDIAN).item() <= high + 1e-9


def test_most_of_a_gym_is_advised_levers_4_to_8():
    rng = np.random.default_rng(3)
    mean = CENTRE + rng.normal(size=(2000, 3)) * (0.28, 0.40, 0.50)
    body_mass_kg = 75.0 * np.exp(0.18 * rng.normal(size=2000))
    wanted = target_drag(mean, body_mass_kg, gym_median(mean, body_mass_kg))
    lever, _ = lever_for(wanted, LEVERS, TYPICAL, ROOM_AIR, ROOM_AIR)
    assert np.mean((lever >= 4) & (lever <= 8)) > 0.9
    assert np.median(lever) == pytest.approx(MIDDLE_LEVER, abs=0.15)


def test_a_gym_of_its_own_kind_has_its_own_middle():
    powerful = np.tile(CENTRE + np.array([0.0, 0.5, 0.0]), (FEWEST_ATHLETES, 1))
    median = gym_median(powerful, np.full(FEWEST_ATHLETES, 85.0))
    np.testing.assert_allclose(log_drag_offset(powerful, np.full(FEWEST_ATHLETES, 85.0), median), 0.0, atol=1e-12)
    assert (log_drag_offset(powerful, np.full(FEWEST_ATHLETES, 85.0), MEDIAN) > 0).all()


def test_a_few_athletes_do_not_make_a_median():
    few = np.tile(CENTRE + 1.0, (FEWEST_ATHLETES - 1, 1))
    np.testing.assert_allclose(gym_median(few, np.full(FEWEST_ATHLETES - 1, 120.0)), MEDIAN)


def test_body_masses_that_were_not_given_do_not_move_the_median():
    mean = np.tile(CENTRE, (30, 1))
    body_mass_kg = np.where(np.arange(30) < 15, 90.0, np.nan)
    assert gym_median(mean, body_mass_kg)[2] == pytest.approx(np.log(90.0))
    assert gym_median(mean, np.full(30, np.nan))[2] == pytest.approx(MEDIAN[2])


def test_a_bike_has_no_lever():
    with pytest.raises(ValueError, match="row, ski"):
        target_drag(CENTRE[None], [75.0], MEDIAN, "bike")


def test_a_body_mass_of_nothing_is_refused():
    with pytest.raises(ValueError, match="Body mass"):
        target_drag(CENTRE[None], [0.0], MEDIAN)
