"""The air ejector, one-dimensional with constant-area mixing, solved directly.

Everything is done in shares of the motive state: pressures over p_m, areas over the nozzle throat A_t,
velocities over sqrt(R T), mass flows over A_t p_m / sqrt(R T). Motive and suction air have the same
stagnation temperature. The theory is that of Keenan, Neumann and Lustwerk (J. Appl. Mech. 17 (1950) 299)
and Fabri and Siestrunck (1958), with an efficiency for the nozzle (kinetic energy), the mixing (momentum)
and the diffuser (pressure rise). Two figures say what the jet leaves free of the tube: ``jet_share``, the share
of its ideal area that it takes up (1 loss-free; 0.88 fits the set measured by Huang et al. 1999, below 1 because
its edge mixes away before the stream beside it chokes), and ``exit_ratio``, the nozzle's exit over its throat: a
nozzle that widens takes up its exit even where the jet itself would be thinner. ``mouth_ratio`` is the area of
the tube's mouth over the throat: grit scours a tube behind its mouth, where the mixed stream is fastest, so that the
suction stream still chokes in the mouth as it was and the two then spread into a wider tube, at the mouth's pressure
on its step (the assumption of Borda and Carnot).

Arguments, the same throughout: ``eta_n``, ``eta_m``, ``eta_d`` efficiencies of nozzle, mixing and diffuser,
each above 0 and at most 1 [-]; ``area_ratio`` mixing tube over nozzle throat [-]; ``gamma`` ratio of heat
capacities [-]; ``x_s`` suction pressure over motive pressure [-]; ``area_t``, ``area_m`` areas of nozzle
throat and mixing tube [m2]; ``jet_share`` above 0 and at most 1 [-]; ``exit_ratio`` at least 1, or 0 for no
wider than the jet [-]; ``mouth_ratio`` at most the area ratio, or 0 for the same [-].
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.gas import (
    GAMMA,
    R_AIR,
    choked_flow_factor,
    critical_ratio,
    flow_factor,
    orifice_mass_flow,
)
from simulator.physics.smooth import smooth_step

#: Discharge coefficient of the mixing tube when flow reverses [-]; handbook figure, from memory.
REVERSE_DISCHARGE = 0.8


@compiled
def motive_flow(p_m: float, p_down: float, area_t: float, cd: float, T: float) -> float:
    """Mass flow through the motive nozzle [kg/s], choked unless p_down is above 0.528 p_m.

    p_m before, p_down behind the nozzle, absolute [Pa]; throat area_t [m2]; cd [-]; T [K]. p_down is the
    pressure on the suction side of the ejector. Source: as :func:`simulator.physics.gas.orifice_mass_flow`.

    Examples
    --------
    >>> round(1e3 * motive_flow(6.7e5, 20e3, 5.309e-6, 1.0, 293.15), 2)
    8.4
    """
    return orifice_mass_flow(p_m, p_down, area_t, cd, T)


@compiled
def jet(x_1: float, gamma: float, eta_n: float) -> tuple[float, float, float]:
    """Motive jet at the mixing-tube inlet: (mass flow, velocity, area), all as shares of the motive state
    [-].

    x_1: static pressure there over motive pressure [-]; gamma, nozzle efficiency eta_n [-]. The mass flow
    is isentropic (choked below the critical ratio), the velocity is lowered by the efficiency. With x_1 >=
    1 the nozzle gives nothing and its tip still takes its area. Source: module text.

    Examples
    --------
    >>> tuple(round(v, 4) for v in jet(0.1278, 1.4, 1.0))
    (0.6847, 1.7639, 1.6876)
    """
    if x_1 >= 1.0:
        return 0.0, 0.0, 1.0 / math.sqrt(eta_n)
    k = (gamma - 1.0) / gamma
    x = max(x_1, 1e-9)
    t_ideal = math.pow(x, k)
    v = math.sqrt(2.0 / k * eta_n * (1.0 - t_ideal))
    t_jet = 1.0 - eta_n * (1.0 - t_ideal)
    if x <= critical_ratio(gamma):
        m = choked_flow_factor(gamma)
        return m, v, m * t_jet / (x * v)
    v_ideal = math.sqrt(2.0 / k * (1.0 - t_ideal))
    return x * v_ideal / t_ideal, v, t_jet / (t_ideal * math.sqrt(eta_n))


@compiled
def taken_up(ideal: float, jet_share: float, exit_ratio: float) -> float:
    """Area the motive stream takes from the tube [-], over the throat, for a jet of ideal area [-]; see the module text.

    Examples
    --------
    >>> taken_up(2.0, 0.8, 0.0), taken_up(2.0, 0.8, 3.0)
    (1.6, 3.0)
    """
    return max(jet_share * ideal, exit_ratio)


@compiled
def mouth(area_ratio: float, mouth_ratio: float) -> float:
    """Area of the tube's mouth over the throat [-]; a mouth_ratio of 0 is that of the tube. See the module text.

    Examples
    --------
    >>> mouth(6.5, 0.0), mouth(9.0, 6.5)
    (6.5, 6.5)
    """
    return mouth_ratio if 0.0 < mouth_ratio < area_ratio else area_ratio


@compiled
def mixed_pressure(
    x_s: float,
    M: float,
    area_ratio: float,
    gamma: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> tuple[float, float, float]:
    """Diffuser exit pressure and suction flow when the suction stream enters the tube at Mach number M.

    x_s: suction over motive pressure [-]; M 0 to 1 [-]; area_ratio = mixing tube over throat [-];
    efficiencies, jet_share, exit_ratio and mouth_ratio [-], see the module text.
    Returns (exit pressure over motive pressure, suction mass flow as a share of the motive state, margin),
    all [-]. The margin is ``1 - 4 (1 - k) m^2 / F^2`` of the mixing equations, k = (gamma - 1) / (2 gamma):
    below zero the tube cannot pass the flow (it chokes at its end).

    Examples
    --------
    >>> x_d, m_s, margin = mixed_pressure(80 / 400, 1.0, 6.0, 1.4, 1.0, 1.0, 1.0)
    >>> round(400 * x_d, 1), round(m_s / 0.684731, 3), margin > 0
    (138.9, 0.826, True)
    """
    k = 0.5 * (gamma - 1.0) / gamma  # v2 k / T is the share of kinetic energy
    t_s = 1.0 / (1.0 + 0.5 * (gamma - 1.0) * M * M)
    x_1 = x_s * math.pow(t_s, gamma / (gamma - 1.0))
    m_j, v_j, a_j = jet(x_1, gamma, eta_n)
    v_s = M * math.sqrt(gamma * t_s)
    m_s = (mouth(area_ratio, mouth_ratio) - taken_up(a_j, jet_share, exit_ratio)) * x_1 * v_s / t_s
    m = m_j + m_s
    force = eta_m * (m_j * v_j + m_s * v_s) + x_1 * area_ratio
    if m <= 0.0 or force <= 0.0:
        return x_1, m_s, 1.0
    margin = 1.0 - 4.0 * (1.0 - k) * m * m / (force * force)
    v = 2.0 * m / (force * (1.0 + math.sqrt(max(margin, 0.0))))
    x_3 = (force - m * v) / area_ratio
    share = k * v * v
    rise = eta_d * share / max(1.0 - share, 1e-9)
    return x_3 * math.pow(1.0 + rise, gamma / (gamma - 1.0)), m_s, margin


@compiled
def suction_limit(
    x_s: float,
    area_ratio: float,
    gamma: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> tuple[float, float, float]:
    """Greatest suction flow at any back pressure, and the greatest back pressure at which it still flows.

    The flow is capped by its value at Mach 1, where the stream chokes in the area the jet leaves free, and
    by choking of the mixed stream at the end of the tube. Zero flow where the jet fills the tube. Arguments
    as :func:`mixed_pressure`.
    Returns (Mach number at the tube inlet, flow as a share of the motive state, exit pressure over motive
    pressure), all [-]. The same flow also passes at a lower Mach number with a slightly higher exit
    pressure; the choked one counts.

    Examples
    --------
    >>> M, m_s, x_d = suction_limit(80 / 400, 6.0, 1.4, 1.0, 1.0, 1.0)
    >>> round(m_s / 0.684731, 3), round(400 * x_d, 1)
    (0.826, 138.9)
    """
    x_choked, cap, margin_choked = mixed_pressure(
        x_s, 1.0, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    if cap <= 0.0:
        x_d, _, _ = mixed_pressure(
            x_s, 0.0, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
        )
        return 0.0, 0.0, x_d
    low, high = 0.0, 1.0
    for _ in range(26):
        M = 0.5 * (low + high)
        _, m_s, margin = mixed_pressure(
            x_s, M, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
        )
        if m_s >= cap or margin < 0.0:
            high = M
        else:
            low = M
    x_d, m_s, _ = mixed_pressure(
        x_s, low, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    weight = smooth_step(10.0 * margin_choked)  # no choked state where the mixed stream could not pass it
    return low, max(m_s, 0.0), x_d + weight * (min(x_choked, x_d) - x_d)


@compiled
def dead_pressure_ratio(
    y: float,
    area_ratio: float,
    gamma: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> float:
    """Suction pressure at which the ejector draws nothing, over motive pressure [-]; y: back over motive
    pressure [-].

    Without motive flow (y >= 1) it is the back pressure itself. It is never below the pressure at which the
    jet fills the mixing tube. Arguments as :func:`mixed_pressure`.

    Examples
    --------
    >>> round(dead_pressure_ratio(1.03 / 6.7, 8.544, 1.4, 0.92, 0.90, 0.78), 3)
    0.038
    >>> dead_pressure_ratio(1.2, 8.544, 1.4, 0.92, 0.90, 0.78)
    1.2
    """
    if y >= 1.0:
        return y
    x_d, _, _ = mixed_pressure(
        y, 0.0, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    if x_d <= y:
        return y
    sonic = critical_ratio(gamma)
    low, high = 0.0, y
    for _ in range(44):
        x = 0.5 * (low + high)
        x_d, _, _ = mixed_pressure(
            x, 0.0, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
        )
        _, _, a_j = jet(x * sonic, gamma, eta_n)
        if x_d >= y and taken_up(a_j, jet_share, exit_ratio) <= mouth(area_ratio, mouth_ratio):
            high = x
        else:
            low = x
    return high


@compiled
def suction_share(
    x_s: float,
    y: float,
    x_dead: float,
    area_ratio: float,
    gamma: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> float:
    """Suction flow as a share of the motive state [-], negative in reverse.

    x_s: suction, y: back, x_dead: dead pressure (:func:`dead_pressure_ratio`), each over motive pressure
    [-]. Other
    arguments as :func:`mixed_pressure`. In reverse, the mixing tube is an orifice from the dead pressure to
    the suction pressure, so that flow turns continuously.

    Examples
    --------
    >>> suction_share(0.3, 0.3, 0.3, 8.0, 1.4, 0.92, 0.9, 0.78)
    0.0
    """
    if x_s <= x_dead:
        if x_dead <= 0.0:
            return 0.0
        return (
            -REVERSE_DISCHARGE * mouth(area_ratio, mouth_ratio) * x_dead * flow_factor(max(x_s, 0.0) / x_dead)
        )
    M_cap, m_cap, x_cap = suction_limit(
        x_s, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    if y <= x_cap or m_cap <= 0.0:
        return m_cap
    x_top, _, _ = mixed_pressure(
        x_s, M_cap, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    sag = 1.0 - x_cap / x_top  # leads the branch onto the choked exit pressure
    low, high = 0.0, M_cap
    x_d, _, _ = mixed_pressure(
        x_s, 0.0, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    spare_low, spare_high = x_d - y, x_cap - y
    if spare_low <= 0.0:
        return 0.0
    m, side = 0.0, 0
    for _ in range(60):  # regula falsi, Illinois variant
        M = (low * spare_high - high * spare_low) / (spare_high - spare_low)
        x_d, m, _ = mixed_pressure(
            x_s, M, area_ratio, gamma, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
        )
        share = m / m_cap
        spare = x_d * (1.0 - sag * share * share) - y
        if abs(spare) < 1e-13 * y or high - low < 1e-13:
            break
        if spare > 0.0:
            low, spare_low = M, spare
            if side == 1:
                spare_high *= 0.5
            side = 1
        else:
            high, spare_high = M, spare
            if side == -1:
                spare_low *= 0.5
            side = -1
    return min(max(m, 0.0), m_cap)


@compiled
def dead_pressure(
    p_m: float,
    p_b: float,
    area_t: float,
    area_m: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> float:
    """Suction pressure [Pa] at which the ejector neither draws nor returns air.

    p_m motive, p_b back pressure at the diffuser exit, absolute [Pa]; throat and mixing-tube areas [m2];
    efficiencies [-].

    Examples
    --------
    >>> round(dead_pressure(6.7e5, 1.03e5, 5.309e-6, 45.36e-6, 0.92, 0.90, 0.78), -3)
    25000.0
    >>> dead_pressure(0.9e5, 1.03e5, 5.309e-6, 45.36e-6, 0.92, 0.90, 0.78)
    103000.0
    """
    if p_m <= p_b or area_t <= 0.0:
        return p_b
    return p_m * dead_pressure_ratio(
        p_b / p_m, area_m / area_t, GAMMA, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )


@compiled
def entrained_flow(
    p_m: float,
    p_s: float,
    p_b: float,
    area_t: float,
    area_m: float,
    T: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> float:
    """Air drawn from the suction side [kg/s]; negative when it flows back into it. Direct solution, gamma =
    1.4.

    Parameters
    ----------
    p_m, p_s, p_b : motive, suction and back pressure (at the diffuser exit), absolute [Pa].
    area_t, area_m : nozzle throat and mixing tube [m2], area_m at least about 1.3 area_t. T : of all air [K].
    eta_n, eta_m, eta_d : efficiency of nozzle (kinetic energy), mixing (momentum) and diffuser (pressure
    rise) [-], 0.5 to 1.

    A nozzle at less than the back pressure counts as standing at the back pressure. The solution is
    continuous; it rises with p_s and falls with p_b. Exact but with corners (choking, turning point): a
    solver of differential equations should use :func:`simulator.physics.ejector_table.table_flow`.
    Source: module text.

    Examples
    --------
    >>> round(1e3 * entrained_flow(6.7e5, 60e3, 1.03e5, 5.309e-6, 45.36e-6, 293.15, 0.92, 0.90, 0.78), 2)
    3.81
    """
    if p_s <= 0.0 or p_b <= 0.0 or T <= 0.0 or area_m <= 0.0:
        return 0.0
    area = max(area_t, 1e-4 * area_m)
    p = max(p_m, p_b)
    x_dead = dead_pressure_ratio(
        p_b / p, area_m / area, GAMMA, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
    )
    share = suction_share(
        p_s / p,
        p_b / p,
        x_dead,
        area_m / area,
        GAMMA,
        eta_n,
        eta_m,
        eta_d,
        jet_share,
        exit_ratio,
        mouth_ratio,
    )
    return share * area * p / math.sqrt(R_AIR * T)
