"""Race times at other distances. Source: Riegel 1981, American Scientist 69:285–290: T2 = T1·(D2/D1)^1.06."""

import pytest

from athletes.capacity.running import riegel_time


@pytest.mark.parametrize(
    ("time_s", "metres", "other", "expected"),
    [
        (1200.0, 5000.0, 10_000.0, 2501.918),
        (360.0, 1609.344, 5000.0, 1197.189),
        (2730.0, 10_000.0, 42_195.0, 12_558.544),
        (5400.0, 21_097.5, 42_195.0, 11_258.630),
        (300.0, 1500.0, 3000.0, 625.5),
        (90.0, 400.0, 800.0, 187.644),
    ],
)
def test_values_of_the_formula(time_s, metres, other, expected):
    assert riegel_time(time_s, metres, other) == pytest.approx(expected, abs=0.05)


def test_the_way_between_two_distances_does_not_matter():
    by_way = riegel_time(riegel_time(1200.0, 5000.0, 10_000.0), 10_000.0, 42_195.0)
    assert by_way == pytest.approx(riegel_time(1200.0, 5000.0, 42_195.0), rel=1e-12)


def test_a_record_predicts_a_record():
    # Men's records at 9 August 2006 (DAAG data): 5000 m in 757.35 s, 10 000 m in 1577.53 s
    assert riegel_time(757.35, 5000.0, 10_000.0) == pytest.approx(1577.53, rel=0.002)
