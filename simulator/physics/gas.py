"""Flow of air through openings, and the gas relations the ejector stands on. Perfect gas, constant heat
capacity.

Arguments, the same throughout: ``p_a``, ``p_b`` absolute pressures on the two sides of an opening [Pa];
``gamma`` ratio of heat capacities, above 1 [-].
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.smooth import signed_root

R_AIR = 287.05287  # specific gas constant of dry air [J/(kg K)], ISO 2533
GAMMA = 1.4  # ratio of heat capacities of air [-], ISO 2533

#: Below this share of the upstream pressure a pressure difference counts as small: flow is nearly linear in
#: it [-].
SMALL_PRESSURE_SHARE = 1e-3
#: The same for water openings [Pa].
SMALL_LIQUID_DIFFERENCE = 50.0

_CRITICAL_AIR = 0.5282817877171742  # (2 / 2.4) ** 3.5
_CHOKED_AIR = 0.6847314563772704  # sqrt(1.4) * (2 / 2.4) ** 3


@compiled
def critical_ratio(gamma: float) -> float:
    """Downstream over upstream pressure below which an orifice is choked [-].

    Validity: gamma > 1. Source: NACA Report 1135 (1953), eq. 44 at Mach 1; ISO 6358-1 calls it b for a
    perfect nozzle.

    Examples
    --------
    >>> round(critical_ratio(1.4), 4)
    0.5283
    """
    return math.pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0))


@compiled
def choked_flow_factor(gamma: float) -> float:
    """Choked mass flow times sqrt(R T) over area and upstream pressure [-].

    Validity: gamma > 1. Source: NACA Report 1135 (1953), mass flow per unit area at Mach 1.

    Examples
    --------
    >>> round(choked_flow_factor(1.4), 4)
    0.6847
    """
    return math.sqrt(gamma) * math.pow(2.0 / (gamma + 1.0), 0.5 * (gamma + 1.0) / (gamma - 1.0))


@compiled
def flow_factor(ratio: float) -> float:
    """Mass flow of air times sqrt(R T) over area and upstream pressure [-] at a pressure ratio down/up [-].

    Choked below the critical ratio; near a ratio of one the square root is replaced within
    ``SMALL_PRESSURE_SHARE`` by a parabola of equal value and slope, so that the slope stays finite. C1,
    gamma = 1.4.

    Source: de Saint-Venant and Wantzel's formula, as in ISO 6358-1 annex and NACA Report 1135.

    Examples
    --------
    >>> round(flow_factor(0.2), 4), round(flow_factor(0.9), 4), flow_factor(1.0)
    (0.6847, 0.4226, 0.0)
    """
    if ratio <= _CRITICAL_AIR:
        return _CHOKED_AIR
    y = 1.0 - ratio
    if y <= 0.0:
        return 0.0
    if y >= SMALL_PRESSURE_SHARE:
        s = math.pow(ratio, 1.0 / GAMMA)
        return math.sqrt(7.0 * s * (s - ratio))
    edge = 1.0 - SMALL_PRESSURE_SHARE
    s = math.pow(edge, 1.0 / GAMMA)
    square = 7.0 * s * (s - edge)
    value = math.sqrt(square)
    slope = -3.5 * (2.0 * s * s / (GAMMA * edge) - (1.0 + 1.0 / GAMMA) * s) / value
    t = y / SMALL_PRESSURE_SHARE
    rise = slope * SMALL_PRESSURE_SHARE
    return t * ((2.0 * value - rise) + (rise - value) * t)


@compiled
def orifice_mass_flow(p_up: float, p_down: float, area: float, cd: float, T: float) -> float:
    """Mass flow of air [kg/s] through an opening, never negative.

    Parameters
    ----------
    p_up, p_down : absolute pressures before and behind [Pa]; zero flow when p_down >= p_up.
    area : of the opening [m2]. cd : discharge coefficient [-]. T : upstream temperature [K].

    Validity: dry air, gamma = 1.4. Regularised (see :func:`flow_factor`). Source: ISO 6358-1; NACA Report
    1135.

    Examples
    --------
    >>> round(1e3 * orifice_mass_flow(101325.0, 30000.0, 1e-6, 1.0, 293.15), 4)
    0.2392
    >>> orifice_mass_flow(50e3, 60e3, 1e-6, 1.0, 293.15)
    0.0
    """
    if p_up <= p_down or p_up <= 0.0 or area <= 0.0 or T <= 0.0:
        return 0.0
    return cd * area * p_up * flow_factor(p_down / p_up) / math.sqrt(R_AIR * T)


@compiled
def orifice_flow(p_a: float, p_b: float, area: float, cd: float, T: float) -> float:
    """Mass flow of air [kg/s] from a to b through an opening; negative from b to a. C1 through zero.

    Pressures absolute [Pa], area [m2], cd [-], T of the air on either side [K]. Validity and source as
    :func:`orifice_mass_flow`.

    Examples
    --------
    >>> orifice_flow(2e5, 1e5, 1e-6, 0.8, 293.15) == -orifice_flow(1e5, 2e5, 1e-6, 0.8, 293.15)
    True
    """
    if p_a >= p_b:
        return orifice_mass_flow(p_a, p_b, area, cd, T)
    return -orifice_mass_flow(p_b, p_a, area, cd, T)


@compiled
def sharp_edge_discharge(ratio: float) -> float:
    """Discharge coefficient of a sharp-edged hole for air [-] at a pressure ratio down/up [-], 0 to 1.

    0.60 at a small difference, 0.74 where an ideal nozzle chokes, 0.84 into a vacuum: behind a sharp edge the jet
    goes on widening as the pressure falls, so the flow rises a little below the critical ratio too. Source: J. A.
    Perry, Critical flow through sharp-edged orifices, Trans. ASME 71 (1949) 757; the polynomial through his points
    is that of P. Beater, Pneumatic Drives (2007); coefficients from memory.

    Examples
    --------
    >>> [round(sharp_edge_discharge(r), 3) for r in (1.0, 0.5283, 0.0)]
    [0.6, 0.737, 0.841]
    """
    r = min(max(ratio, 0.0), 1.0)
    return 0.8414 + r * (-0.1002 + r * (0.8415 + r * (-3.9 + r * (4.6001 - 1.6827 * r))))


@compiled
def hole_flow(p_a: float, p_b: float, area: float, T: float) -> float:
    """Mass flow of air [kg/s] from a to b through a sharp-edged hole; negative from b to a. C1 through zero.

    Pressures absolute [Pa], area [m2], T of the air on either side [K]. As :func:`orifice_flow` with the
    coefficient of :func:`sharp_edge_discharge`.

    Examples
    --------
    >>> round(1e3 * hole_flow(101325.0, 20e3, 1e-6, 293.15), 4)
    0.1987
    """
    if p_a >= p_b:
        if p_a <= 0.0:
            return 0.0
        return orifice_mass_flow(p_a, p_b, area, sharp_edge_discharge(p_b / p_a), T)
    if p_b <= 0.0:
        return 0.0
    return -orifice_mass_flow(p_b, p_a, area, sharp_edge_discharge(p_a / p_b), T)


@compiled
def liquid_orifice_flow(p_a: float, p_b: float, area: float, cd: float, rho: float) -> float:
    """Volume flow of liquid [m3/s] from a to b through an opening; negative from b to a.

    Pressures absolute [Pa], area [m2], cd [-], density rho [kg/m3]. ``Q = cd A sqrt(2 dp / rho)``
    (Torricelli; ISO 5167-2 without approach velocity); within ``SMALL_LIQUID_DIFFERENCE`` the slope is kept
    finite. C1.

    Examples
    --------
    >>> round(1e3 * liquid_orifice_flow(2e5, 1e5, 1e-4, 0.62, 1000.0), 4)
    0.8768
    """
    if rho <= 0.0:
        return 0.0
    return cd * area * math.sqrt(2.0 / rho) * signed_root(p_a - p_b, SMALL_LIQUID_DIFFERENCE)


@compiled
def speed_of_sound(T: float, gamma: float) -> float:
    """Speed of sound in air [m/s] at temperature T [K] and gamma [-]. Source: NACA Report 1135, eq. 23.

    Examples
    --------
    >>> round(speed_of_sound(288.15, 1.4), 2)
    340.29
    """
    return math.sqrt(gamma * R_AIR * T)


@compiled
def isentropic_pressure_ratio(M: float, gamma: float) -> float:
    """Static over stagnation pressure [-] at Mach number M [-]. Source: NACA Report 1135, eq. 44.

    Examples
    --------
    >>> round(isentropic_pressure_ratio(2.0, 1.4), 4)
    0.1278
    """
    return math.pow(1.0 + 0.5 * (gamma - 1.0) * M * M, -gamma / (gamma - 1.0))


@compiled
def isentropic_temperature_ratio(M: float, gamma: float) -> float:
    """Static over stagnation temperature [-] at Mach number M [-]. Source: NACA Report 1135, eq. 43.

    Examples
    --------
    >>> round(isentropic_temperature_ratio(2.0, 1.4), 4)
    0.5556
    """
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * M * M)


@compiled
def isentropic_area_ratio(M: float, gamma: float) -> float:
    """Area over throat area [-] at Mach number M > 0 [-]. Source: NACA Report 1135, eq. 80. M <= 0 gives
    infinity.

    Examples
    --------
    >>> round(isentropic_area_ratio(2.0, 1.4), 4)
    1.6875
    """
    if M <= 0.0:
        return math.inf
    t = (1.0 + 0.5 * (gamma - 1.0) * M * M) * 2.0 / (gamma + 1.0)
    return math.pow(t, 0.5 * (gamma + 1.0) / (gamma - 1.0)) / M


@compiled
def normal_shock_mach(M: float, gamma: float) -> float:
    """Mach number behind a normal shock [-], M >= 1 ahead of it [-]. Source: NACA Report 1135, eq. 96.

    Examples
    --------
    >>> round(normal_shock_mach(2.0, 1.4), 4)
    0.5774
    """
    square = M * M
    return math.sqrt((1.0 + 0.5 * (gamma - 1.0) * square) / (gamma * square - 0.5 * (gamma - 1.0)))


@compiled
def normal_shock_pressure_ratio(M: float, gamma: float) -> float:
    """Static pressure behind over ahead of a normal shock [-], M >= 1 ahead [-]. Source: NACA Report 1135,
    eq. 93.

    Examples
    --------
    >>> round(normal_shock_pressure_ratio(2.0, 1.4), 3)
    4.5
    """
    return 1.0 + 2.0 * gamma / (gamma + 1.0) * (M * M - 1.0)


@compiled
def normal_shock_stagnation_ratio(M: float, gamma: float) -> float:
    """Stagnation pressure behind over ahead of a normal shock [-], M >= 1 ahead [-]. Source: NACA Report
    1135, eq. 99.

    Examples
    --------
    >>> round(normal_shock_stagnation_ratio(2.0, 1.4), 4)
    0.7209
    """
    behind = normal_shock_mach(M, gamma)
    static = normal_shock_pressure_ratio(M, gamma)
    return static * isentropic_pressure_ratio(M, gamma) / isentropic_pressure_ratio(behind, gamma)
