"""The running curve against the printed tables of Daniels & Gilbert 1979, Oxygen Power: Performance Tables for Distance
Runners: from one race of a row, the others of 4 to 25 minutes.
"""

import numpy as np
import pytest

from athletes.capacity.best import best_time_for_distance, best_time_for_distance_sd
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.people import People


def hms(text):
    return sum(float(part) * 60**power for power, part in enumerate(reversed(text.split(":"))))


# Rows 38 and 39 (secondary), 50 (from memory)
ROWS = {
    38: {1500.0: "6:54", 1609.344: "7:27", 3000.0: "14:41", 3218.688: "15:49", 5000.0: "25:12"},
    39: {1500.0: "6:44", 1609.344: "7:17", 3000.0: "14:21", 3218.688: "15:29", 5000.0: "24:39"},
    50: {1609.344: "5:50", 5000.0: "19:57"},
}
PAIRS = [(row, one, other) for row, times in ROWS.items() for one in times for other in times if one != other]


@pytest.mark.parametrize(("row", "one", "other"), PAIRS)
def test_one_race_foretells_another(row, one, other):
    seconds, expected = hms(ROWS[row][one]), hms(ROWS[row][other])
    race = Efforts(np.array([[one / seconds]]), np.array([[seconds]]), np.array([[0.01]]))
    means, covariances = estimate_engines({"run": race}, People.of("", np.nan))
    found = best_time_for_distance("run", other, means["run"])[0]
    assert found == pytest.approx(expected, rel=0.04)
    sd = best_time_for_distance_sd("run", other, means["run"], covariances["run"])[0]
    assert abs(np.log(found / expected)) < 1.0 * sd
