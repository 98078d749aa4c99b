"""What the sets at one engine station ask of an ability, in the form that large arrays are worked out in."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.constants import SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.fade import repeats, repeats_slope


@dataclass(frozen=True, eq=False)
class Effort:
    """An ability at an engine station alone, all arrays of one shape: see `hold_power`.

    `seconds` [s] is w·g + k, what a watt above CP costs of W' by the end of the last round; `left` what is left of the
    fast fatigue of one set at the next.
    """

    critical_power: np.ndarray
    w_prime: np.ndarray
    ramp_s: np.ndarray
    seconds: np.ndarray
    left: np.ndarray

    def power(self, budget):
        """Highest even power that spends the share `budget` of W' by the end of the last round, and the share of that
        power which lies above CP.
        """
        above = budget * self.w_prime
        above /= self.seconds
        power = self.critical_power + above
        above /= power
        return power, above


def effort_of(ability, rate, work_s, rest_s, slow_s, rotations):
    """The `Effort` of an ability (CP, W', k); `rate` [1/s] at which W' comes back in the `rest_s` between two sets."""
    critical_power, w_prime, ramp_s = ability
    left = np.exp(-rest_s * rate)
    seconds, _ = repeats(left, rotations)
    seconds = ((1.0 - SLOW_SHARE) * work_s) * seconds
    seconds += ramp_s
    seconds += slow_s
    return Effort(critical_power, w_prime, ramp_s, seconds, left)


def slow_seconds(work_s, rest_s, rotations):
    """The part of `Effort.seconds` that the slow share of the fatigue makes up: the same for everyone."""
    return SLOW_SHARE * work_s * repeats(np.exp(-rest_s / SLOW_TAU_S), rotations)[0]


def lean_of(effort, rate, work_s, rest_s, rotations):
    """How the power above CP moves against CP: derivatives (3, ...) of log above − log CP by log CP, log W' and log k.

    The log of the whole power has the gradient (1, 0, 0) + a·lean, a the share above CP: one lean for every budget. CP
    and W' also set how fast W' comes back, so both reach the power by the sum of the sets as well.
    """
    slower = ((1.0 - SLOW_SHARE) * work_s * rest_s) * rate
    slower *= repeats_slope(effort.left, rotations)
    slower /= effort.seconds
    lean = np.empty((3, *slower.shape))
    lean[0] = slower - 1.0
    lean[1] = -lean[0]
    lean[2] = -effort.ramp_s / effort.seconds
    return lean
