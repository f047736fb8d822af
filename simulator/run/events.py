"""Instants at which the equations change their form: where each is due, and the jump it makes.

A jump conserves air and water; pressures are continuous except where a last sliver of gas joins the main pocket.

Arguments, the same throughout: ``p`` packed parameters in SI units; ``y`` state in SI units; ``m`` modes [-];
``ch`` channels of the last moment; ``code`` which event; all four arrays as ``run.layout`` names them.
"""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.run import layout as at
from simulator.run.layout import Array
from simulator.run.pockets import front_position, gas_volumes
from simulator.units import STANDARD_GRAVITY as G

(
    NOTHING,
    MERGE,
    RE_FORM,
    FRONT_AT_PUMP,
    FRONT_LEAVES,
    RELIEF_POP,
    RELIEF_SEAT,
    NRV_OPENS,
    NRV_SHUTS,
    HOSE_EMPTIES,
    HOSE_FLOODS,
) = range(11)
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
    "hose_empty",
    "hose_floods",
)
SLIVER = 0.01  # [m] of hose before the liner at which the hose-side pocket joins the other
RE_FORM_AT = 0.05  # [m] below the liner at which it forms again


SEATS_AT = 0.01  # [m/s] of backward stream that carries the ball onto its seat; made up for training
FLOODS_AT = 200.0  # [Pa] outside over inside at which water enters an empty hose again


@compiled
def lifting(p: Array, ch: Array) -> float:
    """Pressure under the ball [Pa] that lifts it."""
    line = p[at.WATER_DENSITY] * G * p[at.LINE_RISE] * (1.0 - p[at.LINE_BURST]) * ch[at.C_LINE_FILL]
    return p[at.ATMOSPHERE] + line + p[at.NRV_CRACKING]


@compiled
def due(y: Array, p: Array, m: Array, ch: Array) -> int:
    """Code of an event that is due in this state, 0 for none; the channels must belong to the state."""
    x = front_position(y, p)
    if m[at.SPLIT] > 0.5:
        if x >= p[at.LINER_AT] - SLIVER:
            return MERGE
    elif (
        p[at.HAS_LINER] > 0.5
        and p[at.SETUP] == 0.0
        and m[at.HOSE_FULL] < 0.5
        and x < p[at.LINER_AT] - RE_FORM_AT
    ):
        return RE_FORM
    if p[at.SETUP] == 0.0:
        if m[at.HOSE_FULL] < 0.5:
            if x >= p[at.LENGTH] and y[at.SUCTION_FLOW] > 0.0:
                return FRONT_AT_PUMP
            if m[at.HOSE_EMPTY] > 0.5:
                depth = p[at.SUBMERGENCE] - p[at.LEVEL_DROP]
                outside = p[at.ATMOSPHERE] + p[at.WATER_DENSITY] * G * depth
                if depth > 0.0 and outside > ch[at.C_HOSE_PRESSURE] + FLOODS_AT:
                    return HOSE_FLOODS
            elif y[at.FRONT] <= 0.0 and y[at.SUCTION_FLOW] < 0.0:
                return HOSE_EMPTIES
        elif y[at.SUCTION_FLOW] < 0.0 and y[at.CASING_WATER] <= p[at.LIP_FILL] * p[at.CASING_VOLUME]:
            return FRONT_LEAVES
    if m[at.RELIEF_OPEN] < 0.5:
        if ch[at.C_MOTIVE_PRESSURE] > p[at.RELIEF_SET]:
            return RELIEF_POP
    elif ch[at.C_MOTIVE_PRESSURE] < p[at.RELIEF_RESEAT]:
        return RELIEF_SEAT
    if m[at.NRV_OPEN] < 0.5:
        if ch[at.C_DISCHARGE_PRESSURE] > lifting(p, ch) and ch[at.C_CASING_FILL] > p[at.BITE_FILL]:
            return NRV_OPENS
    elif y[at.DISCHARGE_FLOW] < (0.0 if y[at.LINE_WATER] <= 0.0 else -SEATS_AT * p[at.LINE_BORE_AREA]):
        return NRV_SHUTS  # at once where no water stands above it that could come back
    return NOTHING


@compiled
def margin(code: int, y: Array, p: Array, m: Array, ch: Array) -> float:
    """By how much an event is due (above 0) or not yet, in a unit of its own; it leads the search for the instant."""
    area = p[at.BORE_AREA]
    if code == RELIEF_POP:
        return ch[at.C_MOTIVE_PRESSURE] - p[at.RELIEF_SET]
    if code == RELIEF_SEAT:
        return p[at.RELIEF_RESEAT] - ch[at.C_MOTIVE_PRESSURE]
    if code == MERGE:
        return front_position(y, p) - p[at.LINER_AT] + SLIVER
    if code == RE_FORM:
        return p[at.LINER_AT] - RE_FORM_AT - front_position(y, p)
    if code == FRONT_AT_PUMP:
        return min(front_position(y, p) - p[at.LENGTH], y[at.SUCTION_FLOW] / area)
    if code == FRONT_LEAVES:
        return min(-y[at.SUCTION_FLOW], p[at.LIP_FILL] * p[at.CASING_VOLUME] - y[at.CASING_WATER]) / area
    if code == HOSE_EMPTIES:
        return min(-y[at.FRONT], -y[at.SUCTION_FLOW] / area)
    if code == NRV_OPENS:
        return min(
            (ch[at.C_DISCHARGE_PRESSURE] - lifting(p, ch)) / 1e5, ch[at.C_CASING_FILL] - p[at.BITE_FILL]
        )
    if code == NRV_SHUTS:
        back = -y[at.DISCHARGE_FLOW] / p[at.LINE_BORE_AREA]
        return max(back - SEATS_AT, min(back, -y[at.LINE_WATER] / p[at.LINE_BORE_AREA]))
    return 0.0


@compiled
def jump(code: int, y: Array, p: Array, m: Array) -> None:
    """Apply an event to the state and the modes, in place."""
    if code == MERGE:
        y[at.CASING_AIR] += y[at.HOSE_AIR]
        y[at.HOSE_AIR] = 0.0
        m[at.SPLIT] = 0.0
    elif code == RE_FORM:
        _, whole = gas_volumes(y, p, m)
        per_volume = y[at.CASING_AIR] / whole
        m[at.SPLIT] = 1.0
        hose, _ = gas_volumes(y, p, m)
        y[at.HOSE_AIR] = per_volume * hose
        y[at.CASING_AIR] -= y[at.HOSE_AIR]
    elif code == FRONT_AT_PUMP:
        over = front_position(y, p) - p[at.LENGTH]
        y[at.CASING_WATER] += p[at.BORE_AREA] * over
        y[at.FRONT] -= over
        m[at.HOSE_FULL] = 1.0
    elif code == FRONT_LEAVES:
        m[at.HOSE_FULL] = 0.0
        for _ in range(3):  # air under way may have changed its volume: the water makes room, none is lost
            over = front_position(y, p) - p[at.LENGTH]
            y[at.CASING_WATER] += p[at.BORE_AREA] * over
            y[at.FRONT] -= over
    elif code == RELIEF_POP:
        m[at.RELIEF_OPEN] = 1.0
    elif code == RELIEF_SEAT:
        m[at.RELIEF_OPEN] = 0.0
    elif code == NRV_OPENS:
        m[at.NRV_OPEN] = 1.0
        y[at.DISCHARGE_FLOW] = 0.0
    elif code == NRV_SHUTS:
        m[at.NRV_OPEN] = 0.0
        y[at.DISCHARGE_FLOW] = 0.0
    elif code == HOSE_EMPTIES:
        y[at.WATER_IN] -= p[at.BORE_AREA] * y[at.FRONT]
        y[at.FRONT] = 0.0
        y[at.SUCTION_FLOW] = 0.0
        pocket = at.HOSE_AIR if m[at.SPLIT] > 0.5 else at.CASING_AIR
        for i in (at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD):  # bubbles in the last of the water
            y[pocket] += y[i]
            y[i] = 0.0
        m[at.HOSE_EMPTY] = 1.0
    elif code == HOSE_FLOODS:
        m[at.HOSE_EMPTY] = 0.0
