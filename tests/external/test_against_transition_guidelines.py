"""The first weeks after a break. Source: Caterisano et al. 2019, CSCCa and NSCA joint consensus guidelines for
transition periods, Strength Cond J 41(3):1–23: volume cut by 50, 30, 20 and 10 % in weeks 1 to 4, rest at least 1:4 in
week 1 and 1:3 in week 2 (details from memory).
"""

import numpy as np
import pytest

from sessions.scaling.cautions import longest_work_s, ramp_factor


def test_of_a_hundred():
    np.testing.assert_allclose(100.0 * ramp_factor(np.array([0, 7, 14, 21, 28])), [50, 70, 80, 90, 100])


@pytest.mark.parametrize(("week", "ratio", "seconds"), [(1, 4, 12.0), (2, 3, 15.0)])
def test_work_of_a_minute(week, ratio, seconds):
    work = longest_work_s(60.0, week)
    assert work == pytest.approx(seconds)
    assert (60.0 - work) / work == pytest.approx(ratio)


def test_forty_seconds_on_and_twenty_off_are_far_outside():
    assert (longest_work_s(60.0, np.array([1, 2])) < 40.0).all()
