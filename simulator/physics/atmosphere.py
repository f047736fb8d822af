"""The standard atmosphere of ISO 2533 (equal to the US Standard Atmosphere 1976) in the troposphere."""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR
from simulator.units import STANDARD_ATMOSPHERE, STANDARD_GRAVITY

SEA_LEVEL_TEMPERATURE = 288.15  # [K]
LAPSE_RATE = 0.0065  # [K/m] of geopotential altitude
EARTH_RADIUS = 6_356_766.0  # nominal [m]


@compiled
def geopotential_altitude(h: float) -> float:
    """Geopotential altitude [m] of a geometric altitude h [m]. Source: ISO 2533:1975, eq. 8.

    Examples
    --------
    >>> round(geopotential_altitude(1500.0), 1)
    1499.6
    """
    return EARTH_RADIUS * h / (EARTH_RADIUS + h)


@compiled
def temperature_at_altitude(h: float) -> float:
    """Standard air temperature [K] at geometric altitude h [m], -2000 to 11000 m. Source: ISO 2533:1975.

    Examples
    --------
    >>> round(temperature_at_altitude(1500.0), 2)
    278.4
    """
    return SEA_LEVEL_TEMPERATURE - LAPSE_RATE * geopotential_altitude(h)


@compiled
def pressure_at_altitude(h: float) -> float:
    """Standard air pressure [Pa] at geometric altitude h [m], -2000 to 11000 m. Source: ISO 2533:1975.

    Examples
    --------
    >>> round(pressure_at_altitude(0.0))
    101325
    >>> round(pressure_at_altitude(1500.0), -1)
    84560.0
    """
    ratio = temperature_at_altitude(h) / SEA_LEVEL_TEMPERATURE
    return STANDARD_ATMOSPHERE * math.pow(ratio, STANDARD_GRAVITY / (R_AIR * LAPSE_RATE))


@compiled
def density_at_altitude(h: float) -> float:
    """Standard air density [kg/m3] at geometric altitude h [m], -2000 to 11000 m. Source: ISO 2533:1975.

    Examples
    --------
    >>> round(density_at_altitude(0.0), 4)
    1.225
    """
    return pressure_at_altitude(h) / (R_AIR * temperature_at_altitude(h))
