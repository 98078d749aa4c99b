"""The best that an estimate predicts: how far, how many calories, how fast.

`theta` (..., 3) holds log CP, log W', log k (running: m/s, m, s); everything broadcasts over its leading axes.
"""

import numpy as np

from athletes.capacity import ergometer
from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from athletes.capacity.power_duration import log_power

TIME_BOUNDS_S = (1e-2, 1e6)  # where a best time is looked for
HALVINGS = 60  # of that range on a log scale: down to the last digits of a float


def best_power(duration_s, theta):
    """Best even power [W] (running: speed, m/s) for a duration [s, > 0]."""
    return np.exp(log_power(duration_s, theta))


def best_distance(engine, duration_s, theta):
    """Most metres [m] in a duration [s, > 0] on "row", "ski" or "run"; ValueError for a bike."""
    power = best_power(duration_s, theta)
    if engine == "run":
        return power * duration_s
    if engine in ("row", "ski"):
        return ergometer.metres_in(duration_s, power)
    raise ValueError("A bike's metres do not convert: ask for calories instead.")


def best_kcal(duration_s, theta, base=KCAL_BASE_PER_H, slope=KCAL_SLOPE_PER_W_H):
    """Most displayed calories [kcal] in a duration [s, > 0]."""
    return ergometer.kcal_in(duration_s, best_power(duration_s, theta), base, slope)


def best_time_for_distance(engine, metres, theta):
    """Shortest time [s] for metres [m, > 0] at an even power; on an ergometer the root of 2.80·(d/t)³ = P(t)."""
    return _time_for(lambda seconds: best_distance(engine, seconds, theta), metres, theta)


def best_time_for_kcal(kcal, theta, base=KCAL_BASE_PER_H, slope=KCAL_SLOPE_PER_W_H):
    """Shortest time [s] for displayed calories [kcal, > 0] at an even power."""
    return _time_for(lambda seconds: best_kcal(seconds, theta, base, slope), kcal, theta)


def _time_for(amount_in, wanted, theta):
    """Time at which an amount that grows with time reaches what is wanted, by halving on a log scale."""
    wanted = np.asarray(wanted, float)
    shape = np.broadcast_shapes(wanted.shape, np.shape(theta)[:-1])
    low, high = (np.full(shape, np.log(bound)) for bound in TIME_BOUNDS_S)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = amount_in(np.exp(middle)) < wanted
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.exp(0.5 * (low + high))
