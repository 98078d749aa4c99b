"""Moist air. Source: CIPM-2007, Picard et al. 2008, Metrologia 45:149–155 (constants as quoted in public code)."""

import numpy as np
import pytest

from athletes.capacity.air import density_moist


@pytest.mark.parametrize(
    ("pressure", "celsius", "humidity", "density"),
    [
        (101_325, 20, 0.50, 1.199314),
        (101_325, 15, 0.00, 1.225521),
        (101_325, 22, 0.40, 1.191659),
        (101_325, 30, 0.80, 1.150012),
        (84_556, 20, 0.30, 1.001999),
        (79_495, 25, 0.20, 0.926289),
        (94_000, 18, 0.60, 1.1196),
        (84_000, 25, 0.30, 0.9776),
    ],
)
def test_density(pressure, celsius, humidity, density):
    assert density_moist(pressure, celsius, humidity) == pytest.approx(density, rel=5e-5 if density < 1.12 else 1e-6)


@pytest.mark.parametrize(
    ("pressure", "celsius", "humidity", "density"),
    [(101_325, 20, 50, 1.199294), (101_325, 22, 40, 1.191664), (101_325, 30, 80, 1.149955)],
)
def test_the_approximation_of_oiml_r_111(pressure, celsius, humidity, density):
    # OIML R 111-1:2004 (from memory): (0.34848·p[hPa] − 0.009·RH[%]·exp(0.061·t)) / (273.15 + t)
    approximate = (0.34848 * pressure / 100 - 0.009 * humidity * np.exp(0.061 * celsius)) / (273.15 + celsius)
    assert approximate == pytest.approx(density, abs=1e-6)
    assert density_moist(pressure, celsius, humidity / 100) == pytest.approx(approximate, rel=1e-4)


@pytest.mark.parametrize(
    ("pressure", "celsius", "humidity", "psychrolib", "metpy"),
    [
        (101_325, 20, 0.50, 1.198898, 1.198884),
        (101_325, 15, 0.00, 1.225046, 1.225023),
        (101_325, 22, 0.40, 1.191272, 1.191258),
        (101_325, 30, 0.80, 1.149673, 1.149691),
        (84_556, 20, 0.30, 1.001716, 1.001702),
        (79_495, 25, 0.20, 0.926080, 0.926068),
    ],
)
def test_two_public_packages_for_an_ideal_gas(pressure, celsius, humidity, psychrolib, metpy):
    # Typed in from a run of psychrolib and metpy: they leave out the compressibility, 0.04 % at the most
    density = density_moist(pressure, celsius, humidity)
    for ideal in (psychrolib, metpy):
        assert density * (1 - 4.2e-4) < ideal < density


def test_the_ratio_of_a_warm_damp_room_to_a_cool_one():
    cool, warm = density_moist(101_325, [18, 30], [0.4, 0.7])
    assert warm / cool == pytest.approx(0.952624, abs=1e-6)


def test_percent_is_refused():
    with pytest.raises(ValueError, match="0 to 1"):
        density_moist(101_325, 20, 50)
