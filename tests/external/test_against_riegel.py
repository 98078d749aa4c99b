"""The running curve against race times at other distances. Source: Riegel 1981, American Scientist 69:285–290:
T2 = T1·(D2/D1)^1.06, stated for 3.5 to 230 minutes.
"""

import numpy as np
import pytest

from athletes.capacity.best import best_time_for_distance
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.people import People

MILE = 1609.344


def foretold(metres, seconds, other):
    """Time [s] over another distance of who ran one race."""
    race = Efforts(np.array([[metres / seconds]]), np.array([[seconds]]), np.array([[0.01]]))
    means, _ = estimate_engines({"run": race}, People.of("", np.nan))
    return best_time_for_distance("run", other, means["run"])[0]


# Check values of the formula (science reference, 4.1): a mile in 6:00, a mile in 8:00, 3 km in 15:00
@pytest.mark.parametrize(("metres", "seconds"), [(MILE, 360.0), (MILE, 480.0), (3000.0, 900.0)])
@pytest.mark.parametrize("other", [1000.0, 1500.0, 2000.0, 3000.0, 5000.0])
def test_within_the_range_of_both_they_agree(metres, seconds, other):
    expected = seconds * (other / metres) ** 1.06
    if 210.0 <= expected <= 1500.0:
        assert foretold(metres, seconds, other) == pytest.approx(expected, rel=0.04)


def test_the_pace_falls_with_the_distance_about_as_fast():
    # Local exponent between 1500 and 5000 m; Riegel 1.06, records of 3.3 to 60 minutes 1.08 (DAAG data)
    times = [foretold(MILE, 420.0, metres) for metres in (1500.0, 5000.0)]
    assert np.log(times[1] / times[0]) / np.log(5000.0 / 1500.0) == pytest.approx(1.07, abs=0.03)
