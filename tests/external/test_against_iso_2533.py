"""Standard atmosphere. Source: ISO 2533:1975, geopotential altitude; reproduced to 1e-6 by two public packages."""

import pytest

from athletes.capacity.air import density_isa, pressure_isa


@pytest.mark.parametrize(
    ("altitude", "density"),
    [
        (0, 1.225000),
        (500, 1.167269),
        (640, 1.1515),
        (1000, 1.111643),
        (1500, 1.058067),
        (1609, 1.046655),
        (2000, 1.006490),
        (2500, 0.956859),
        (3000, 0.909122),
    ],
)
def test_density(altitude, density):
    assert density_isa(altitude) == pytest.approx(density, rel=5e-5 if altitude == 640 else 1e-6)


@pytest.mark.parametrize(
    ("altitude", "pressure"),
    [(0, 101_325.00), (500, 95_460.84), (1000, 89_874.56), (2000, 79_495.20), (3000, 70_108.53)],
)
def test_pressure(altitude, pressure):
    assert pressure_isa(altitude) == pytest.approx(pressure, abs=0.01)
