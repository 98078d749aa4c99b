"""Ergometer displays. Source: display conventions common to air-braked rowing and ski ergometers (common practice).

The constant 2.80 and the worked example 1:55 → 230 W are on several public pages; the calorie formula is on secondary
pages only. Table values were computed from the formulas as printed, in double precision.
"""

import numpy as np
import pytest

from athletes.capacity.ergometer import (
    kcal_in,
    kcal_per_hour,
    metres_in,
    pace_from_watts,
    watts_for_kcal,
    watts_for_metres,
    watts_from_kcal_per_hour,
    watts_from_pace,
)


def test_the_published_worked_example():
    assert watts_from_pace(115.0) == pytest.approx(230.0, abs=0.5)  # 1:55 → 230 W, as displayed


@pytest.mark.parametrize(
    ("pace", "watts", "rate"),
    [
        (90.0, 480.110, 1952.346),
        (100.0, 350.000, 1504.560),
        (105.0, 302.343, 1340.544),
        (110.0, 262.960, 1205.004),
        (115.0, 230.131, 1092.018),
        (120.0, 202.546, 997.083),
        (150.0, 103.704, 656.907),
        (180.0, 60.0137, 506.543),
    ],
)
def test_pace_power_and_calorie_rate(pace, watts, rate):
    assert watts_from_pace(pace) == pytest.approx(watts, abs=5e-4)
    assert kcal_per_hour(watts_from_pace(pace)) == pytest.approx(rate, abs=5e-4)


@pytest.mark.parametrize(
    ("pace", "watts", "rate"), [(105.0, 302.3, 1341), (108.0, 277.8, 1256), (120.0, 202.5, 997), (140.0, 127.6, 739)]
)
def test_figures_as_coaches_quote_them(pace, watts, rate):
    assert round(float(watts_from_pace(pace)), 1) == watts
    assert round(float(kcal_per_hour(watts_from_pace(pace)))) == rate


@pytest.mark.parametrize(
    ("watts", "pace"), [(50, 191.293), (100, 151.829), (200, 120.507), (300, 105.273), (400, 95.647), (500, 88.790)]
)
def test_pace_of_a_power(watts, pace):
    assert pace_from_watts(watts) == pytest.approx(pace, abs=5e-4)


@pytest.mark.parametrize(
    ("rate", "watts", "pace"),
    [(1200, 261.5, 110.2), (1700, 406.8, 95.1), (2000, 494.0, 89.2), (2200, 552.1, 85.9)],
)
def test_power_of_a_calorie_rate(rate, watts, pace):
    assert watts_from_kcal_per_hour(rate) == pytest.approx(watts, abs=0.05)
    assert pace_from_watts(watts_from_kcal_per_hour(rate)) == pytest.approx(pace, abs=0.06)


@pytest.mark.parametrize(
    ("kcal", "seconds", "watts", "pace", "metres"),
    [
        (8, 30, 191.8, 122.2, 122.7),
        (8, 35, 151.9, 132.1, 132.5),
        (8, 40, 122.0, 142.1, 140.8),
        (8, 45, 98.8, 152.4, 147.6),
        (8, 50, 80.2, 163.4, 153.0),
        (10, 30, 261.5, 110.2, 136.1),
        (10, 35, 211.7, 118.2, 148.0),
        (10, 40, 174.3, 126.2, 158.5),
        (10, 45, 145.3, 134.1, 167.8),
        (10, 50, 122.0, 142.1, 176.0),
        (12, 30, 331.2, 101.9, 147.3),
        (12, 35, 271.5, 108.8, 160.8),
        (12, 40, 226.6, 115.6, 173.0),
        (12, 45, 191.8, 122.2, 184.1),
        (12, 50, 163.9, 128.8, 194.1),
        (15, 30, 435.8, 92.9, 161.4),
        (15, 35, 361.1, 99.0, 176.8),
        (15, 40, 305.1, 104.7, 191.1),
        (15, 45, 261.5, 110.2, 204.2),
        (15, 50, 226.6, 115.6, 216.3),
        (18, 30, 540.4, 86.5, 173.4),
        (18, 35, 450.8, 91.9, 190.4),
        (18, 40, 383.5, 97.0, 206.2),
        (18, 45, 331.2, 101.9, 220.9),
        (18, 50, 289.4, 106.5, 234.6),
    ],
)
def test_calories_in_a_window(kcal, seconds, watts, pace, metres):
    power = watts_for_kcal(kcal, seconds)
    assert power == pytest.approx(watts, abs=0.06)
    assert pace_from_watts(power) == pytest.approx(pace, abs=0.06)
    assert metres_in(seconds, power) == pytest.approx(metres, abs=0.06)


@pytest.mark.parametrize(
    ("watts", "shown"),
    [
        (100, [5.368, 6.263, 7.157, 8.052, 8.947]),
        (200, [8.236, 9.609, 10.981, 12.354, 13.727]),
        (300, [11.104, 12.955, 14.805, 16.656, 18.507]),
        (400, [13.972, 16.301, 18.629, 20.958, 23.287]),
    ],
)
def test_calories_shown_at_a_power(watts, shown):
    np.testing.assert_allclose(kcal_in(np.array([30, 35, 40, 45, 50]), watts), shown, atol=6e-4)


def test_calories_below_the_monitors_base_need_a_negative_power():
    assert watts_for_kcal(3, 40) == pytest.approx(-8.717, abs=5e-4)


def test_a_machine_with_its_own_convention_keeps_its_base_and_slope():
    # The variant N = (4·W[kJ] + 0.35·t) / 4.2 in circulation: 985.71 kcal/h at 200 W.
    assert kcal_per_hour(200.0, base=300.0, slope=3600 * 4 / 4200) == pytest.approx(985.71, abs=0.01)


def test_a_two_kilometre_time():
    assert watts_for_metres(2000.0, 480.0) == pytest.approx(202.546, abs=5e-4)  # 8:00 is 2:00 per 500 m
