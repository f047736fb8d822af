"""Water as the suction line sees it: vapour pressure, density and viscosity of the liquid, 273.15 to 333.15
K."""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.units import STANDARD_GRAVITY

_CRITICAL_TEMPERATURE = 647.096  # [K]
_CRITICAL_PRESSURE = 22.064e6  # [Pa]
_CRITICAL_DENSITY = 322.0  # [kg/m3]


@compiled
def vapour_pressure(T: float) -> float:
    """Saturation pressure of water [Pa] at T [K], 273.15 to 647 K.

    Source: IAPWS SR1-86(1992), eq. 1 (Wagner and Pruss 1993).

    Examples
    --------
    >>> round(vapour_pressure(293.15), 1)
    2339.2
    """
    tau = 1.0 - T / _CRITICAL_TEMPERATURE
    root = math.sqrt(tau)
    tau3 = tau * tau * tau
    total = (
        -7.85951783 * tau
        + 1.84408259 * tau * root
        - 11.7866497 * tau3
        + 22.6807411 * tau3 * root
        - 15.9618719 * tau3 * tau
        + 1.80122502 * tau3 * tau3 * tau * root
    )
    return _CRITICAL_PRESSURE * math.exp(_CRITICAL_TEMPERATURE / T * total)


@compiled
def density(T: float) -> float:
    """Density of liquid water [kg/m3] at T [K], 273.15 to 333.15 K, at saturation (0.005 % below that at 1
    bar).

    Source: IAPWS SR1-86(1992), eq. 2 (Wagner and Pruss 1993).

    Examples
    --------
    >>> round(density(293.15), 1)
    998.2
    """
    third = math.pow(1.0 - T / _CRITICAL_TEMPERATURE, 1.0 / 3.0)
    total = (
        1.0
        + 1.99274064 * third
        + 1.09965342 * third**2
        - 0.510839303 * third**5
        - 1.75493479 * third**16
        - 45.5170352 * third**43
        - 6.74694450e5 * third**110
    )
    return _CRITICAL_DENSITY * total


@compiled
def viscosity(T: float) -> float:
    """Dynamic viscosity of liquid water [Pa s] at T [K] and 0.1 MPa, 253 to 383 K. Source: IAPWS
    SR6-08(2011), eq. 7.

    Examples
    --------
    >>> round(1e3 * viscosity(293.15), 4)
    1.0016
    """
    t = T / 300.0
    return 1e-6 * (
        280.68 * math.pow(t, -1.9)
        + 511.45 * math.pow(t, -7.7)
        + 61.131 * math.pow(t, -19.6)
        + 0.45903 * math.pow(t, -40.0)
    )


@compiled
def greatest_lift(p_atm: float, T: float) -> float:
    """Greatest height [m] to which air pressure p_atm [Pa] can lift water at T [K], 273.15 to 333.15 K.

    ``(p_atm - p_v) / (rho g)``: hydrostatics with the vapour pressure as the floor of suction pressure.

    Examples
    --------
    >>> round(greatest_lift(101325.0, 293.15), 2)
    10.11
    """
    return (p_atm - vapour_pressure(T)) / (density(T) * STANDARD_GRAVITY)
