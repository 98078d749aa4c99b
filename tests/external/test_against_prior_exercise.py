"""One engine after another. Source: Johnson et al. 2014, "Prior upper body exercise reduces cycling work capacity but
not critical power", Med Sci Sports Exerc 46:802–808 (abstract): after severe arm-cranking, seven men had the same CP on
the bike, 267 ± 19 and 264 ± 20 W, and 11.8 ± 4.2 of 17.3 ± 5.7 kJ of W'.
"""

import numpy as np
import pytest

from sessions.scaling.pacing import pace_sequence
from sessions.scaling.sequence import Leg, Sequence

BIKE = np.log([[267.0, 17_300.0, 1e-3]])
ARMS = np.log([[120.0, 9_000.0, 1e-3]])


def bike_after_arms(seconds):
    """Level and power on the bike after as long on the other machine, both even and to the end."""
    legs = (Leg("ski", "seconds", seconds), Leg("bike", "seconds", seconds))
    pacing = pace_sequence(Sequence(legs, headroom=0.0), {"ski": ARMS, "bike": BIKE})
    return pacing.level[0], pacing.hold[0, 1]


@pytest.mark.parametrize("seconds", [180.0, 300.0, 600.0])
def test_hard_work_of_the_arms_costs_a_third_of_the_work_above_critical_power(seconds):
    # The level is the share of their own W' that the arms spent before
    level, watts = bike_after_arms(seconds)
    lost = 1.0 - (watts - 267.0) * seconds / 17_300.0
    assert lost / level == pytest.approx(1.0 - 11.8 / 17.3, abs=0.05)


def test_critical_power_itself_is_left_as_it_was():
    longest = 7200.0
    assert bike_after_arms(longest)[1] == pytest.approx(267.0, abs=3.0)
