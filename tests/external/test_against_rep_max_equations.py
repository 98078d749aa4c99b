"""One-repetition maxima. Sources: Epley 1985; Brzycki 1993, JOPERD 64:88–90; Lombardi 1989; Mayhew et al. 1992;
O'Conner et al. 1989; Wathan 1994; Lander 1985 (formulas on secondary pages, bibliographic details from memory).
"""

import numpy as np
import pytest

from athletes.capacity.constants import REPETITION_TABLE
from athletes.capacity.strength import one_rep_max, repetitions_at_load

ORDER = ("epley", "brzycki", "lombardi", "mayhew", "oconner", "wathan", "lander")


@pytest.mark.parametrize(
    ("repetitions", "expected"),
    [
        (3, (110.000, 105.882, 111.612, 113.990, 107.500, 108.980, 107.197)),
        (5, (116.667, 112.500, 117.462, 119.011, 112.500, 116.583, 113.709)),
        (8, (126.667, 124.138, 123.114, 126.286, 120.000, 127.671, 125.109)),
        (10, (133.333, 133.333, 125.893, 130.934, 125.000, 134.747, 134.070)),
        (15, (150.000, 163.636, 131.102, 141.719, 137.500, 150.906, 163.315)),
    ],
)
def test_100_kg(repetitions, expected):
    for equation, kilograms in zip(ORDER, expected, strict=True):
        assert one_rep_max(100.0, repetitions, equation) == pytest.approx(kilograms, abs=6e-4), equation


def test_epley_and_brzycki_meet_at_ten():
    assert one_rep_max(100.0, 10, "epley") == pytest.approx(one_rep_max(100.0, 10, "brzycki"), rel=1e-12)


@pytest.mark.parametrize(("share", "repetitions"), [(0.6, 20.0), (0.7, 12.857), (0.8, 7.5), (0.9, 3.333)])
def test_epley_read_backwards(share, repetitions):
    assert repetitions_at_load(100.0, 100.0 * share) == pytest.approx(repetitions, abs=6e-4)


def test_a_measured_five_repetition_maximum_is_near_the_equations():
    # Reynolds et al. 2006, J Strength Cond Res 20:584–592 (abstract), bench press: 1.1307·5RM + 0.6999 kg, SEE 2.98 kg
    measured = 1.1307 * 80.0 + 0.6999
    assert measured == pytest.approx(91.1559, abs=1e-4)
    for equation in ORDER:
        assert abs(one_rep_max(80.0, 5, equation) - measured) < 2 * 2.98, equation


@pytest.mark.parametrize(
    ("load", "repetitions", "expected"),
    [(80, 8, (101.33, 99.31, 98.49, 101.03, 96.00)), (60, 10, (80.00, 80.00, 75.54, 78.56, 75.00))],
)
def test_other_loads(load, repetitions, expected):
    for equation, kilograms in zip(ORDER, expected, strict=False):
        assert one_rep_max(load, repetitions, equation) == pytest.approx(kilograms, abs=6e-3), equation


@pytest.mark.parametrize(
    ("equation", "rmse"),
    [
        ("lander", 0.680),
        ("brzycki", 1.250),
        ("wathan", 1.408),
        ("epley", 1.694),
        ("lombardi", 2.468),
        ("oconner", 2.761),
        ("mayhew", 4.045),
    ],
)
def test_distance_of_each_equation_from_the_repetition_table(equation, rmse):
    # The distances include each equation's own value at one repetition, which our function replaces by the load
    repetitions = np.arange(2, 11)
    percent = 100.0 / one_rep_max(1.0, repetitions, equation)
    errors = percent - 100.0 * np.array(REPETITION_TABLE[1:])
    at_one = {"epley": 1 + 1 / 30, "mayhew": 1.08864, "oconner": 1.025, "wathan": 1.01304, "lander": 1.01390}
    errors = np.append(errors, 100.0 / at_one.get(equation, 1.0) - 100.0)
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(rmse, abs=2e-3)
