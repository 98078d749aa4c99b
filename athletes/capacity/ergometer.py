"""Conversions of air-braked ergometers: pace, power, displayed calories.

Display conventions in general use (common practice); the cube law is the drag of a fan in air.
Every function takes scalars or arrays, broadcasts, and passes NaN on.
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from athletes.capacity.constants import (
    AIR_BRAKE_W_S3_PER_M3,
    KCAL_BASE_PER_H,
    KCAL_SLOPE_PER_W_H,
    PACE_DISTANCE_M,
    SECONDS_PER_HOUR,
)


def watts_from_pace(pace_s_per_500m: ArrayLike) -> Array:
    """Power [W] at a pace [s per 500 m, > 0]: P = 2.80 / (pace / 500)³."""
    return AIR_BRAKE_W_S3_PER_M3 / (np.asarray(pace_s_per_500m, float) / PACE_DISTANCE_M) ** 3


def pace_from_watts(watts: ArrayLike) -> Array:
    """Pace [s per 500 m] at a power [W, > 0]: 500 · (2.80 / P)^(1/3)."""
    return PACE_DISTANCE_M * np.cbrt(AIR_BRAKE_W_S3_PER_M3 / np.asarray(watts, float))


def kcal_per_hour(watts: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H) -> Array:
    """Displayed calorie rate [kcal/h] at a power [W]: base [kcal/h] + slope [kcal/h per W] · P."""
    return base + slope * np.asarray(watts, float)


def watts_from_kcal_per_hour(
    rate: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H
) -> Array:
    """Power [W] at a displayed calorie rate [kcal/h]; negative when the rate is below the monitor's base."""
    return (np.asarray(rate, float) - base) / slope


def watts_for_kcal(
    kcal: ArrayLike, seconds: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H
) -> Array:
    """Even power [W] that shows `kcal` after `seconds` [s, > 0]; negative when the base alone shows more."""
    return watts_from_kcal_per_hour(
        np.asarray(kcal, float) * SECONDS_PER_HOUR / np.asarray(seconds, float), base, slope
    )


def kcal_in(
    seconds: ArrayLike, watts: ArrayLike, base: float = KCAL_BASE_PER_H, slope: float = KCAL_SLOPE_PER_W_H
) -> Array:
    """Calories [kcal] shown after `seconds` [s] at an even power [W]."""
    kcal: Array = kcal_per_hour(watts, base, slope) * np.asarray(seconds, float) / SECONDS_PER_HOUR
    return kcal


def watts_for_metres(metres: ArrayLike, seconds: ArrayLike) -> Array:
    """Even power [W] that covers `metres` [m, > 0] in `seconds` [s, > 0] on a rowing or ski ergometer."""
    watts: Array = AIR_BRAKE_W_S3_PER_M3 * (np.asarray(metres, float) / np.asarray(seconds, float)) ** 3
    return watts


def metres_in(seconds: ArrayLike, watts: ArrayLike) -> Array:
    """Metres [m] covered in `seconds` [s] at an even power [W, >= 0] on a rowing or ski ergometer."""
    metres: Array = np.cbrt(np.asarray(watts, float) / AIR_BRAKE_W_S3_PER_M3) * np.asarray(seconds, float)
    return metres
