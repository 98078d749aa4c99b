import numpy as np
import pytest

from athletes.capacity.constants import ENGINE_DRIFT_SD, MISFIT_SD, STRENGTH_DRIFT_SD
from athletes.capacity.ergometer import watts_from_pace
from athletes.capacity.observations import (
    effort_sd,
    power_from_distance,
    power_from_kcal,
    rate_in_time,
    rate_of_unbroken,
    shared_drift_sd,
)


def test_two_kilometres_by_row_and_ski():
    for engine in ("row", "ski"):
        assert power_from_distance(engine, 2000.0, 462.3) == pytest.approx(watts_from_pace(462.3 / 4), rel=1e-12)


def test_a_run_is_a_speed():
    assert power_from_distance("run", 400.0, 80.0) == 5.0


def test_calories_use_the_machines_own_formula():
    assert power_from_kcal("row", 12.0, 40.0) == pytest.approx(226.6, abs=0.05)
    assert power_from_kcal("bike", 12.0, 40.0, base=0.0, slope=3.6) == pytest.approx(300.0)


def test_gaps_stay_gaps():
    assert np.isnan(power_from_distance("row", np.array([500.0, np.nan]), np.array([100.0, np.nan]))).tolist() == [
        False,
        True,
    ]


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: power_from_distance("bike", 500.0, 60.0), "calories instead"),
        (lambda: power_from_kcal("run", 20.0, 60.0), "metres instead"),
        (lambda: power_from_distance("row", 0.0, 60.0), "above zero"),
        (lambda: power_from_kcal("row", 10.0, -1.0), "above zero"),
        (lambda: power_from_kcal("row", 3.0, 40.0), "at rest"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()


def test_the_variance_grows_with_age_and_levels_off_after_a_year():
    days = np.array([-5.0, 0.0, 91.25, 182.5, 365.0, 3650.0])
    added = np.sqrt(effort_sd(0.03, days, ENGINE_DRIFT_SD) ** 2 - 0.03**2)
    np.testing.assert_allclose(added, ENGINE_DRIFT_SD * np.sqrt([0.0, 0.0, 0.25, 0.5, 1.0, 1.0]), atol=1e-9)


def test_an_old_effort_of_strength_counts_for_less_than_an_old_effort_on_an_engine():
    assert effort_sd(0.03, 400.0, STRENGTH_DRIFT_SD) == pytest.approx(np.hypot(0.03, 0.15))
    assert effort_sd(0.03, 400.0, ENGINE_DRIFT_SD) == pytest.approx(np.hypot(0.03, 0.12))


def test_repetitions_in_a_time_are_a_rate():
    rate, seconds = rate_in_time([108.0, 0.0, np.nan], 420.0)
    np.testing.assert_allclose(rate, [108.0 / 7.0, 0.0, np.nan])
    np.testing.assert_allclose(seconds, 420.0)


def test_an_unbroken_best_is_a_rate_over_the_time_it_takes():
    rate, seconds = rate_of_unbroken([40.0, 0.0], 2.5)
    np.testing.assert_allclose(rate, [24.0, 0.0])
    np.testing.assert_allclose(seconds, [100.0, 60.0])  # none at all: none in a minute


@pytest.mark.parametrize("call", [lambda: rate_in_time(10.0, 0.0), lambda: rate_in_time(-1.0, 60.0)])
def test_a_rate_of_nonsense_is_refused(call):
    with pytest.raises(ValueError, match="above zero|fewer than none"):
        call()


def test_efforts_of_one_day_share_all_that_changed_since():
    drift, many = 0.12, 4
    own = drift**2 / many  # what a mean of independent changes after a year would leave
    assert own + shared_drift_sd([0.03] * many, [365.0] * many, drift) ** 2 == pytest.approx(drift**2)
    assert shared_drift_sd([0.03], [365.0], drift) == shared_drift_sd([], [], drift) == 0.0


def test_an_old_effort_beside_one_of_today_shares_nothing_with_it():
    assert shared_drift_sd([0.03, 0.03], [0.0, 300.0], 0.12) == 0.0
    walked = np.random.default_rng(1).normal(size=(20_000, 2)) * 0.12 * np.sqrt(100 / 365)
    newer, older = walked[:, 0], walked.sum(1)  # 100 and 200 days ago
    sd = [0.03**2 + MISFIT_SD**2 + 0.12**2 * age / 365 for age in (100, 200)]
    weight = (1 / sd[0]) / (1 / sd[0] + 1 / sd[1])
    mean = weight * newer + (1 - weight) * older
    alone = 0.12**2 * (weight**2 * 100 + (1 - weight) ** 2 * 200) / 365
    assert alone + shared_drift_sd([0.03, 0.03], [100, 200], 0.12) ** 2 == pytest.approx(mean.var(), rel=0.04)
