"""Where water and gas stand in hose and casing, as functions of the state: heights, volumes, pressures.

Arguments, the same throughout: ``p`` packed parameters in SI units; ``y`` state in SI units; ``m`` modes [-];
all as ``run.layout`` names them.
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR
from simulator.run import layout as at
from simulator.run.layout import Array
from simulator.units import STANDARD_GRAVITY as G

STRETCHES = 3.0  # into which the way of the air from leak to front is cut
POLYTROPIC_STEPS = 6
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
def gas_pressure(mass: float, volume: float, give: float, p: Array) -> float:
    """Pressure [Pa] of saturated air of this dry mass [kg] in this volume [m3]; polytropic from outside air.

    Pressed above outside pressure, what holds the gas gives way by ``give`` [m3/Pa], so that water which meets the last
    of the gas is stopped by its own and the hose's elasticity: a volume of 0 or below is that of water pressed in.
    """
    work = max(mass, 0.0) * R_AIR * p[at.AIR_T]
    outside = p[at.ATMOSPHERE] - p[at.VAPOUR]
    exponent = p[at.GAS_EXPONENT]
    if work <= outside * volume:
        dry = work / volume
        if exponent != 1.0:
            dry = outside * math.pow(dry / outside, exponent)
    else:
        rigid = volume - give * outside
        root = math.sqrt(rigid * rigid + 4.0 * give * work)
        dry = 2.0 * work / (root + rigid) if rigid > 0.0 else (root - rigid) / (2.0 * give)
        if exponent != 1.0:
            share = (
                dry / outside
            )  # the isothermal one: already the root where nothing gives way, else near it for Newton
            for _ in range(POLYTROPIC_STEPS):
                pressed = give * outside * math.pow(share, exponent)
                share -= (share * (rigid + pressed) - work / outside) / (rigid + (exponent + 1.0) * pressed)
            dry = outside * math.pow(share, exponent)
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
def slope_at(p: Array, s: float) -> float:
    """Slope dz/ds of the hose [-] at s [m] from the strainer."""
    n = int(p[at.PROFILE_COUNT])
    for i in range(n - 1):
        s0, s1 = p[at.PARAMETERS + 2 * i], p[at.PARAMETERS + 2 * i + 2]
        if s <= s1 or i == n - 2:
            return (p[at.PARAMETERS + 2 * i + 3] - p[at.PARAMETERS + 2 * i + 1]) / (s1 - s0)
    return 0.0


@compiled
def bubbles(y: Array, p: Array) -> tuple[float, float]:
    """Gas under way in the water column: its volume [m3], and the height [m] by which it makes the column stand taller
    than its water weighs.

    Three parcels in the middle of three equal stretches from the leak to the front, each at the pressure of a standing
    column there.
    """
    if y[at.CARRIED_FIRST] == 0.0 and y[at.CARRIED_SECOND] == 0.0 and y[at.CARRIED_THIRD] == 0.0:
        return 0.0, 0.0
    area, rt = p[at.BORE_AREA], R_AIR * p[at.AIR_T]
    weight = p[at.WATER_DENSITY] * G
    leak = p[at.LEAKS_AT]
    stretch = max(y[at.FRONT] - leak, 0.0) / STRETCHES
    volume, taller = 0.0, 0.0
    for i in range(3):
        s = leak + (i + 0.5) * stretch
        dry = p[at.ATMOSPHERE] - weight * (height_at(p, s) + p[at.LEVEL_DROP]) - p[at.VAPOUR]
        own = y[at.CARRIED_FIRST + i] * rt / max(dry, MIN_TRAPPED_PRESSURE)
        volume += own
        taller += own / area * slope_at(p, s)
    return volume, taller


@compiled
def parcel_volumes(first: float, second: float, third: float, y: Array, p: Array) -> float:
    """Volume [m3] (or its rate [m3/s]) of masses of gas [kg] (or their rates [kg/s]) in the three stretches.

    ``first``, ``second``, ``third``: the masses, upwards from the hole.
    """
    weight = p[at.WATER_DENSITY] * G
    leak = p[at.LEAKS_AT]
    stretch = max(y[at.FRONT] - leak, 0.0) / STRETCHES
    total = 0.0
    for i in range(3):
        s = leak + (i + 0.5) * stretch
        dry = p[at.ATMOSPHERE] - weight * (height_at(p, s) + p[at.LEVEL_DROP]) - p[at.VAPOUR]
        mass = first if i == 0 else second if i == 1 else third
        total += mass / max(dry, MIN_TRAPPED_PRESSURE)
    return total * R_AIR * p[at.AIR_T]


@compiled
def front_position(y: Array, p: Array) -> float:
    """Where the water front stands [m from the strainer]: the water in the hose and what gas lies within it."""
    volume, _ = bubbles(y, p)
    return y[at.FRONT] + (trapped_volume(y, p) + volume) / p[at.BORE_AREA]


@compiled
def gas_volumes_at(x: float, y: Array, p: Array, m: Array) -> tuple[float, float]:
    """Volumes [m3] of the hose-side pocket (0 without one) and of the casing's pocket, the front at x [m].

    The casing's is below 0 by what water is pressed in beyond its room.
    """
    area = p[at.BORE_AREA]
    casing = p[at.CASING_VOLUME] - y[at.CASING_WATER]
    if p[at.HOSE_GIVE] == 0.0:  # with a hose full of water more may be pressed in than there is room for
        casing = max(casing, 1e-9)
    if p[at.SETUP] == 1.0 or m[at.HOSE_FULL] > 0.5:
        return 0.0, casing
    if m[at.SPLIT] > 0.5:
        return max(area * (p[at.LINER_AT] - x), 1e-9), casing + area * (p[at.LENGTH] - p[at.LINER_AT])
    return 0.0, casing + max(area * (p[at.LENGTH] - x), 0.0)


@compiled
def gas_volumes(y: Array, p: Array, m: Array) -> tuple[float, float]:
    """Volumes [m3] of the hose-side pocket (0 without one) and of the casing's pocket."""
    return gas_volumes_at(front_position(y, p), y, p, m)
