"""Instants at which the equations change their form: where each is due, and the jump it makes.

A jump conserves air and water; pressures are continuous except where a last sliver of gas joins the main pocket.
"""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.run.equations import gas_volumes
from simulator.run.layout import *  # noqa: F403  the names of the flat arrays

NOTHING, MERGE, RE_FORM, FRONT_AT_PUMP, FRONT_LEAVES, RELIEF_POP, RELIEF_SEAT, NRV_OPENS, NRV_SHUTS = range(9)
KINDS = (
    "",
    "front_at_choke",
    "front_left_choke",
    "front_at_pump",
    "front_left_pump",
    "relief_pop",
    "relief_reseat",
    "nrv_open",
    "nrv_shut",
)
SLIVER = 0.01  # [m] of hose before the liner at which the hose-side pocket joins the other
RE_FORM_AT = 0.05  # [m] below the liner at which it forms again


@compiled
def due(y, p, m, ch):
    """Code of an event that is due in this state, 0 for none; the channels must belong to the state."""
    if m[SPLIT] > 0.5:
        if y[FRONT] >= p[LINER_AT] - SLIVER:
            return MERGE
    elif (
        p[HAS_LINER] > 0.5 and p[SETUP] == 0.0 and m[HOSE_FULL] < 0.5 and y[FRONT] < p[LINER_AT] - RE_FORM_AT
    ):
        return RE_FORM
    if p[SETUP] == 0.0:
        if m[HOSE_FULL] < 0.5:
            if y[FRONT] >= p[LENGTH] and y[SUCTION_FLOW] > 0.0:
                return FRONT_AT_PUMP
        elif y[SUCTION_FLOW] < 0.0 and y[CASING_WATER] <= p[LIP_FILL] * p[CASING_VOLUME]:
            return FRONT_LEAVES
    if m[RELIEF_OPEN] < 0.5:
        if ch[C_MOTIVE_PRESSURE] > p[RELIEF_SET]:
            return RELIEF_POP
    elif ch[C_MOTIVE_PRESSURE] < p[RELIEF_RESEAT]:
        return RELIEF_SEAT
    if m[NRV_OPEN] < 0.5:
        lifted = p[ATMOSPHERE] + p[WATER_DENSITY] * 9.80665 * p[LINE_RISE] * ch[C_LINE_FILL] + p[NRV_CRACKING]
        if ch[C_DISCHARGE_PRESSURE] > lifted and ch[C_CASING_FILL] > p[BITE_FILL]:
            return NRV_OPENS
    elif y[DISCHARGE_FLOW] < 0.0:
        return NRV_SHUTS
    return NOTHING


@compiled
def jump(code, y, p, m):
    """Apply an event to the state and the modes, in place."""
    if code == MERGE:
        y[CASING_AIR] += y[HOSE_AIR]
        y[HOSE_AIR] = 0.0
        m[SPLIT] = 0.0
    elif code == RE_FORM:
        _, whole = gas_volumes(y, p, m)
        per_volume = y[CASING_AIR] / whole
        m[SPLIT] = 1.0
        hose, _ = gas_volumes(y, p, m)
        y[HOSE_AIR] = per_volume * hose
        y[CASING_AIR] -= y[HOSE_AIR]
    elif code == FRONT_AT_PUMP:
        y[CASING_WATER] += p[BORE_AREA] * (y[FRONT] - p[LENGTH])
        y[FRONT] = p[LENGTH]
        m[HOSE_FULL] = 1.0
    elif code == FRONT_LEAVES:
        m[HOSE_FULL] = 0.0
    elif code == RELIEF_POP:
        m[RELIEF_OPEN] = 1.0
    elif code == RELIEF_SEAT:
        m[RELIEF_OPEN] = 0.0
    elif code == NRV_OPENS:
        m[NRV_OPEN] = 1.0
        y[DISCHARGE_FLOW] = 0.0
    elif code == NRV_SHUTS:
        m[NRV_OPEN] = 0.0
        y[DISCHARGE_FLOW] = 0.0
