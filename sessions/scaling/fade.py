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


def fade_sum_slope(period_s, count, fast_tau_s, slow_share=SLOW_SHARE):
    """Derivative by log τ_f of `fade_sum` of sets of which the latest is just over (`first_s` 0).

    With a = period / τ and F the fast sum, F·(a / (eᵃ − 1) − R·a / (eᴿᵃ − 1)).
    """
    step = np.asarray(period_s, float) / fast_tau_s
    fast = _exponential_sum(0.0, period_s, count, fast_tau_s)
    return (1.0 - slow_share) * fast * (_bernoulli(step) - _bernoulli(count * step))


def _bernoulli(x):
    """x / (eˣ − 1), 1 at 0."""
    with np.errstate(over="ignore"):
        return np.where(x == 0.0, 1.0, x / np.where(x == 0.0, 1.0, np.expm1(x)))


def _exponential_sum(first_s, period_s, count, tau_s):
    """Σ exp(−(first + r·period) / τ) for r = 0 … count − 1, in closed form."""
    step = np.asarray(period_s, float) / tau_s
    still = step == 0.0
    ratio = np.expm1(-count * step) / np.where(still, 1.0, np.expm1(-step))
    return np.exp(-np.asarray(first_s, float) / tau_s) * np.where(still, count, ratio)
