import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.engine import dose_at_power, fast_tau, hold_power, hold_power_gradient, power_for_dose

CP, W_PRIME, RAMP = st.floats(60.0, 450.0), st.floats(3e3, 4e4), st.floats(0.5, 90.0)
WORK, ROUNDS, SHARE, HEADROOM = st.floats(10.0, 120.0), st.integers(1, 40), st.floats(0.0, 1.0), st.floats(0.0, 0.9)
REST = st.floats(0.0, 240.0)
CELLS = st.tuples(CP, W_PRIME, RAMP, WORK, ROUNDS, REST, SHARE, HEADROOM)


def held(cp, w_prime, ramp, work, rounds, rest, share, headroom):
    return hold_power(cp, w_prime, ramp, work, rounds, work + rest, share, headroom)


@given(CELLS, st.floats(1.0, 2.0))
def test_more_capacity_never_lowers_the_power(cell, factor):
    cp, w_prime, ramp, *rest = cell
    power = held(*cell) * (1 - 1e-12)
    assert held(cp * factor, w_prime, ramp, *rest) >= power
    assert held(cp, w_prime * factor, ramp, *rest) >= power
    assert held(cp, w_prime, ramp / factor, *rest) >= power


@given(CELLS, st.floats(0.0, 1.0))
def test_more_rounds_shorter_rest_busier_rest_or_more_headroom_never_raise_it(cell, part):
    cp, w_prime, ramp, work, rounds, rest, share, headroom = cell
    power = held(*cell) * (1 + 1e-12)
    assert held(cp, w_prime, ramp, work, rounds + 1, rest, share, headroom) <= power
    assert held(cp, w_prime, ramp, work, rounds, rest * part, share, headroom) <= power
    assert held(cp, w_prime, ramp, work, rounds, rest, share + (1 - share) * part, headroom) <= power
    assert held(cp, w_prime, ramp, work, rounds, rest, share, headroom + (1 - headroom) * part) <= power


@given(CELLS)
def test_it_lies_between_critical_power_and_the_best_single_effort(cell):
    cp, w_prime, ramp, work, *_ = cell
    assert cp <= held(*cell) <= (cp + w_prime / (work + ramp)) * (1 + 1e-12)


@given(CELLS)
def test_the_gradient_is_the_slope(cell):
    theta, (work, rounds, rest, share, headroom) = np.log(cell[:3]), cell[3:]
    step = 1e-5
    slopes = [
        np.log(held(*np.exp(theta + step * axis), *cell[3:]) / held(*np.exp(theta - step * axis), *cell[3:]))
        / (2 * step)
        for axis in np.eye(3)
    ]
    gradient = hold_power_gradient(theta, work, rounds, work + rest, share, headroom)
    np.testing.assert_allclose(gradient, slopes, atol=1e-6)


def test_critical_power_in_between_lets_nothing_come_back():
    assert fast_tau(200.0, 15_000.0, 1.0) == np.inf
    assert fast_tau(200.0, 15_000.0, 0.3) == pytest.approx(15_000.0 / 140.0)


@given(st.floats(1.0, 600.0), st.floats(10.0, 300.0))
def test_a_dose_survives_the_way_to_power_and_back(power, work):
    for is_kcal, is_run in ((True, False), (False, False), (False, True)):
        dose = dose_at_power(power, work, is_kcal, is_run, 300.0, 3.4416)
        assert power_for_dose(dose, work, is_kcal, is_run, 300.0, 3.4416) == pytest.approx(power, rel=1e-9)


def test_calories_that_the_monitor_counts_at_rest_ask_for_no_power():
    assert power_for_dose(3.0, 40.0, True, False, 300.0, 3.4416) == 0.0
