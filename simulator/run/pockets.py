"""Where water and gas stand in hose and casing, as functions of the state: heights, volumes, pressures."""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR
from simulator.run import layout as at
from simulator.run.layout import Array
from simulator.units import STANDARD_GRAVITY as G

MIN_TRAPPED_PRESSURE = 2e3  # [Pa] dry, so that trapped gas keeps a finite volume at the greatest lifts


@compiled
def apply_ramps(t: float, p: Array) -> None:
    """Set the parameters that change during a run to their values at t [s], in place."""
    first = at.PARAMETERS + 2 * int(p[at.PROFILE_COUNT]) + 2 * int(p[at.LEAK_COUNT])
    for i in range(int(p[at.RAMP_COUNT])):
        row = first + at.RAMP_WIDTH * i
        share = min(max((t - p[row + 1]) / (p[row + 2] - p[row + 1]), 0.0), 1.0)
        p[int(p[row])] = p[row + 3] + share * (p[row + 4] - p[row + 3])


@compiled
def gas_pressure(mass: float, volume: float, p: Array) -> float:
    """Pressure [Pa] of saturated air of this dry mass [kg] in this volume [m3]; polytropic from outside air."""
    dry = max(mass, 0.0) * R_AIR * p[at.AIR_T] / volume
    if p[at.GAS_EXPONENT] != 1.0:
        outside = p[at.ATMOSPHERE] - p[at.VAPOUR]
        dry = outside * math.pow(dry / outside, p[at.GAS_EXPONENT])
    return dry + p[at.VAPOUR]


@compiled
def height_at(p: Array, s: float) -> float:
    """Height of the hose [m] above the outside water at s [m] from the strainer."""
    n = int(p[at.PROFILE_COUNT])
    for i in range(n - 1):
        s0, s1 = p[at.PARAMETERS + 2 * i], p[at.PARAMETERS + 2 * i + 2]
        if s <= s1 or i == n - 2:
            z0, z1 = p[at.PARAMETERS + 2 * i + 1], p[at.PARAMETERS + 2 * i + 3]
            return z0 + (z1 - z0) * (s - s0) / (s1 - s0)
    return 0.0


@compiled
def trapped_volume(y: Array, p: Array) -> float:
    """Gas [m3] that the hose's high spot holds back, at the pressure of a standing column there."""
    if p[at.HAS_CREST] < 0.5 or y[at.TRAPPED_AIR] <= 0.0:
        return 0.0
    head = p[at.WATER_DENSITY] * G * (height_at(p, p[at.CREST_AT]) + p[at.LEVEL_DROP])
    dry = max(p[at.ATMOSPHERE] - head - p[at.VAPOUR], MIN_TRAPPED_PRESSURE)
    return y[at.TRAPPED_AIR] * R_AIR * p[at.AIR_T] / dry


@compiled
def front_position(y: Array, p: Array) -> float:
    """Where the water front stands [m from the strainer]: the water in the hose and what gas lies within it."""
    return y[at.FRONT] + trapped_volume(y, p) / p[at.BORE_AREA]


@compiled
def gas_volumes(y: Array, p: Array, m: Array) -> tuple[float, float]:
    """Volumes [m3] of the hose-side pocket (0 without one) and of the casing's pocket."""
    area = p[at.BORE_AREA]
    setup = p[at.SETUP]
    casing = max(p[at.CASING_VOLUME] - y[at.CASING_WATER], 1e-9)
    if setup == 1.0 or m[at.HOSE_FULL] > 0.5:
        return 0.0, casing
    if m[at.SPLIT] > 0.5:
        return max(area * (p[at.LINER_AT] - front_position(y, p)), 1e-9), casing + area * (
            p[at.LENGTH] - p[at.LINER_AT]
        )
    return 0.0, casing + max(area * (p[at.LENGTH] - front_position(y, p)), 0.0)
