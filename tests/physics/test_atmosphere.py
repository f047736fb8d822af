"""Standard atmosphere against the library fluids (US Standard Atmosphere 1976 = ISO 2533:1975 in the
troposphere)."""

from __future__ import annotations

import fluids
import pytest

from simulator.physics import atmosphere


@pytest.mark.parametrize("altitude", [-400.0, 0.0, 500.0, 1500.0, 3000.0, 5000.0, 9000.0])
def test_against_the_us_standard_atmosphere(altitude: float) -> None:
    reference = fluids.ATMOSPHERE_1976(altitude)
    assert atmosphere.temperature_at_altitude(altitude) == pytest.approx(reference.T, rel=1e-5)
    assert atmosphere.pressure_at_altitude(altitude) == pytest.approx(reference.P, rel=2e-5)
    assert atmosphere.density_at_altitude(altitude) == pytest.approx(reference.rho, rel=2e-5)


def test_printed_values() -> None:
    """ISO 2533:1975, table at 0 m and 1000 m geometric altitude (from memory)."""
    assert atmosphere.pressure_at_altitude(0.0) == pytest.approx(101_325.0, rel=1e-12)
    assert atmosphere.density_at_altitude(0.0) == pytest.approx(1.225, rel=1e-5)
    assert atmosphere.pressure_at_altitude(1000.0) == pytest.approx(89_876.0, rel=1e-4)
    assert atmosphere.temperature_at_altitude(1000.0) == pytest.approx(281.651, rel=1e-5)
