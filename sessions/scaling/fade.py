"""How the fatigue of one set fades (working model: a fast and a slow share, both exponential)."""

import numpy as np

from sessions.scaling.constants import SLOW_SHARE, SLOW_TAU_S


def fade(lag_s, fast_tau_s, slow_share=SLOW_SHARE, slow_tau_s=SLOW_TAU_S):
    """Share of a set's fatigue that is left after `lag_s` [s]: (1 − s)·exp(−Δ/τ_f) + s·exp(−Δ/τ_s).

    `fast_tau_s` [s, > 0] may be infinite, for nothing recovers. Everything broadcasts.
    """
    lag_s = np.asarray(lag_s, float)
    return (1.0 - slow_share) * np.exp(-lag_s / fast_tau_s) + slow_share * np.exp(-lag_s / slow_tau_s)


def fade_sum(first_s, period_s, count, fast_tau_s, slow_share=SLOW_SHARE, slow_tau_s=SLOW_TAU_S):
    """Sum of `fade` over `count` sets, the latest `first_s` [s] ago and the others `period_s` [s] apart."""
    fast = _exponential_sum(first_s, period_s, count, fast_tau_s)
    return (1.0 - slow_share) * fast + slow_share * _exponential_sum(first_s, period_s, count, slow_tau_s)


def repeats(left, count):
    """Σ leftʳ over r = 0 … count − 1, and left^count; `count` one whole number, `left` from 0 to 1.

    By doubling, in sums of positive terms alone: quick for large arrays, and exact at 1, where nothing fades.
    """
    if count < 2:
        return np.full_like(left, count), left if count else np.ones_like(left)
    total, power = 1.0, left
    for digit in f"{count:b}"[1:]:
        total, power = total + total * power, power * power
        if digit == "1":
            total, power = total + power, power * left
    return total, power


def repeats_slope(left, count):
    """Σ r·leftʳ over r = 0 … count − 1: the derivative of the sum in `repeats` by log left."""
    if count < 2:
        return np.zeros_like(left)
    slope, total, power, done = 0.0, 1.0, left, 1
    for digit in f"{count:b}"[1:]:
        slope = slope + power * (slope + done * total)
        total, power, done = total + total * power, power * power, 2 * done
        if digit == "1":
            slope, total, power, done = slope + done * power, total + power, power * left, done + 1
    return slope


def _exponential_sum(first_s, period_s, count, tau_s):
    """Σ exp(−(first + r·period) / τ) for r = 0 … count − 1, in closed form."""
    step = np.asarray(period_s, float) / tau_s
    still = step == 0.0
    ratio = np.expm1(-count * step) / np.where(still, 1.0, np.expm1(-step))
    return np.exp(-np.asarray(first_s, float) / tau_s) * np.where(still, count, ratio)
