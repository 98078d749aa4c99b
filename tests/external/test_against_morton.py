"""The 3-parameter model. Source: Morton 1996, "A 3-parameter critical power model", Ergonomics 39:611–619 (pages from
memory): t = W'/(P − CP) − W'/(Pmax − CP), so P(t) = CP + W'/(t + k) with k = W'/(Pmax − CP).
"""

import numpy as np
import pytest

from athletes.capacity.best import best_time_for_distance
from athletes.capacity.power_duration import estimate, power

RAMP_OF_PMAX_800 = 15_000.0 / (800.0 - 200.0)


def test_powers_of_cp_200_w_prime_15_kj_pmax_800():
    seconds = np.array([30, 40, 60, 120, 180, 300, 600, 720, 1200])
    expected = [472.727, 430.769, 376.471, 303.448, 273.171, 246.154, 224.000, 220.134, 212.245]
    np.testing.assert_allclose(power(seconds, 200.0, 15_000.0, RAMP_OF_PMAX_800), expected, atol=5e-4)


@pytest.mark.parametrize(("seconds", "watts"), [(10, 850.0), (30, 610.0), (120, 378.6), (600, 279.0)])
def test_powers_of_cp_250_w_prime_18_kj_ramp_20(seconds, watts):
    assert power(seconds, 250.0, 18_000.0, 20.0) == pytest.approx(watts, abs=0.05)


def test_no_time_at_all_gives_the_maximal_power():
    assert power(0.0, 200.0, 15_000.0, RAMP_OF_PMAX_800) == pytest.approx(800.0, rel=1e-12)


def test_the_curve_inverts_mortons_time():
    watts = np.linspace(220.0, 780.0, 50)
    seconds = 15_000.0 / (watts - 200.0) - 15_000.0 / (800.0 - 200.0)
    np.testing.assert_allclose(power(seconds, 200.0, 15_000.0, RAMP_OF_PMAX_800), watts, rtol=1e-12)
    assert pytest.approx(125.0) == 15_000.0 / 100.0 - RAMP_OF_PMAX_800  # 300 W last 125 s


def test_exact_trials_over_a_wide_range_return_all_three_parameters():
    # Maximal powers are found only where short trials are among them: Hill et al. 2011, Int J Sports Med 32:519–522
    seconds = np.array([[10.0, 30.0, 120.0, 600.0]])
    watts = np.array([[850.0, 610.0, 250.0 + 18_000.0 / 140.0, 250.0 + 18_000.0 / 620.0]])
    mean, covariance = estimate(watts, seconds, 0.02, np.log([200.0, 10_000.0, 10.0]), np.diag([25.0] * 3))
    np.testing.assert_allclose(np.exp(mean[0]), [250.0, 18_000.0, 20.0], rtol=2e-3)
    _, without_short_ones = estimate(
        watts[:, 2:], seconds[:, 2:], 0.02, np.log([250.0, 18_000.0, 20.0]), np.diag([25.0] * 3)
    )
    assert without_short_ones[0, 2, 2] > 100.0 * covariance[0, 2, 2]


@pytest.mark.parametrize(("metres", "seconds"), [(500.0, 100.0), (1000.0, 218.430), (2000.0, 458.280)])
def test_a_time_trial_solves_the_cube_law_with_the_curve(metres, seconds):
    # 2.80·v³ = CP + W'·v/d without a ramp, solved with a bracketing root finder
    theta = np.log([200.0, 15_000.0, 1e-9])
    assert best_time_for_distance("row", metres, theta) == pytest.approx(seconds, abs=5e-4)
