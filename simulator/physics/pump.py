"""The centrifugal pump: head by the affinity laws, its steady flow, and what air and cavitation take from
it.

Arguments, the same throughout: ``speed_ratio`` speed over the speed of the curve [-]; ``shut_head`` head at
no flow and full speed [m]; ``curve`` fall of the head with the square of the flow [s2/m5];
``suction_resistance``, ``discharge_resistance`` losses of head over the square of the flow [s2/m5].
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.smooth import smooth_step
from simulator.units import STANDARD_GRAVITY

AIR_HARMLESS = 0.02  # void share without effect on head [-]; handbook band, from memory
#: Void share at which no head is left [-]; half is left at 7 %, inside the 4-10 % band, from memory.
AIR_LET_GO = 0.12
FARTHEST = 1.6  # greatest flow over that of the best point for which the parabola of efficiency stands [-]


@compiled
def head(q: float, speed_ratio: float, shut_head: float, curve: float) -> float:
    """Head of the pump [m] at volume flow q [m3/s]: ``H0 s^2 - a q|q|``.

    speed_ratio s: over rated [-]; shut_head H0 [m] at rated speed; curve a [m/(m3/s)2]. Source: affinity
    laws (H ~ n2, Q ~ n). With q below zero (flow driven back) head goes on rising, so that the curve is
    monotone.

    Examples
    --------
    >>> round(head(0.05, 1.0, 32.0, 2600.0), 6)
    25.5
    >>> head(0.0, 0.5, 32.0, 2600.0)
    8.0
    """
    return shut_head * speed_ratio * speed_ratio - curve * q * abs(q)


@compiled
def efficiency(q: float, speed_ratio: float, best_flow: float, best: float) -> float:
    """Efficiency of the pump [-] at volume flow q [m3/s]: a parabola through zero and its best point.

    ``best (2 f - f^2)`` with f = q / (best_flow speed_ratio), f kept to FARTHEST; best_flow [m3/s] and best [-] at
    rated speed. Source: textbook parabola through no flow and the best point; affinity laws for the speed.

    Examples
    --------
    >>> round(efficiency(0.07, 1.0, 0.07, 0.72), 6), efficiency(0.0, 1.0, 0.07, 0.72)
    (0.72, 0.0)
    """
    share = min(max(q, 0.0) / max(best_flow * speed_ratio, 1e-9), FARTHEST)
    return best * share * (2.0 - share)


@compiled
def impeller_torque(
    q: float, made: float, speed_ratio: float, best_flow: float, best: float, rho: float
) -> float:
    """Torque of the impeller times rated angular speed [W] at flow q [m3/s] and the head that is made [m].

    ``rho g q made / (efficiency speed_ratio)``, which has a limit at no flow: some half of the torque at the best
    point, spent on churning. With air at its eye it makes less head and turns as much the easier. best_flow [m3/s] is
    that of the best point at rated speed, rho [kg/m3]; others as :func:`efficiency`.

    Examples
    --------
    >>> point = impeller_torque(0.07, 20.0, 1.0, 0.07, 0.72, 998.0)
    >>> round(point), round(998.0 * 9.80665 * 0.07 * 20.0 / 0.72)
    (19030, 19030)
    """
    share = min(max(q, 0.0) / max(best_flow * speed_ratio, 1e-9), FARTHEST)
    return rho * STANDARD_GRAVITY * max(made, 0.0) * best_flow / (best * (2.0 - share))


@compiled
def governed_speed(setting: float, droop: float, load: float) -> float:
    """Engine speed over rated [-] that its governor holds: ``setting (1 + droop (1 - load))``.

    setting: lever, the speed at full load over rated [-]; droop: rise of speed from full load to none [-]; load:
    torque over rated torque [-]. Source: speed droop as ISO 8528-5 defines it (no-load less rated speed over rated
    speed; at most 8, 5 and 3 % in its classes G1, G2 and G3, from memory).

    Examples
    --------
    >>> governed_speed(1.0, 0.05, 1.0), governed_speed(1.0, 0.05, 0.0)
    (1.0, 1.05)
    """
    return setting * (1.0 + droop * (1.0 - load))


@compiled
def resistance(loss: float, bore: float) -> float:
    """Head loss over flow squared [m/(m3/s)2] of a line with total loss coefficient ``loss`` (K + f l/D)
    [-] and bore [m].

    Examples
    --------
    >>> round(resistance(1.0, 0.15), 1)
    163.3
    """
    if bore <= 0.0:
        return math.inf
    area = 0.25 * math.pi * bore * bore
    return loss / (2.0 * STANDARD_GRAVITY * area * area)


@compiled
def operating_point(
    speed_ratio: float,
    shut_head: float,
    curve: float,
    static_head: float,
    suction_resistance: float,
    discharge_resistance: float,
) -> float:
    """Steady flow [m3/s] where pump and system meet: ``H0 s^2 - a Q^2 = H_static + (k_s + k_d) Q^2``; zero
    if head lacks.

    static_head: outlet above the outside water [m]; resistances k of suction and discharge line
    [m/(m3/s)2], see
    :func:`resistance`; pump arguments as :func:`head`. Exact for constant k.

    Examples
    --------
    >>> round(operating_point(1.0, 32.0, 2600.0, 9.0, 700.0, 900.0), 4)
    0.074
    """
    spare = shut_head * speed_ratio * speed_ratio - static_head
    total = curve + suction_resistance + discharge_resistance
    if spare <= 0.0 or total <= 0.0:
        return 0.0
    return math.sqrt(spare / total)


@compiled
def air_head_factor(void: float) -> float:
    """Share of the head left [-] with a void share of air at the impeller eye, 0 to 1 [-].

    Nothing is lost up to 2 %, half at 7 %, all at 12 %; smooth. Source: handbook bands, from memory (2 %
    nothing, 3-15 % degradation, an ordinary impeller lets go at about 4-10 %).

    Examples
    --------
    >>> air_head_factor(0.01), round(air_head_factor(0.07), 6), air_head_factor(0.2)
    (1.0, 0.5, 0.0)
    """
    return 1.0 - smooth_step((void - AIR_HARMLESS) / (AIR_LET_GO - AIR_HARMLESS))


@compiled
def npsh_available(p_suction: float, p_vapour: float, rho: float, velocity: float) -> float:
    """Net positive suction head available [m]: ``(p - p_v) / (rho g) + v^2 / 2 g``.

    p_suction, p_vapour absolute [Pa] at the suction flange, rho [kg/m3], velocity [m/s]. Source: ISO 9906
    definition.

    Examples
    --------
    >>> round(npsh_available(50e3, 2339.0, 998.2, 3.0), 2)
    5.33
    """
    return (p_suction - p_vapour) / (rho * STANDARD_GRAVITY) + velocity * velocity / (2.0 * STANDARD_GRAVITY)


@compiled
def cavitation_head_factor(available: float, required: float) -> float:
    """Share of the head left [-] with net positive suction head available and required [m]: 0.97 where they
    are equal.

    ``1 / (1 + (3/97) (required/available)^8)``. The 3 % point is the definition of NPSHR (ISO 9906 NPSH3);
    the exponent is made up for training.

    Examples
    --------
    >>> round(cavitation_head_factor(3.0, 3.0), 6)
    0.97
    """
    if required <= 0.0:
        return 1.0
    if available <= 0.0:
        return 0.0
    square = (required / available) * (required / available)
    fourth = square * square
    return 1.0 / (1.0 + 3.0 / 97.0 * (fourth * fourth))
