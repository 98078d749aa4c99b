"""Density of the air, which a fan's drag is proportional to. It concerns the machine, not the athlete."""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array

# ISO 2533:1975, up to 11 000 m
SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_PA = 101_325.0
LAPSE_K_PER_M = 0.0065
GRAVITY_M_PER_S2 = 9.80665
DRY_AIR_GAS_CONSTANT = 287.05287  # J/(kg·K)

# CIPM-2007
CELSIUS_ZERO_K = 273.15
MOLAR_GAS_CONSTANT = 8.314472  # J/(mol·K)
DRY_AIR_MOLAR_MASS = 28.96546e-3  # kg/mol, at 400 µmol/mol of carbon dioxide
WATER_MOLAR_MASS = 18.01528e-3  # kg/mol


def pressure_isa(altitude_m: ArrayLike) -> Array:
    """Pressure [Pa] of the standard atmosphere at a geopotential altitude [m, below 11 000]: ISO 2533:1975."""
    exponent = GRAVITY_M_PER_S2 / (DRY_AIR_GAS_CONSTANT * LAPSE_K_PER_M)
    return SEA_LEVEL_PRESSURE_PA * (_temperature_isa(altitude_m) / SEA_LEVEL_TEMPERATURE_K) ** exponent


def density_isa(altitude_m: ArrayLike) -> Array:
    """Density [kg/m³] of the standard atmosphere at a geopotential altitude [m, below 11 000]: ISO 2533:1975."""
    return pressure_isa(altitude_m) / (DRY_AIR_GAS_CONSTANT * _temperature_isa(altitude_m))


def density_moist(pressure_pa: ArrayLike, temperature_c: ArrayLike, relative_humidity: ArrayLike) -> Array:
    """Density [kg/m³] of moist air by CIPM-2007: Picard et al. 2008, Metrologia 45:149–155.

    `pressure_pa` is measured in the room, not reduced to sea level; `relative_humidity` runs from 0 to 1, and anything
    else raises ValueError, for percent is the usual slip. Stated for 600 to 1100 hPa and 15 to 27 °C (from memory).
    """
    humidity = np.asarray(relative_humidity, float)
    if ((humidity < 0) | (humidity > 1)).any():
        raise ValueError("Relative humidity runs from 0 to 1: divide percent by 100.")
    pressure, celsius = np.asarray(pressure_pa, float), np.asarray(temperature_c, float)
    kelvin = celsius + CELSIUS_ZERO_K
    vapour = humidity * _enhancement(pressure, celsius) * _saturation_pressure(kelvin) / pressure
    gas = pressure * DRY_AIR_MOLAR_MASS / (_compressibility(pressure, celsius, vapour) * MOLAR_GAS_CONSTANT * kelvin)
    density: Array = gas * (1.0 - vapour * (1.0 - WATER_MOLAR_MASS / DRY_AIR_MOLAR_MASS))
    return density


def _temperature_isa(altitude_m: ArrayLike) -> Array:
    return SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * np.asarray(altitude_m, float)


def _saturation_pressure(kelvin: Array) -> Array:
    """Vapour pressure at saturation [Pa]."""
    return np.exp(1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6343.1645 / kelvin)


def _enhancement(pressure: Array, celsius: Array) -> Array:
    """Enhancement factor of the vapour pressure in air."""
    return 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius**2


def _compressibility(pressure: Array, celsius: Array, vapour: Array) -> Array:
    """Compressibility factor Z; `vapour` is the mole fraction of water."""
    ratio = pressure / (celsius + CELSIUS_ZERO_K)
    first = 1.58123e-6 - 2.9331e-8 * celsius + 1.1043e-10 * celsius**2
    second = (5.707e-6 - 2.051e-8 * celsius) * vapour + (1.9898e-4 - 2.376e-6 * celsius) * vapour**2
    return 1.0 - ratio * (first + second) + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)
