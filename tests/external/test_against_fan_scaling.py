"""Levers in other air. Sources: fan torque ∝ density (turbulent drag similarity); densities by CIPM-2007 and ISO 2533.

The density ratios were computed from those two formulas as printed (see the tests against them).
"""

import numpy as np
import pytest

from athletes.capacity.air import density_isa, density_moist
from athletes.capacity.drag import Reach, lever_for

LEVERS = np.array([1.0, 5.0, 10.0])
DRAGS = np.array([89.0, 135.5, 223.0])  # one clean machine near sea level, as its owner published (common practice)


def test_a_warm_damp_room_asks_for_the_lever_of_a_higher_drag():
    cool, warm = density_moist(101_325, [18, 30], [0.4, 0.7])
    lever, reach = lever_for(130.0, LEVERS, DRAGS, cool, warm)
    assert reach == Reach.WITHIN
    assert lever == pytest.approx(lever_for(130.0 / 0.952624, LEVERS, DRAGS, cool, cool)[0].item(), abs=1e-4)


@pytest.mark.parametrize(("altitude_m", "ratio"), [(500, 0.95287), (1000, 0.90746), (1609, 0.85441), (2000, 0.82162)])
def test_the_same_machine_up_a_mountain(altitude_m, ratio):
    low, high = density_isa(0.0), density_isa(altitude_m)
    lever, _ = lever_for(130.0, LEVERS, DRAGS, low, high)
    # Its curve is a tenth of the logarithm a lever, near enough: the lever rises by what the air lost
    assert lever - lever_for(130.0, LEVERS, DRAGS, low, low)[0] == pytest.approx(-np.log(ratio) / 0.10, rel=0.06)


def test_readings_taken_up_there_say_the_same():
    low, high = density_isa(0.0), density_isa(1609.0)
    lever, _ = lever_for(130.0, LEVERS, DRAGS * 0.85441, high, high)
    assert lever == pytest.approx(lever_for(130.0, LEVERS, DRAGS, low, high)[0].item(), abs=1e-3)
