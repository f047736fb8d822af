"""The suction hose while water stands in it: what its resistances are as far as a place, and what its holes let in."""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.physics.gas import hole_flow, liquid_orifice_flow
from simulator.physics.smooth import smooth_step
from simulator.run import layout as at
from simulator.run.layout import Array
from simulator.run.pockets import height_at
from simulator.units import STANDARD_GRAVITY as G

WATER_HOLE = (
    0.61  # [-] discharge coefficient of a sharp-edged hole for water; Weisbach, ISO 5167-2 band 0.60-0.61
)
COVER = 0.05  # [m] over which a joint goes from above to below the front, or the outside water
BEND_LENGTH = 0.2  # [m] of hose over which the water feels a bend


@compiled
def bends_passed(p: Array, s: float) -> float:
    """Loss coefficient [-] of the bends up to s [m] from the strainer: the hose's bends in equal shares at its corners.

    A hose without a corner has them at its upper end. p: parameters of the run, see ``run/layout.py``.
    """
    corners = int(p[at.PROFILE_COUNT]) - 2
    if corners <= 0:
        return p[at.BEND_LOSS] if s >= p[at.LENGTH] else 0.0
    passed = 0.0
    for i in range(corners):
        passed += smooth_step((s - p[at.PARAMETERS + 2 * (i + 1)]) / BEND_LENGTH)
    return p[at.BEND_LOSS] * passed / corners


@compiled
def leaks(
    p: Array,
    x: float,
    full: bool,
    split: bool,
    p_h: float,
    p_c: float,
    dynamic: float,
    entry: float,
    friction: float,
    choke: float,
    d_q: float,
    past_crest: float,
    dry_column: float,
) -> tuple[float, float, float, float]:
    """What the holes of hose and joints let in: air into the two pockets and into the column [kg/s], water [m3/s].

    Ahead of the front x [m] a hole sees its pocket (p_h, p_c [Pa]), behind it the water there: the outside less height,
    inertia (d_q [m3/s2]) and all the losses up to the hole, on the velocity head ``dynamic`` [Pa]: entry and strainer
    [-], wall friction [1/m], the bends it has passed, the choke [-] past the loose liner. ``past_crest`` [m] is what
    trapped gas past the place ``dry_column`` [m] takes from the height. A hole under the outside water admits water.
    p: parameters of the run; ``full``: the hose holds water to the pump; ``split``: a crest parts the air into two
    pockets.
    """
    ahead_h, ahead_c, behind, water = 0.0, 0.0, 0.0, 0.0
    p_atm, rho, drop, setup = p[at.ATMOSPHERE], p[at.WATER_DENSITY], p[at.LEVEL_DROP], p[at.SETUP]
    first = at.PARAMETERS + 2 * int(p[at.PROFILE_COUNT])
    for i in range(int(p[at.LEAK_COUNT])):
        s, hole = p[first + 2 * i], p[first + 2 * i + 1]
        height = height_at(p, s) + drop
        sunk = smooth_step(-height / COVER) if setup == 0.0 else 0.0
        outside = p_atm + rho * G * max(-height, 0.0)
        wet = 1.0 if full else smooth_step((x - s) / COVER)
        if wet < 1.0:
            inside = p_h if split and s < p[at.LINER_AT] else p_c
            air = (1.0 - sunk) * hole_flow(p_atm, inside, hole, p[at.AIR_T])
            if sunk > 0.0:
                if outside > inside:
                    water += (1.0 - wet) * sunk * liquid_orifice_flow(outside, inside, hole, WATER_HOLE, rho)
                else:
                    air += sunk * hole_flow(outside, inside, hole, p[at.AIR_T])
            if split and s < p[at.LINER_AT]:
                ahead_h += (1.0 - wet) * air
            else:
                ahead_c += (1.0 - wet) * air
        if wet > 0.0 and setup == 0.0:
            loss = 1.0 + entry + friction * s + bends_passed(p, s)
            if s > p[at.LINER_AT]:
                loss += choke
            inside = p_atm - rho * G * height - rho * s / p[at.BORE_AREA] * d_q - dynamic * loss
            if s > dry_column:
                inside -= rho * G * past_crest
            inside = max(inside, p[at.VAPOUR])
            through = liquid_orifice_flow(outside, inside, hole, WATER_HOLE, rho)
            water += wet * sunk * through
            if inside < p_atm:
                behind += wet * (1.0 - sunk) * hole_flow(p_atm, inside, hole, p[at.AIR_T])
            else:
                water += wet * (1.0 - sunk) * through
    return ahead_h, ahead_c, behind, water
