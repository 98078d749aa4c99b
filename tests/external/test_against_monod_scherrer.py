"""The 2-parameter model P = CP + W'/t. Source: Monod & Scherrer 1965, Ergonomics 8:329–338; Hill 1993, Sports Med
16:237–254. Values follow from the formula on exact data, where no other source is named.
"""

import numpy as np
import pytest

from athletes.capacity.power_duration import estimate, power

NO_RAMP = np.log(1e-6)


@pytest.mark.parametrize(("seconds", "watts"), [(120, 400.0), (180, 350.0), (300, 310.0), (600, 280.0), (900, 270.0)])
def test_powers_of_cp_250_w_prime_18_kj(seconds, watts):
    assert power(seconds, 250.0, 18_000.0, 0.0) == pytest.approx(watts, rel=1e-12)


def test_powers_of_cp_200_w_prime_15_kj():
    seconds = np.array([30, 40, 60, 120, 180, 300, 600, 720, 1200])
    expected = [700.000, 575.000, 450.000, 325.000, 283.333, 250.000, 225.000, 220.833, 212.500]
    np.testing.assert_allclose(power(seconds, 200.0, 15_000.0, 0.0), expected, atol=5e-4)


def test_a_fit_with_hardly_any_prior_returns_the_parameters_of_exact_data():
    seconds = np.array([[300.0, 200.0, 150.0, 100.0]])
    prior_cov = np.diag([25.0, 25.0, 1e-10])
    mean, _ = estimate(200.0 + 15_000.0 / seconds, seconds, 0.01, [np.log(150.0), np.log(8000.0), NO_RAMP], prior_cov)
    np.testing.assert_allclose(np.exp(mean[0, :2]), [200.0, 15_000.0], rtol=1e-4)


def test_a_noisy_set_lands_among_the_three_classic_regressions():
    # (400 W, 75 s) (330, 121) (290, 175) (260, 268): work–time gives 204.8 W and 14 865 J, power–1/t 206.9 and
    # 14 575, time on power 203.7 and 15 091. Least squares on log power is a fourth weighting of the same four points.
    watts, seconds = np.array([[400.0, 330.0, 290.0, 260.0]]), np.array([[75.0, 121.0, 175.0, 268.0]])
    prior_cov = np.diag([25.0, 25.0, 1e-10])
    mean, _ = estimate(watts, seconds, 0.03, [np.log(200.0), np.log(15_000.0), NO_RAMP], prior_cov)
    critical_power, w_prime = np.exp(mean[0, :2])
    assert 203.0 < critical_power < 207.5
    assert 14_400.0 < w_prime < 15_200.0


def test_a_long_trial_lowers_the_critical_velocity_and_raises_the_distance_above_it():
    # Hill, Alain & Kennedy 2003, Med Sci Sports Exerc 35:2098–2105, a representative rower: trials of 200 to 1,200 m
    # lie on 5.08 m/s and 55 m; with 2,000 m beside them the line is 4.99 m/s and 71 m.
    metres = np.array([200.0, 400.0, 600.0, 800.0, 1000.0, 1200.0, 2000.0])
    seconds = np.append((metres[:-1] - 55.0) / 5.08, (2000.0 - 71.0) / 4.99)
    prior = [np.log(4.0), np.log(100.0), NO_RAMP], np.diag([25.0, 25.0, 1e-10])
    speeds = (metres / seconds)[None]
    short, _ = estimate(speeds[:, :-1], seconds[None, :-1], 0.01, *prior)
    every, _ = estimate(speeds, seconds[None], 0.01, *prior)
    np.testing.assert_allclose(np.exp(short[0, :2]), [5.08, 55.0], rtol=1e-3)
    velocity, distance = np.exp(every[0, :2])
    assert 4.99 < velocity < 5.08
    assert 55.0 < distance < 71.0


def test_running_records_give_the_critical_speed_of_the_distance_time_line():
    # Men's track records at 9 August 2006, 1000 to 5000 m, as carried in the DAAG data (typed in here): the line of
    # distance on time gives 6.370 m/s and 179.7 m, speed on 1/time 6.433 and 160.6, time on speed 6.353 and 187.8.
    metres = np.array([1000.0, 1500.0, 1609.0, 2000.0, 3000.0, 3218.0, 5000.0])
    seconds = np.array([131.96, 206.00, 223.13, 284.79, 440.67, 478.61, 757.35])
    prior_cov = np.diag([25.0, 25.0, 1e-10])
    mean, _ = estimate((metres / seconds)[None], seconds[None], 0.01, [np.log(5.0), np.log(150.0), NO_RAMP], prior_cov)
    critical_speed, distance = np.exp(mean[0, :2])
    assert 6.33 < critical_speed < 6.45
    assert 155.0 < distance < 195.0
