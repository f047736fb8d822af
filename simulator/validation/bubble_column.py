"""A finely cut column of water and air: the reference for the few parcels that the runs carry their bubbles in.

One-dimensional drift flux (Zuber and Findlay 1965) on cells that stretch with the front: the mixture is pushed by the
water that comes in and by the gas that widens as it climbs; the gas runs ahead of it by the drift of long bubbles in a
sloping pipe (Bendiksen 1984); air comes in at one hole. The column is rigid and its water does not give, as in the runs;
only the cutting is fine. No code is shared with the equations but the hole, the drift and the friction factor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR, hole_flow
from simulator.physics.hose_losses import friction_factor, gas_drift, gas_speed
from simulator.rig.fault_changes import with_joint_hole
from simulator.rig.rig import Rig, Site
from simulator.run import layout as at
from simulator.run.ejection import CHOKED, assembly_table
from simulator.run.hose_leaks import bends_passed
from simulator.run.integrate import integrate
from simulator.run.parameters import pack
from simulator.run.pockets import bubbles, front_position, height_at, slope_at
from simulator.run.result import ControlStep
from simulator.run.state import State, rest_state
from simulator.units import STANDARD_GRAVITY as G

CELLS = 160
STEP = 1e-3  # [s]
MAX_GAS = 0.8  # [-] share of gas that a cell holds at most


@compiled
def march(
    p: np.ndarray,
    speed: float,
    front: float,
    air: float,
    every: int,
    times: np.ndarray,
    fronts: np.ndarray,
    pressures: np.ndarray,
    volumes: np.ndarray,
) -> int:
    """Follow the column from rest until the front is at the pump; returns how many rows were filled.

    p: parameters of a run with one hole in its hose; ``speed`` [m3/s]: constant volume that is drawn from the casing;
    ``front`` [m] and ``air`` [kg] at the start. Every ``every`` steps a row is filled: ``times`` [s], ``fronts`` [m],
    ``pressures`` in the casing [Pa], ``volumes`` of gas in the column [m3], each of shape (rows,).
    """
    rt, area, rho, p_v = R_AIR * p[at.AIR_T], p[at.BORE_AREA], p[at.WATER_DENSITY], p[at.VAPOUR]
    first = at.PARAMETERS + 2 * int(p[at.PROFILE_COUNT])
    s_leak, hole = p[first], p[first + 1]
    mass, fresh = np.zeros(CELLS), np.zeros(CELLS)
    share, local, old = np.zeros(CELLS), np.zeros(CELLS), np.zeros(CELLS)
    mixture, gas, drift = np.zeros(CELLS + 1), np.zeros(CELLS + 1), np.zeros(CELLS + 1)
    x, v, filled, step, drawn = front, 0.0, 0, 0, air
    while x < p[at.LENGTH] and filled < times.shape[0]:
        cell = x / CELLS
        volume = p[at.CASING_VOLUME] + area * (p[at.LENGTH] - x)
        p_c = drawn * rt / volume + p_v
        weight = 0.0
        for k in range(CELLS):
            z0, z1 = height_at(p, k * cell), height_at(p, (k + 1) * cell)
            weight += rho * G * (1.0 - share[k]) * (z1 - z0)
        weight += rho * G * height_at(p, 0.0)  # the strainer hangs in the water
        reynolds = rho * abs(v) * p[at.BORE] / p[at.WATER_VISCOSITY]
        friction = friction_factor(reynolds, p[at.RELATIVE_ROUGHNESS]) / p[at.BORE]
        inlet = 1.0 + p[at.ENTRY_LOSS] + p[at.STRAINER_LOSS]
        dynamic = 0.5 * rho * v * abs(v)
        lost = dynamic * (inlet + friction * x + bends_passed(p, x))
        rate = (p[at.ATMOSPHERE] - p_c - weight - lost) / (rho * max(x, p[at.INERTIA_LENGTH]))
        # pressure in each cell, from the strainer up
        height = p[at.ATMOSPHERE] - rho * G * height_at(p, 0.0)
        for k in range(CELLS):
            z0, z1 = height_at(p, k * cell), height_at(p, (k + 1) * cell)
            half = 0.5 * rho * G * (1.0 - share[k]) * (z1 - z0)
            s = (k + 0.5) * cell
            height -= half
            local[k] = max(
                height - dynamic * (inlet + friction * s + bends_passed(p, s)) - rho * s * rate, p_v + 1e3
            )
            height -= half
            share[k] = min(mass[k] * rt / ((local[k] - p_v) * area * cell), MAX_GAS)
        # the mixture's volume flow: what comes in, what is let in, what widens
        let_in, at_cell = 0.0, -1
        if x > s_leak:
            at_cell = min(int(s_leak / cell), CELLS - 1)
            let_in = hole_flow(p[at.ATMOSPHERE], local[at_cell], hole, p[at.AIR_T])
        mixture[0] = max(v, 0.0)
        for k in range(CELLS):
            s = (k + 0.5) * cell
            drift[k] = gas_drift(slope_at(p, s), p[at.BORE])
            u = gas_speed(mixture[k], 0.0, drift[k])
            below = local[k - 1] if k > 0 else local[k]
            above = local[k + 1] if k < CELLS - 1 else p_c
            grid = (k + 0.5) / CELLS * max(v, 0.0)
            slope = (above - below) / (2.0 * cell if 0 < k < CELLS - 1 else 1.0 * cell)
            falling = (u - grid) * slope
            if old[k] > 0.0:
                falling += (local[k] - old[k]) / STEP
            mixture[k + 1] = mixture[k] - share[k] / (local[k] - p_v) * falling * cell
            if k == at_cell:
                mixture[k + 1] += let_in * rt / ((local[k] - p_v) * area)
        climb = mixture[CELLS] if v > 0.0 else v
        for k in range(CELLS):  # gas over the upper edge of each cell, against the edge's own speed
            u = gas_speed(mixture[k + 1], 0.0, drift[k])
            edge = (k + 1.0) / CELLS * climb
            gas[k + 1] = max(mass[k] / cell * (u - edge), 0.0)
        for k in range(CELLS):
            fresh[k] = mass[k] + STEP * (gas[k] - gas[k + 1] + (let_in if k == at_cell else 0.0))
            old[k] = local[k]
        if step % every == 0:
            times[filled], fronts[filled], pressures[filled] = step * STEP, x, p_c
            total = 0.0
            for k in range(CELLS):
                total += share[k] * area * cell
            volumes[filled] = total
            filled += 1
        ahead = hole_flow(p[at.ATMOSPHERE], p_c, hole, p[at.AIR_T]) if x <= s_leak else 0.0
        drawn += STEP * (gas[CELLS] + ahead - speed * (p_c - p_v) / rt)
        for k in range(CELLS):
            mass[k] = fresh[k]
        x += STEP * climb
        v += STEP * rate
        step += 1
    return filled


def fine_column(
    p: np.ndarray, speed: float, front: float, air: float, duration: float = 300.0, every: float = 0.1
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Times [s], front [m], casing pressure [Pa] and gas in the column [m3] of the finely cut column.

    p, speed, front, air as :func:`march`; it ends when the front is at the pump or after ``duration`` [s]; a row
    ``every`` [s].
    """
    rows = round(duration / every)
    out = [np.zeros(rows) for _ in range(4)]
    filled = march(p, speed, front, air, round(every / STEP), *out)
    return out[0][:filled], out[1][:filled], out[2][:filled], out[3][:filled]


@dataclass(frozen=True)
class Comparison:
    """The runs' three parcels beside the fine column, until the water is at the pump in one of them; SI."""

    time: float  # [s] at which the water is at the pump
    fine_time: float
    largest_front: float  # [m] greatest distance of the two fronts
    largest_pressure: float  # [Pa] and of the two pressures in the casing
    gas: float  # [m3] in the column at the end
    fine_gas: float


def constant_suction(p: np.ndarray, speed: float) -> tuple[np.ndarray, np.ndarray]:
    """An ejector table that draws a constant volume flow, whatever the pressure: m = S p / (R T).

    p: parameters of the run; speed S [m3/s].
    """
    dead, flow = (np.zeros_like(array) for array in assembly_table(p))
    dead[:, 0] = 1e-12
    unit = CHOKED * p[at.THROAT_AREA] / math.sqrt(R_AIR * p[at.AIR_T])
    flow[:, :, 0] = speed / (R_AIR * p[at.AIR_T]) / unit
    return dead, flow


def driven_state(rig: Rig, site: Site, p: np.ndarray) -> State:
    """The rig at rest at a site, with a receiver so large that it drives such an ejector for ever.

    p: parameters of the run; its receiver is made large, in place. Without it nothing would draw.
    """
    p[at.RECEIVER_VOLUME] = 1e6
    state = rest_state(rig, site, p)
    state.y[at.RECEIVER_AIR] *= 5.0
    return state


def compare(rig: Rig, site: Site, hole: float, speed: float, duration: float = 200.0) -> Comparison:
    """Both columns with a hole of a diameter [m] at the rig's first joint, a constant volume [m3/s] being drawn.

    The rig stands at a site; ``speed`` is the volume drawn, ``duration`` [s] the longest either is followed. The
    vapour pressure is left out on both sides. The joint must lie above the outside water.
    """
    holed = with_joint_hole(rig, 0, hole)
    p = pack(holed, site)
    p[at.VAPOUR] = 0.0
    state = driven_state(holed, site, p)
    times, fronts, pressures, gas = fine_column(
        p, speed, float(state.y[at.FRONT]), float(state.y[at.CASING_AIR]), duration
    )
    grid = np.arange(0.0, duration + 0.05, 0.1)
    still = (ControlStep(0.0, 0.0),)
    path = integrate(p, constant_suction(p, speed), state, grid, still, rtol=1e-7)
    full = path.modes[:, at.HOSE_FULL] > 0.5
    ours = float(grid[np.argmax(full)]) if full.any() else math.nan
    theirs = float(times[-1]) if fronts[-1] > 0.98 * p[at.LENGTH] else math.nan
    last = int(np.nanmin([ours, theirs, duration]) / 0.1) - 1
    front = np.array([front_position(y, p) for y in path.states[:last]])
    volume = p[at.CASING_VOLUME] + p[at.BORE_AREA] * (p[at.LENGTH] - front)
    pressure = path.states[:last, at.CASING_AIR] * R_AIR * p[at.AIR_T] / volume
    return Comparison(
        time=ours,
        fine_time=theirs,
        largest_front=float(np.abs(front - fronts[:last]).max()),
        largest_pressure=float(np.abs(pressure - pressures[:last]).max()),
        gas=float(bubbles(path.states[last - 1], p)[0]),
        fine_gas=float(gas[last - 1]),
    )
