"""The first weeks after a break. Source: Caterisano et al. 2019, CSCCa and NSCA joint consensus guidelines for
transition periods, Strength Cond J 41(3):1–23: volume cut by 50, 30, 20 and 10 % in weeks 1 to 4 (details from memory).
"""

import numpy as np

from sessions.scaling.cautions import ramp_week, rounds_share


def test_of_a_hundred():
    days = np.array([0, 7, 14, 21, 28])
    np.testing.assert_allclose(100.0 * rounds_share(ramp_week(days)), [50, 70, 80, 90, 100])
