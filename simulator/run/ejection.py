"""The ejector as it stands on the rig: air line before the nozzle, screen on the suction side, hose on the exhaust.

The same flow passes screen and ejector, and the exhaust hose sees the total; the pressure behind the screen is the one
unknown, and the mismatch of the two flows rises steadily with it, so a bracketed search always ends.
"""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.physics.ejector import entrained_flow, motive_flow
from simulator.physics.gas import R_AIR, orifice_flow
from simulator.run.layout import *  # noqa: F403  the names of the flat arrays

LINE = 0.80  # [-] discharge coefficient of the air line's narrowest place
SCREEN = 0.65  # [-] of the screen's holes
NOZZLE = 0.97  # [-] of the motive nozzle
REACH = 6.0  # jet thrust against tube area when the take-off draws water; made up for training
STEPS = 60
CLOSE_ENOUGH = 1e-9


@compiled
def nozzle_pressure(p, p_m, p_down):
    """Pressure before the nozzle [Pa] behind the air line's resistance, for p_m [Pa] in the receiver."""
    area_t, area_l, temperature = p[THROAT_AREA], p[LINE_AREA], p[AIR_T]
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
def mismatch(p, table, p_n, p_c, behind, motive):
    """Ejector flow less screen flow [kg/s] when the pressure behind the screen is ``behind`` [Pa]."""
    through = orifice_flow(p_c, behind, p[SCREEN_AREA], SCREEN, p[AIR_T])
    total = motive + through
    back = p[ATMOSPHERE] + p[EXHAUST_LOSS] * total * abs(total)
    drawn = entrained_flow(
        p_n, behind, back, p[THROAT_AREA], p[MIXING_AREA], p[AIR_T], p[ETA_NOZZLE], p[ETA_MIXING], p[ETA_DIFFUSER]
    )
    return drawn - through, through


@compiled
def ejector_line(p, table, p_m, p_c):
    """Motive and suction flow [kg/s], nozzle pressure [Pa] and dead-end suction pressure under water [Pa].

    The suction flow is negative where air runs back into the casing.
    """
    p_atm, temperature = p[ATMOSPHERE], p[AIR_T]
    p_n = nozzle_pressure(p, p_m, p_c)
    motive = motive_flow(p_n, p_c, p[THROAT_AREA], NOZZLE, temperature) if p_n > p_c else 0.0
    over = max(p_n / p_atm - 1.0, 0.0)
    p_dead = p_atm / (1.0 + REACH * over * p[THROAT_AREA] / p[MIXING_AREA])

    g_c, _ = mismatch(p, table, p_n, p_c, p_c, motive)
    if g_c == 0.0:
        return motive, 0.0, p_n, p_dead
    if g_c > 0.0:
        low, high, g_high = 1.0, p_c, g_c
        g_low, flow = mismatch(p, table, p_n, p_c, low, motive)
    else:
        low, g_low = p_c, g_c
        high = max(p_c, p_atm + p[EXHAUST_LOSS] * motive * motive) + 1e3
        g_high, flow = mismatch(p, table, p_n, p_c, high, motive)
    side = 0
    for _ in range(STEPS):
        if g_high == g_low:
            break
        middle = (low * g_high - high * g_low) / (g_high - g_low)
        g, flow = mismatch(p, table, p_n, p_c, middle, motive)
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
        if moved < CLOSE_ENOUGH * p_c or abs(g) < 1e-13:
            break
    return motive, flow, p_n, p_dead
