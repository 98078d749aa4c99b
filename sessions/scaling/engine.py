"""One engine station alone: what can be held to the last round."""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from sessions.scaling.constants import REFILL, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.demand import fade_sum


def fast_tau(
    critical_power_w: ArrayLike, w_prime_j: ArrayLike, recovery_share: ArrayLike, refill: ArrayLike = REFILL
) -> Array:
    """Time constant [s] in which the spent W' comes back: ρ·W' / (CP − P_rec), infinite at `recovery_share` 1.

    Differential W'-balance model, Skiba et al. 2015, Eur J Appl Physiol 115:703–713 (pages from memory), which is
    ρ = 1; `refill` is ρ. `recovery_share` is the mean power in between as a share of CP, 0 to 1.
    """
    rest = np.maximum(1.0 - np.asarray(recovery_share, float), 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.asarray(refill, float) * w_prime_j / (np.asarray(critical_power_w, float) * rest), float)


def hold_power(
    critical_power_w: ArrayLike,
    w_prime_j: ArrayLike,
    ramp_s: ArrayLike,
    work_s: ArrayLike,
    rotations: ArrayLike,
    rotation_s: ArrayLike,
    recovery_share: ArrayLike,
    headroom: ArrayLike,
    slow_share: float = SLOW_SHARE,
    slow_tau_s: float = SLOW_TAU_S,
    refill: ArrayLike = REFILL,
) -> Array:
    """Even power [W] that one engine station alone holds for `work_s` [s, > 0] in every round, with headroom left.

    P = (1 − h)·(CP + W' / (w·g + k)), g = Σ fade(r·(T − w)) over r = 0 … R − 1, T = `rotation_s` [s, >= work_s] a
    round. `recovery_share` and `headroom` h are shares, 0 to 1; `refill` is ρ of `fast_tau`. Everything broadcasts.
    One round and no headroom give CP + W' / (w + k), the best even effort.
    """
    work_s, ramp_s = np.asarray(work_s, float), np.asarray(ramp_s, float)
    tau_s = fast_tau(critical_power_w, w_prime_j, recovery_share, refill)
    sets = fade_sum(0.0, np.asarray(rotation_s, float) - work_s, rotations, tau_s, slow_share, slow_tau_s)
    best = np.asarray(critical_power_w, float) + np.asarray(w_prime_j, float) / (work_s * sets + ramp_s)
    return np.asarray((1.0 - np.asarray(headroom, float)) * best, float)
