"""One engine station: what can be held to the last round, and how doses and powers relate."""

import numpy as np

from athletes.capacity import ergometer
from sessions.scaling.constants import SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.effort import effort_of, lean_of, slow_seconds
from sessions.scaling.fade import fade_sum


def fast_tau(critical_power_w, w_prime_j, recovery_share):
    """Time constant [s] in which the spent W' comes back: W' / (CP − P_rec), infinite at `recovery_share` 1.

    Differential W'-balance model, Skiba et al. 2015, Eur J Appl Physiol 115:703–713 (pages from memory).
    `recovery_share` is the mean power in between as a share of CP, 0 to 1.
    """
    with np.errstate(divide="ignore"):
        return w_prime_j / (critical_power_w * np.maximum(1.0 - np.asarray(recovery_share, float), 0.0))


def hold_power(
    critical_power_w,
    w_prime_j,
    ramp_s,
    work_s,
    rotations,
    rotation_s,
    recovery_share,
    headroom,
    slow_share=SLOW_SHARE,
    slow_tau_s=SLOW_TAU_S,
):
    """Highest even power [W] that one engine station alone can hold for `work_s` [s, > 0] in every rotation.

    P = CP + (1 − h)·W' / (w·g + k), g = Σ fade(r·(T − w)) over r = 0 … R − 1, T = `rotation_s` [s, >= work_s].
    `recovery_share` and `headroom` h are shares, 0 to 1. Everything broadcasts. One rotation and no headroom give
    CP + W' / (w + k), the best even effort.
    """
    tau_s = fast_tau(critical_power_w, w_prime_j, recovery_share)
    sets = fade_sum(0.0, rotation_s - np.asarray(work_s, float), rotations, tau_s, slow_share, slow_tau_s)
    return critical_power_w + (1.0 - headroom) * w_prime_j / (work_s * sets + ramp_s)


def hold_power_gradient(theta, work_s, rotations, rotation_s, recovery_share, headroom):
    """Derivatives (..., 3) of the log of `hold_power` by log CP, log W' and log k, at `theta` (..., 3); else as there.

    `rotations` is one whole number.
    """
    ability = np.exp(np.moveaxis(np.asarray(theta, float), -1, 0))
    work_s, recovery_share = np.asarray(work_s, float), np.asarray(recovery_share, float)
    rate, rest_s = ability[0] * (1.0 - recovery_share) / ability[1], rotation_s - work_s
    effort = effort_of(ability, rate, work_s, rest_s, slow_seconds(work_s, rest_s, rotations), rotations)
    gradient = effort.power(1.0 - headroom)[1] * lean_of(effort, rate, work_s, rest_s, rotations)
    gradient[0] += 1.0
    return np.moveaxis(gradient, 0, -1)


def power_for_dose(dose, work_s, is_kcal, is_run, kcal_base, kcal_slope):
    """Even power [W] (running: speed, m/s) that does a dose [kcal or m] in exactly `work_s`; never below zero."""
    by_kcal = ergometer.watts_for_kcal(dose, work_s, kcal_base, kcal_slope)
    by_metres = ergometer.watts_for_metres(dose, work_s)
    return np.where(is_kcal, np.maximum(by_kcal, 0.0), np.where(is_run, dose / work_s, by_metres))


def dose_at_power(power, work_s, is_kcal, is_run, kcal_base, kcal_slope):
    """Dose [kcal or m] done in `work_s` at an even power [W >= 0] (running: speed, m/s)."""
    by_kcal = ergometer.kcal_in(work_s, power, kcal_base, kcal_slope)
    by_metres = ergometer.metres_in(work_s, power)
    return np.where(is_kcal, by_kcal, np.where(is_run, power * work_s, by_metres))
