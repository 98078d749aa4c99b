"""Load, monotony and strain against worked weeks; SD with n − 1, and the other SD known by its exact ratio."""

import numpy as np
import pytest

from athletes.capacity.load import monotony, session_load, strain

# Seven daily loads, mean, SD (n − 1), monotony, strain: worked by hand from the definitions of Foster 1998.
WEEKS = [
    ([300, 0, 450, 0, 420, 240, 0], 201.428571, 201.033046, 1.001967, 1412.774109),
    ([300, 0, 450, 240, 0, 540, 180], 244.2857, 206.7089, 1.181786, 2020.854),
    ([420, 420, 420, 420, 420, 0, 0], 300.0, 204.9390, 1.463850, 3074.085),
    ([600, 200, 400, 500, 100, 650, 0], 350.0, 253.3114, 1.381699, 3385.161),
]


@pytest.mark.parametrize(("daily", "mean", "sd", "expected", "load_x_monotony"), WEEKS)
def test_worked_weeks(daily, mean, sd, expected, load_x_monotony):
    assert np.mean(daily) == pytest.approx(mean, rel=1e-6)
    assert np.std(daily, ddof=1) == pytest.approx(sd, rel=1e-5)
    assert monotony(daily) == pytest.approx(expected, rel=1e-5)
    assert strain(daily) == pytest.approx(load_x_monotony, rel=1e-5)


def test_the_published_example_of_mean_over_sd():
    """BMJ Military Health, table of training variables and monitoring equations: 790 / 897 = 0.88.

    The days behind it are not printed: any week with that mean and SD must give that monotony.
    """
    shape = np.array([3.0, 1.0, 0.0, -2.0, 0.5, -1.5, -1.0])
    week = 790 + 897 * (shape - shape.mean()) / shape.std(ddof=1)
    assert monotony(week) == pytest.approx(0.88, abs=0.005)


@pytest.mark.parametrize("daily", [week[0] for week in WEEKS])
def test_the_other_sd_differs_by_the_square_root_of_seven_sixths(daily):
    other = np.mean(daily) / np.std(daily)
    assert other / monotony(daily) == pytest.approx(np.sqrt(7 / 6), rel=1e-9)


def test_a_session_is_rpe_times_minutes():
    assert session_load([7, 0, np.nan], [60, 45, 30]) == pytest.approx([420, 0, np.nan], nan_ok=True)
    with pytest.raises(ValueError, match="0 to 10"):
        session_load(11, 30)
    with pytest.raises(ValueError, match="minutes"):
        session_load(5, -1)


def test_what_is_not_known_is_not_rest():
    known = [300.0, 0, 450, 0, 420, 240, 0]
    assert np.isnan(monotony([*known[:6], np.nan]))
    assert np.isnan(strain([*known[:6], np.nan]))
    with pytest.raises(ValueError, match="seven days"):
        monotony(known[:6])


@pytest.mark.parametrize("load", [0.0, 0.1, 300.0])
def test_equal_days_have_no_monotony(load):
    assert np.isnan(monotony([load] * 7))
    assert np.isnan(strain([load] * 7))


def test_scale_and_order_of_days():
    rng = np.random.default_rng(7)
    weeks = rng.uniform(0, 700, (50, 7))
    assert monotony(3 * weeks) == pytest.approx(monotony(weeks))
    assert strain(3 * weeks) == pytest.approx(3 * strain(weeks))
    assert monotony(rng.permuted(weeks, axis=1)) == pytest.approx(monotony(weeks))
