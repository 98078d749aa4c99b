import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.engine import fast_tau, hold_power

CP, W_PRIME, RAMP = st.floats(60.0, 450.0), st.floats(3e3, 4e4), st.floats(0.5, 90.0)
WORK, ROUNDS, SHARE, HEADROOM = st.floats(10.0, 120.0), st.integers(1, 40), st.floats(0.0, 1.0), st.floats(0.0, 0.9)
REST = st.floats(0.0, 240.0)
CELLS = st.tuples(CP, W_PRIME, RAMP, WORK, ROUNDS, REST, SHARE, HEADROOM)


def held(cp, w_prime, ramp, work, rounds, rest, share, headroom, refill=4.0):
    return hold_power(cp, w_prime, ramp, work, rounds, work + rest, share, headroom, refill=refill)


@given(CELLS, st.floats(1.0, 2.0))
def test_more_capacity_never_lowers_the_power(cell, factor):
    cp, w_prime, ramp, *rest = cell
    power = held(*cell) * (1 - 1e-12)
    assert held(cp * factor, w_prime, ramp, *rest) >= power
    assert held(cp, w_prime * factor, ramp, *rest) >= power
    assert held(cp, w_prime, ramp / factor, *rest) >= power


@given(CELLS, st.floats(0.0, 1.0))
def test_more_rounds_shorter_rest_busier_rest_or_slower_refill_never_raise_it(cell, part):
    cp, w_prime, ramp, work, rounds, rest, share, headroom = cell
    power = held(*cell) * (1 + 1e-12)
    assert held(cp, w_prime, ramp, work, rounds + 1, rest, share, headroom) <= power
    assert held(cp, w_prime, ramp, work, rounds, rest * part, share, headroom) <= power
    assert held(cp, w_prime, ramp, work, rounds, rest, share + (1 - share) * part, headroom) <= power
    assert held(*cell, refill=4.0 + 4.0 * part) <= power


@given(CELLS)
def test_headroom_is_of_all_the_power_and_the_rest_lies_up_to_the_best_single_effort(cell):
    cp, w_prime, ramp, work, *_, headroom = cell
    whole = held(*cell[:-1], 0.0)
    assert cp <= whole <= (cp + w_prime / (work + ramp)) * (1 + 1e-12)
    assert held(*cell) == pytest.approx((1.0 - headroom) * whole)


def test_critical_power_in_between_lets_nothing_come_back():
    assert fast_tau(200.0, 15_000.0, 1.0) == np.inf
    assert fast_tau(200.0, 15_000.0, 0.3) == pytest.approx(4.0 * 15_000.0 / 140.0)
    assert fast_tau(200.0, 15_000.0, 0.3, refill=1.0) == pytest.approx(15_000.0 / 140.0)


def test_athletes_at_once():
    refill = np.array([2.0, 4.0, 8.0])
    together = hold_power(np.array([200.0] * 3), 15e3, 20.0, 45.0, 8, 240.0, 0.4, 0.1, refill=refill)
    alone = [hold_power(200.0, 15e3, 20.0, 45.0, 8, 240.0, 0.4, 0.1, refill=rho) for rho in refill]
    np.testing.assert_allclose(together, alone, rtol=1e-14)
