"""The ejector's suction flow as a smooth table, for solvers of differential equations.

With equal temperatures the flow in shares of the motive state depends on p_s/p_m and p_b/p_m only. The
table stands in two coordinates that follow the physics:

* v: how far the motive pressure stands above the back pressure, logarithmic;
* q: how far the suction pressure stands above (or below) the dead pressure D(v), where nothing flows: a
  rounded square root of 1 - p_dead/p_s, so that the root-like flow of an open hole is nearly straight in q.

The value is the flow over the choked flow through the whole mixing tube at the higher of p_s and p_dead.
Monotone cubic slopes (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238) make it once continuously
differentiable and round the corners of the direct solution over about one cell.

Arguments, the same throughout: ``area_ratio`` mixing tube over nozzle throat [-]; ``eta_n``, ``eta_m``,
``eta_d`` efficiencies of nozzle, mixing and diffuser [-].
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from simulator.compiled import compiled
from simulator.errors import InputError
from simulator.physics.ejector import dead_pressure_ratio, suction_share
from simulator.physics.gas import GAMMA, R_AIR, choked_flow_factor
from simulator.physics.smooth import positive_part

NODES_Q = 73  # suction coordinate, from -1 (vacuum, reverse) to 1
NODES_V = 73  # motive coordinate, from p_m = p_b up
GREATEST_EXCESS = 20.0  # greatest (p_m - p_b) / p_b in the table; above it the motive pressure is held [-]
LOG_SCALE = 0.6  # (p_m - p_b) / p_b below which v is nearly linear [-]
TURN_WIDTH = 1e-3  # rounding of the square root at the turning point [-]
START_WIDTH = 0.02  # rounding where the motive pressure passes the back pressure [-]
_CHOKED = choked_flow_factor(GAMMA)
_V_SCALE = math.log(1.0 + GREATEST_EXCESS / LOG_SCALE)


@compiled
def excess_at(share: float) -> float:
    """(p_m - p_b) / p_b at a share, 0 to 1, of the table's motive coordinate [-].

    Examples
    --------
    >>> round(excess_at(1.0), 9)
    20.0
    """
    return LOG_SCALE * (math.exp(share * _V_SCALE) - 1.0)


@compiled
def share_at(q: float) -> float:
    """Rounded square of the suction coordinate: 1 - p_dead/p_s (or 1 - p_s/p_dead below it) at q [-].

    Examples
    --------
    >>> share_at(0.0)
    0.0
    """
    return 0.5 * (q * q + math.sqrt(q**4 + 4.0 * TURN_WIDTH * q * q))


@compiled
def _fill(area_ratio, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio, dead, flow):  # type: ignore[no-untyped-def]
    nodes_q, nodes_v = flow.shape[0], flow.shape[1]
    for j in range(nodes_v):
        y = 1.0 / (1.0 + excess_at(j / (nodes_v - 1.0)))
        x_dead = dead_pressure_ratio(
            y, area_ratio, GAMMA, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
        )
        dead[j, 0] = x_dead / y
        for i in range(nodes_q):
            q = 2.0 * i / (nodes_q - 1.0) - 1.0
            w = share_at(q)
            if 2 * i == nodes_q - 1:
                flow[i, j, 0] = 0.0
            elif q > 0.0:
                x_s = x_dead / (1.0 - min(w, 0.9995))
                share = suction_share(
                    x_s, y, x_dead, area_ratio, GAMMA, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
                )
                flow[i, j, 0] = share / (_CHOKED * area_ratio * x_s)
            else:
                x_s = x_dead * max(1.0 - w, 0.0)
                share = suction_share(
                    x_s, y, x_dead, area_ratio, GAMMA, eta_n, eta_m, eta_d, jet_share, exit_ratio, mouth_ratio
                )
                flow[i, j, 0] = share / (_CHOKED * area_ratio * x_dead)


def _monotone_slopes(values: np.ndarray) -> np.ndarray:
    """Slopes per cell of evenly spaced values along axis 0; harmonic means, zero at turning points."""
    step = np.diff(values, axis=0)
    slopes = np.zeros_like(values)
    product = step[:-1] * step[1:]
    total = step[:-1] + step[1:]
    slopes[1:-1] = np.where(product > 0.0, 2.0 * product / np.where(total == 0.0, 1.0, total), 0.0)
    for end, first, second in ((0, step[0], step[1]), (-1, step[-1], step[-2])):
        slope = 1.5 * first - 0.5 * second
        slope = np.where(slope * first <= 0.0, 0.0, slope)
        slopes[end] = np.where((first * second <= 0.0) & (abs(slope) > 3.0 * abs(first)), 3.0 * first, slope)
    return slopes


def set_slopes(dead: np.ndarray, flow: np.ndarray) -> None:
    """Fill in the slopes of a table whose values stand in ``dead[:, 0]`` and ``flow[:, :, 0]``, in place."""
    dead[:, 1] = _monotone_slopes(dead[:, 0])
    flow[:, :, 1] = _monotone_slopes(flow[:, :, 0])
    flow[:, :, 2] = _monotone_slopes(flow[:, :, 0].T).T
    flow[:, :, 3] = _monotone_slopes(flow[:, :, 1].T).T


@dataclass(frozen=True)
class EjectorTable:
    """Tabulated ejector of one area ratio and one set of efficiencies [-]; arrays are read-only.

    dead: (NODES_V, 2) dead pressure over back pressure and its slope per cell [-].
    flow: (NODES_Q, NODES_V, 4) flow over choked tube flow, slopes along q and v and mixed slope per cell,
    times the area ratio [-].

    Examples
    --------
    >>> table = build_table(8.544, 0.92, 0.90, 0.78)
    >>> round(1e3 * float(table_flow(6.7e5, 60e3, 1.03e5, 5.309e-6, 293.15, *table.arrays)), 1)
    3.8
    """

    area_ratio: float
    eta_n: float
    eta_m: float
    eta_d: float
    dead: np.ndarray = field(repr=False)
    flow: np.ndarray = field(repr=False)

    @property
    def arrays(self) -> tuple[np.ndarray, np.ndarray]:
        """(dead, flow), as :func:`table_flow` takes them."""
        return self.dead, self.flow


@lru_cache(maxsize=256)
def build_table(
    area_ratio: float,
    eta_n: float,
    eta_m: float,
    eta_d: float,
    jet_share: float = 1.0,
    exit_ratio: float = 0.0,
    mouth_ratio: float = 0.0,
) -> EjectorTable:
    """Tabulate the ejector of an area ratio (mixing tube over nozzle throat, 1.3 to 2000 [-]) and
    efficiencies [-], 0.5 to 1; jet_share [-], 0.5 to 1, exit_ratio and mouth_ratio [-] as in
    :mod:`simulator.physics.ejector`.

    Raises
    ------
    InputError : a value out of its range.

    Examples
    --------
    >>> build_table(8.544, 0.92, 0.90, 0.78).flow.shape
    (73, 73, 4)
    """
    if not 1.3 <= area_ratio <= 2000.0:
        raise InputError(
            f"the mixing tube has {area_ratio:g} times the area of the nozzle", "ejector", "1.3 to 2000"
        )
    for name, value in (("nozzle", eta_n), ("mixing", eta_m), ("diffuser", eta_d)):
        if not 0.5 <= value <= 1.0:
            raise InputError(f"the {name} efficiency is {value:g}", "ejector", "0.5 to 1")
    if not 0.5 <= jet_share <= 1.0:
        raise InputError(f"the jet takes up {jet_share:g} of its ideal area", "ejector", "0.5 to 1")
    dead, flow = np.zeros((NODES_V, 2)), np.zeros((NODES_Q, NODES_V, 4))
    mixing, jet = (float(eta_m), float(eta_d)), (float(jet_share), float(exit_ratio), float(mouth_ratio))
    _fill(float(area_ratio), float(eta_n), *mixing, *jet, dead, flow)
    set_slopes(dead, flow)
    flow *= area_ratio
    dead.setflags(write=False)
    flow.setflags(write=False)
    return EjectorTable(area_ratio, eta_n, eta_m, eta_d, dead, flow)


@compiled
def _excess_share(p_m: float, p_b: float) -> float:
    """Motive coordinate v, 0 at p_m <= p_b to 1 [-]."""
    excess = min(positive_part(p_m / p_b - 1.0, START_WIDTH), GREATEST_EXCESS)
    return math.log(1.0 + excess / LOG_SCALE) / _V_SCALE


@compiled
def _dead_share(v: float, dead: np.ndarray) -> float:
    """Dead over back pressure [-] at the motive coordinate v [-]."""
    u = v * (dead.shape[0] - 1.0)
    j = min(int(u), dead.shape[0] - 2)
    t = u - j
    s = 1.0 - t
    lower = (1.0 + 2.0 * t) * dead[j, 0] + t * dead[j, 1]
    upper = (3.0 - 2.0 * t) * dead[j + 1, 0] - s * dead[j + 1, 1]
    return float(s * s * lower + t * t * upper)


@compiled
def table_dead_pressure(p_m: float, p_b: float, dead: np.ndarray) -> float:
    """Suction pressure [Pa] at which nothing flows, from the table.

    p_m motive, p_b back pressure, absolute [Pa], p_b > 0; dead: of :class:`EjectorTable`.

    Examples
    --------
    >>> table = build_table(8.544, 0.92, 0.90, 0.78)
    >>> float(table_dead_pressure(1.0e5, 1.0e5, table.dead))
    100000.0
    """
    return p_b * _dead_share(_excess_share(p_m, p_b), dead)


@compiled
def table_flow(
    p_m: float, p_s: float, p_b: float, area_t: float, T: float, dead: np.ndarray, flow: np.ndarray
) -> float:
    """Air drawn from the suction side [kg/s], negative in reverse: smooth (C1) stand-in for
    ``entrained_flow``.

    p_m, p_s, p_b: motive, suction and back pressure, absolute [Pa]; nozzle throat area_t [m2]; T [K];
    ``*table.arrays``. Zero if p_s or p_b is not positive. Off the direct solution by less
    than 1 % of the choked flow through the mixing tube at p_s for 98 % of states with p_s from 2 kPa and p_m
    to 11 bar; more only near the dead pressure (within about 1 kPa, most where the jet begins to fill the
    tube, there up to 20 %), where the turn is rounded on purpose.

    Examples
    --------
    >>> table = build_table(8.544, 0.92, 0.90, 0.78)
    >>> float(table_flow(1.0e5, 1.0e5, 1.0e5, 5.309e-6, 293.15, *table.arrays))
    0.0
    """
    if p_s <= 0.0 or p_b <= 0.0 or T <= 0.0:
        return 0.0
    nodes_q, nodes_v = flow.shape[0], flow.shape[1]
    share = _excess_share(p_m, p_b)
    p_dead = p_b * _dead_share(share, dead)
    v = share * (nodes_v - 1.0)
    j = min(int(v), nodes_v - 2)
    t = v - j
    s = 1.0 - t
    # cubic Hermite weights along v: values and slopes at both ends
    v0, v1 = s * s * (1.0 + 2.0 * t), t * t * (3.0 - 2.0 * t)
    dv0, dv1 = s * s * t, -t * t * s
    if p_s >= p_dead:
        scale = p_s
        w = 1.0 - p_dead / p_s
        q = w / math.sqrt(w + TURN_WIDTH)
    else:
        scale = p_dead
        w = 1.0 - p_s / p_dead
        q = -w / math.sqrt(w + TURN_WIDTH)
    u = 0.5 * (q + 1.0) * (nodes_q - 1.0)
    i = min(max(int(u), 0), nodes_q - 2)
    t = u - i
    s = 1.0 - t
    lower = v0 * flow[i, j, 0] + v1 * flow[i, j + 1, 0] + dv0 * flow[i, j, 2] + dv1 * flow[i, j + 1, 2]
    upper = (
        v0 * flow[i + 1, j, 0]
        + v1 * flow[i + 1, j + 1, 0]
        + dv0 * flow[i + 1, j, 2]
        + dv1 * flow[i + 1, j + 1, 2]
    )
    slope_lower = v0 * flow[i, j, 1] + v1 * flow[i, j + 1, 1] + dv0 * flow[i, j, 3] + dv1 * flow[i, j + 1, 3]
    slope_upper = (
        v0 * flow[i + 1, j, 1]
        + v1 * flow[i + 1, j + 1, 1]
        + dv0 * flow[i + 1, j, 3]
        + dv1 * flow[i + 1, j + 1, 3]
    )
    value = s * s * ((1.0 + 2.0 * t) * lower + t * slope_lower) + t * t * (
        (3.0 - 2.0 * t) * upper - s * slope_upper
    )
    return float(_CHOKED * value * scale * area_t / math.sqrt(R_AIR * T))  # no array scalar in plain Python
