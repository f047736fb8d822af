"""The ejector as it stands on the rig: air line before the nozzle, screen on the suction side, hose on the exhaust.

The same flow passes screen and ejector, and the exhaust hose sees the total; the pressure behind the screen is the one
unknown, and the mismatch of the two flows rises steadily with it, so a bracketed search always ends. The assembly is
solved once over motive and suction pressure and tabulated in the coordinates of the ejector's own table, so that the
equations read one smooth table.

Arguments, the same throughout: ``p`` packed parameters in SI units, see ``run.layout``; ``p_down`` pressure
behind the nozzle [Pa]; ``p_m`` motive pressure in the receiver [Pa]; ``p_c`` pressure on the suction side, in
the casing [Pa]; ``p_n`` pressure before the nozzle [Pa]; ``m_motive`` motive flow [kg/s]; ``dead``, ``flow``
tables of the assembly: suction pressure without flow [Pa] and suction flow [kg/s]; ``bare_dead``,
``bare_flow`` the same of the ejector alone.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from simulator.compiled import compiled
from simulator.physics import ejector_table as bare
from simulator.physics.ejector import motive_flow
from simulator.physics.ejector_table import build_table, table_dead_pressure, table_flow
from simulator.physics.gas import GAMMA, R_AIR, choked_flow_factor, hole_flow, orifice_flow
from simulator.physics.smooth import signed_root
from simulator.run import layout as at
from simulator.run.kept_tables import kept_table
from simulator.run.layout import Array

LINE = 0.80  # [-] discharge coefficient of the air line's narrowest place
NOZZLE = 0.97  # [-] of the motive nozzle
REACH = 6.0  # jet thrust against tube area when the take-off draws water; made up for training
EXHAUST_ROUNDING = 1e-12  # [kg2/s2] within which the root of the exhaust's flow is rounded
MIN_BACK = 1e3  # [Pa]
STEPS = 80
CLOSE_ENOUGH = 1e-9
CHOKED = choked_flow_factor(GAMMA)  # as the ejector's table uses it


@compiled
def nozzle_pressure(p: Array, p_m: float, p_down: float) -> float:
    """Pressure before the nozzle [Pa] behind the air line's resistance, for p_m [Pa] in the receiver."""
    area_t, area_l, temperature = p[at.THROAT_AREA], p[at.LINE_AREA], p[at.AIR_T]
    if p_m <= p_down:
        return p_m
    flow = motive_flow(p_m, p_down, area_t, NOZZLE, temperature)
    if area_l > 4.0 * area_t:
        effective = LINE * area_l
        return max(p_m - flow * flow * R_AIR * temperature / (2.0 * p_m * effective * effective), p_down)
    low, high = p_down, p_m
    for _ in range(50):
        middle = 0.5 * (low + high)
        into = orifice_flow(p_m, middle, area_l, LINE, temperature)
        if into > motive_flow(middle, p_down, area_t, NOZZLE, temperature):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@compiled
def motive(p: Array, p_m: float, p_c: float) -> tuple[float, float, float]:
    """Motive flow [kg/s], nozzle pressure [Pa] and dead-end suction pressure under water [Pa]."""
    p_n = nozzle_pressure(p, p_m, p_c)
    flow = orifice_flow(p_n, p_c, p[at.THROAT_AREA], NOZZLE, p[at.AIR_T])  # back through it after a stop
    over = max(p_n / p[at.ATMOSPHERE] - 1.0, 0.0)
    return flow, p_n, p[at.ATMOSPHERE] / (1.0 + REACH * over * p[at.THROAT_AREA] / p[at.MIXING_AREA])


@compiled
def exhaust_flow(p: Array, p_b: float) -> float:
    """Flow out through the exhaust hose [kg/s] from a pressure p_b [Pa] at its beginning; negative inward.

    ``m^2 2 p_atm EXHAUST_LOSS = p_b^2 - p_atm^2``: isothermal flow through a turbulent resistance, so that no more
    comes in than a vacuum would draw, and nothing passes a hose that is shut.
    """
    p_atm = p[at.ATMOSPHERE]
    square = (p_b * p_b - p_atm * p_atm) / (2.0 * p_atm * p[at.EXHAUST_LOSS])
    return signed_root(square, EXHAUST_ROUNDING)


@compiled
def exhaust_pressure(p: Array, total: float, p_n: float) -> float:
    """Pressure at the beginning of the exhaust hose [Pa] at a total flow [kg/s]; at most p_n, which feeds it [Pa]."""
    p_atm = p[at.ATMOSPHERE]
    square = p_atm * p_atm + 2.0 * p_atm * p[at.EXHAUST_LOSS] * total * abs(total)
    highest = max(p_n, p_atm)
    if square >= highest * highest:
        return highest
    return math.sqrt(max(square, MIN_BACK * MIN_BACK))


@compiled
def mismatch(
    p: Array, dead: Array, flow: Array, p_n: float, p_c: float, behind: float, m_motive: float
) -> tuple[float, float]:
    """Ejector flow less screen flow, and the screen flow [kg/s], for the pressure ``behind`` the screen [Pa]."""
    through = hole_flow(p_c, behind, p[at.SCREEN_AREA], p[at.AIR_T])
    back = exhaust_pressure(p, m_motive + through, p_n)
    return table_flow(p_n, behind, back, p[at.THROAT_AREA], p[at.AIR_T], dead, flow) - through, through


@compiled
def assembly_flow(p: Array, dead: Array, flow: Array, p_m: float, p_c: float) -> float:
    """Flow out of the casing through screen, ejector and exhaust hose [kg/s]; negative where air runs back."""
    m_motive, p_n, _ = motive(p, p_m, p_c)
    g_c, _ = mismatch(p, dead, flow, p_n, p_c, p_c, m_motive)
    if g_c == 0.0:
        return 0.0
    if g_c > 0.0:
        low, high, g_high = 1.0, p_c, g_c
        g_low, through = mismatch(p, dead, flow, p_n, p_c, low, m_motive)
    else:  # nothing behind the screen stands higher than what feeds it
        low, g_low = p_c, g_c
        high = max(p_c, p_n, p[at.ATMOSPHERE]) * 1.02
        g_high, through = mismatch(p, dead, flow, p_n, p_c, high, m_motive)
    side = 0
    for step in range(STEPS):
        if g_high == g_low:
            break
        middle = (low * g_high - high * g_low) / (g_high - g_low)
        if step % 4 == 3:  # a shut exhaust makes it steep: halve now and then
            middle = 0.5 * (low + high)
        g, through = mismatch(p, dead, flow, p_n, p_c, middle, m_motive)
        if g > 0.0:
            moved = high - middle
            high, g_high = middle, g
            if side == 1:
                g_low *= 0.5
            side = 1
        else:
            moved = middle - low
            low, g_low = middle, g
            if side == -1:
                g_high *= 0.5
            side = -1
        if moved < CLOSE_ENOUGH * p_c or high - low < CLOSE_ENOUGH * p_c or abs(g) < 1e-13:
            break
    return through


@compiled
def closed_pressure(p: Array, bare_dead: Array, p_m: float) -> float:
    """Suction pressure [Pa] at which the assembly draws nothing: there all that leaves is what the nozzle passes.

    How much that is hangs on the pressure itself once the nozzle is no longer choked, as behind an exhaust that is
    nearly shut: the less the nozzle passes, the less it takes to press it out. Halving.
    """
    low, high = MIN_BACK, max(p_m, p[at.ATMOSPHERE])
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        m_motive, p_n, _ = motive(p, p_m, middle)
        if table_dead_pressure(p_n, exhaust_pressure(p, m_motive, p_n), bare_dead) > middle:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@compiled
def fill_dead(p: Array, bare_dead: Array, dead: Array) -> None:
    """Suction pressure at which the assembly draws nothing, over atmospheric, in the table's motive coordinate."""
    p_atm = p[at.ATMOSPHERE]
    for j in range(dead.shape[0]):
        p_m = p_atm * (1.0 + bare.excess_at(j / (dead.shape[0] - 1.0)))
        dead[j, 0] = closed_pressure(p, bare_dead, p_m) / p_atm


@compiled
def fill_flow(p: Array, bare_dead: Array, bare_flow: Array, dead: Array, flow: Array) -> None:
    """Flow of the assembly in the coordinates of the ejector's table, in place."""
    p_atm = p[at.ATMOSPHERE]
    nodes_q, nodes_v = flow.shape[0], flow.shape[1]
    unit = CHOKED * p[at.THROAT_AREA] / (R_AIR * p[at.AIR_T]) ** 0.5
    for j in range(nodes_v):
        p_m = p_atm * (1.0 + bare.excess_at(j / (nodes_v - 1.0)))
        p_dead = dead[j * (dead.shape[0] - 1) // (nodes_v - 1), 0] * p_atm
        for i in range(nodes_q):
            q = 2.0 * i / (nodes_q - 1.0) - 1.0
            w = bare.share_at(q)
            if 2 * i == nodes_q - 1:
                flow[i, j, 0] = 0.0
            elif q > 0.0:
                p_c = p_dead / (1.0 - min(w, 0.9995))
                flow[i, j, 0] = assembly_flow(p, bare_dead, bare_flow, p_m, p_c) / (unit * p_c)
            else:
                p_c = p_dead * max(1.0 - w, 1e-4)
                flow[i, j, 0] = assembly_flow(p, bare_dead, bare_flow, p_m, p_c) / (unit * p_dead)


AT_PRESSURE, AT_TEMPERATURE = 101_325.0, 288.15  # [Pa], [K] of the air that tables are made in
_SHAPES = (
    at.LINE_AREA,
    at.THROAT_AREA,
    at.MIXING_AREA,
    at.ETA_NOZZLE,
    at.ETA_MIXING,
    at.ETA_DIFFUSER,
    at.JET_SHARE,
    at.EXIT_AREA,
    at.MOUTH_AREA,
    at.SCREEN_AREA,
    at.EXHAUST_LOSS,
)


Table = tuple[np.ndarray, np.ndarray]


@lru_cache(maxsize=1024)
def _assembly(values: tuple[float, ...]) -> Table:
    found = kept_table(values)
    dead, flow = found if found is not None else _filled(values)
    bare.set_slopes(dead, flow)
    dead.setflags(write=False)
    flow.setflags(write=False)
    return dead, flow


def _filled(values: tuple[float, ...]) -> Table:
    p = np.zeros(at.PARAMETERS)
    p[list(_SHAPES)] = values
    p[[at.ATMOSPHERE, at.AIR_T]] = AT_PRESSURE, AT_TEMPERATURE
    throat = p[at.THROAT_AREA]
    table = build_table(
        p[at.MIXING_AREA] / throat,
        p[at.ETA_NOZZLE],
        p[at.ETA_MIXING],
        p[at.ETA_DIFFUSER],
        p[at.JET_SHARE],
        p[at.EXIT_AREA] / throat,
        p[at.MOUTH_AREA] / throat,
    )
    dead, flow = np.zeros_like(table.dead), np.zeros_like(table.flow)
    fill_dead(p, table.dead, dead)
    fill_flow(p, *table.arrays, dead, flow)
    return dead, flow


def shape(p: np.ndarray) -> tuple[float, ...]:
    """What sets a table: areas [m2], efficiencies [-] and the exhaust's resistance at one air density [1/(kg m)].

    Pressures count in shares of the atmosphere and flows in shares of area, pressure and root of temperature, so that one
    table serves every site. Rounded to what is certain, so that sites meet in one.
    """
    density = p[at.ATMOSPHERE] / AT_PRESSURE * AT_TEMPERATURE / p[at.AIR_T]
    values = [float(p[i]) for i in _SHAPES]
    values[-1] *= density
    return tuple(float(f"{value:.11e}") for value in values)


def assembly_table(p: np.ndarray) -> Table:
    """Arrays (dead, flow) of the ejector line with these parameters, for ``table_flow`` at atmospheric back pressure."""
    return _assembly(shape(p))


def made_anew(p: np.ndarray) -> Table:
    """The same without looking at what is kept; slopes are nought."""
    return _filled(shape(p))
