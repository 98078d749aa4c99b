import numpy as np
import pytest

from athletes.capacity.ergometer import watts_from_pace
from athletes.capacity.observations import effort_sd, power_from_distance, power_from_kcal


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


def test_the_sd_doubles_with_age():
    np.testing.assert_allclose(effort_sd(0.03, np.array([-5.0, 0.0, 180.0, 360.0])), [0.03, 0.03, 0.06, 0.12])
