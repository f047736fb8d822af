"""The small piston compressor that feeds the motive nozzle.

Arguments, the same throughout: ``pressure_ratio`` delivery over intake pressure, both absolute [-];
``clearance`` clearance volume over swept volume [-]; ``index`` exponent of the re-expansion of what stays in
the clearance [-]; ``intake_blocked`` share of the area of the intake filter that is blocked, 0 to 1 [-].
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR, hole_flow
from simulator.physics.smooth import positive_part

#: Resistance of the clean intake filter: it costs about 1 % of the intake pressure at full displacement
#: flow [-]. Made up for training.
FILTER_RESISTANCE = 0.14
#: Volumetric efficiency below which the approach to zero delivery is rounded [-].
ROUNDING = 0.02
#: Speed of the air in the open valves at full displacement flow [m/s]; handbook band 25 to 40, from memory.
VALVE_SPEED = 30.0
VALVE_LIFT = 30.0  # [Pa] that lifts the flaps of both sets of valves; made up for training
#: Of a small piston compressor and its belt [-]; handbook band 0.80 to 0.90, from memory.
MECHANICAL_EFFICIENCY = 0.85


@compiled
def volumetric_efficiency(pressure_ratio: float, clearance: float, index: float) -> float:
    """Share of the swept volume filled with fresh air [-] at delivery over intake pressure [-].

    ``1 - c (r^(1/n) - 1)``, rounded into zero. clearance c: clearance over swept volume [-], index n:
    exponent of re-expansion [-], 1 to 1.4. Source: re-expansion of the clearance air, as in ISO 1217
    practice and any textbook.

    Examples
    --------
    >>> round(volumetric_efficiency(6.7, 0.06, 1.25), 4)
    0.7852
    >>> volumetric_efficiency(100.0, 0.06, 1.25)
    0.0
    """
    if pressure_ratio <= 0.0:
        return 1.0 + clearance
    return positive_part(1.0 - clearance * (math.pow(pressure_ratio, 1.0 / index) - 1.0), ROUNDING)


@compiled
def intake(
    p_m: float, p_in: float, flow_share: float, clearance: float, index: float, intake_blocked: float
) -> tuple[float, float]:
    """Pressure behind the intake filter over that outside [-], where the drop and the swallowed air agree, and the
    volumetric efficiency there [-].

    The filter is a turbulent resistance, ``p_in^2 - p^2 = (k s lambda(p) p / (1 - blocked))^2`` with
    k = FILTER_RESISTANCE, s = flow_share = speed ratio x (1 - slip) and the volumetric efficiency lambda.
    Solved by Newton steps kept in a bracket. p_m, p_in [Pa], p_in > 0, others [-]. Form: isothermal turbulent
    pneumatic resistance.

    Examples
    --------
    >>> ratio, efficiency = intake(6.7e5, 101325.0, 1.0, 0.06, 1.25, 0.0)
    >>> round(ratio, 3), round(efficiency, 2)
    (0.994, 0.79)
    """
    k = FILTER_RESISTANCE * max(flow_share, 0.0) / max(1.0 - intake_blocked, 1e-6)
    x, low, high, efficiency = 1.0, 0.0, 1.0, 1.0 + clearance
    for _ in range(60):
        slope_efficiency = 0.0
        if p_m > 0.0:
            expanded = clearance * math.pow(p_m / (x * p_in), 1.0 / index)
            filled = 1.0 + clearance - expanded
            efficiency = positive_part(filled, ROUNDING)
            if filled > 0.0:
                t = min(filled / ROUNDING, 1.0)
                slope_efficiency = t * (4.0 - 3.0 * t) * expanded / (index * x)
        root = math.sqrt(1.0 + (k * efficiency) * (k * efficiency))
        error = x * root - 1.0
        step = error / (root + x * k * k * efficiency * slope_efficiency / root)
        if abs(step) < 2e-6:  # what is left is less than its square
            return x - step, efficiency - slope_efficiency * step
        if error > 0.0:
            high = x
        else:
            low = x
        x = x - step if low < x - step < high else 0.5 * (low + high)
    return x, efficiency


@compiled
def delivery(
    p_m: float,
    p_in: float,
    T: float,
    displacement: float,
    speed_ratio: float,
    slip: float,
    clearance: float,
    index: float,
    wear: float,
    intake_blocked: float,
) -> float:
    """Air delivered by the compressor [kg/s], never negative.

    Parameters
    ----------
    p_m : delivery (receiver) pressure [Pa]. p_in : pressure of the air outside [Pa]. T : its temperature [K].
    displacement : swept volume flow at rated speed [m3/s]. speed_ratio : speed over rated [-].
    slip : of the belt [-]. clearance : clearance over swept volume [-]. index : exponent of re-expansion [-].
    wear : share lost past rings and valves [-]. intake_blocked : share of the intake filter blocked [-].

    Validity: shares 0 to 1; isothermal intake. Source: textbook piston compressor; see
    :func:`volumetric_efficiency`.

    Examples
    --------
    >>> round(1e3 * delivery(6.7e5, 101325.0, 293.15, 8.5e-3, 1.0, 0.0, 0.06, 1.25, 0.0, 0.0), 2)
    8.0
    >>> delivery(6.7e5, 101325.0, 293.15, 8.5e-3, 1.0, 1.0, 0.06, 1.25, 0.0, 0.0)
    0.0
    """
    share = max(speed_ratio, 0.0) * max(1.0 - slip, 0.0)
    if share == 0.0 or p_in <= 0.0 or intake_blocked >= 1.0 or T <= 0.0:
        return 0.0
    ratio, efficiency = intake(p_m, p_in, share, clearance, index, intake_blocked)
    return displacement * share * efficiency * max(1.0 - wear, 0.0) * ratio * p_in / (R_AIR * T)


@compiled
def air_back(p_m: float, p_in: float, T: float, displacement: float, intake_blocked: float) -> float:
    """Air that a receiver below the outside pressure draws in through the compressor's valves [kg/s], never negative.

    Both sets of valves are light flaps that open that way, turning or not, once VALVE_LIFT bears on them: at rest, where
    receiver and air outside stand equal, they lie shut. Their area is the displacement over VALVE_SPEED. p_m receiver,
    p_in outside [Pa], T [K], displacement [m3/s], intake_blocked [-].

    Examples
    --------
    >>> air_back(1.1e5, 101325.0, 293.15, 8.5e-3, 0.0)
    0.0
    >>> air_back(0.9e5, 101325.0, 293.15, 8.5e-3, 0.0) > 0.01
    True
    """
    behind = p_in - VALVE_LIFT
    if p_m >= behind:
        return 0.0
    area = displacement / VALVE_SPEED * max(1.0 - intake_blocked, 0.0)
    return hole_flow(behind, p_m, area, T)


@compiled
def belt_torque(
    p_m: float, p_in: float, displacement: float, slip: float, clearance: float, index: float
) -> float:
    """Torque that the compressor's belt takes from the engine, times rated angular speed [W].

    ``D lambda n/(n-1) p_in (r^((n-1)/n) - 1) / eta``: the work of compression and expulsion of the air filled in,
    with the index n of the clearance and a mechanical efficiency; a displacement machine's torque does not depend on
    its speed. A belt that slips passes on its torque; one that is off none. p_m, p_in [Pa], displacement at rated
    speed [m3/s], slip, clearance [-], index [-]. Source: textbook piston compressor, polytropic.

    Examples
    --------
    >>> round(belt_torque(6.7e5, 101325.0, 8.5e-3, 0.0, 0.06, 1.25))
    1833
    >>> belt_torque(6.7e5, 101325.0, 8.5e-3, 1.0, 0.06, 1.25)
    0.0
    """
    if slip >= 1.0 or p_in <= 0.0:
        return 0.0
    ratio = max(p_m / p_in, 1.0)
    filled = volumetric_efficiency(ratio, clearance, index)
    if index > 1.0:
        work = index / (index - 1.0) * (math.pow(ratio, (index - 1.0) / index) - 1.0)
    else:
        work = math.log(ratio)
    return displacement * filled * p_in * work / MECHANICAL_EFFICIENCY
