"""Running performance. Source: Daniels & Gilbert 1979, Oxygen Power: Performance Tables for Distance Runners."""

import pytest
from scipy.optimize import brentq

from athletes.capacity.running import oxygen_cost, oxygen_fraction, performance_index


def hms(text):
    return sum(float(part) * 60**power for power, part in enumerate(reversed(text.split(":"))))


@pytest.mark.parametrize(("metres_per_minute", "uptake"), [(250, 47.4645), (300, 59.4374)])
def test_oxygen_cost(metres_per_minute, uptake):
    assert oxygen_cost(metres_per_minute / 60.0) == pytest.approx(uptake, abs=1e-4)


@pytest.mark.parametrize(
    ("minutes", "share"),
    [(5, 1.091463), (10, 1.009995), (11.0304, 1.0), (12, 0.991914), (30, 0.930025), (60, 0.888007), (120, 0.840883)],
)
def test_oxygen_fraction(minutes, share):
    assert oxygen_fraction(60.0 * minutes) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize(
    ("metres", "time", "index"),
    [
        (5000, "24:34", 39.110398),  # the same figure is printed by an independent public computation
        (5000, "20:00", 49.80623),
        (10_000, "41:21", 49.96711),
        (1609.344, "6:00", 48.41686),
        (3000, "10:30", 55.69),
        (1500, "5:00", 54.45661),
        (42_195, "3:30:00", 44.55353),
    ],
)
def test_performance_index(metres, time, index):
    assert performance_index(metres, hms(time)) == pytest.approx(index, abs=5e-3)


# The printed table's rows 38 and 39 (secondary), 40, 50 and 60 (from memory): the formula reproduces it within 0.2 %
@pytest.mark.parametrize(
    ("index", "metres", "time"),
    [
        (38, 1500, "6:54"),
        (38, 1609.344, "7:27"),
        (38, 3000, "14:41"),
        (38, 3218.688, "15:49"),
        (38, 5000, "25:12"),
        (38, 10_000, "52:17"),
        (38, 15_000, "80:33"),
        (38, 21_097.5, "1:55:55"),
        (38, 42_195, "3:59:35"),
        (39, 1500, "6:44"),
        (39, 1609.344, "7:17"),
        (39, 3000, "14:21"),
        (39, 3218.688, "15:29"),
        (39, 5000, "24:39"),
        (40, 5000, "24:08"),
        (50, 1609.344, "5:50"),
        (50, 5000, "19:57"),
        (50, 10_000, "41:21"),
        (60, 5000, "17:03"),
        (60, 42_195, "2:43:25"),
    ],
)
def test_the_printed_table(index, metres, time):
    seconds = brentq(lambda t: performance_index(metres, t) - index, metres / 10.0, metres)
    assert seconds == pytest.approx(hms(time), rel=0.002)
