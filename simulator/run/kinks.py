"""Where the equations bend: the next place ahead at which a step of the integrator should end.

Rates are continuous there but their slope jumps, so that a step across is thrown away again and again until it is short
enough; a step that ends there costs nothing.

Arguments, the same throughout: ``h`` length of the next step [s]; ``now`` time [s]; ``turn`` time of the next
bend [s]; ``y``, ``p``, ``m`` state, parameters and modes as ``run.layout`` names them.
"""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.run import layout as at
from simulator.run.equations import CROWN, LINE_SETTLED, TAKEOFF_LOW
from simulator.run.layout import Array

BEYOND = 1.003  # share of the way: a bend in the last bit of a step does no harm, one at the start of the next does

CLOSEST = 1e-5  # [s] to a bend that is worth a step of its own


@compiled
def cut(h: float, place: float, now: float, rate: float, turn: float) -> float:
    """Step [s], cut to end just beyond a place that is reached within it at this rate and its rate of change."""
    way = place - now
    if rate == 0.0 or not CLOSEST < way / rate < 1.5 * h:
        return h
    time = way / rate
    for _ in range(2):
        mean = rate + 0.5 * turn * time
        if mean * rate <= 0.0:
            return h
        time = way / mean
    return min(h, BEYOND * time)


@compiled
def before_next_bend(h: float, y: Array, rates: Array, turn: Array, p: Array, m: Array) -> float:
    """The step [s], or a shorter one that ends just beyond the next bend; ``turn`` is how fast the rates change."""
    if p[at.SETUP] == 0.0 and m[at.HOSE_FULL] < 0.5 and rates[at.FRONT] != 0.0:
        first = at.PARAMETERS + 2
        for i in range(int(p[at.PROFILE_COUNT]) - 2):
            h = cut(h, p[first + 2 * i], y[at.FRONT], rates[at.FRONT], turn[at.FRONT])
    water, rate, change = y[at.CASING_WATER], rates[at.CASING_WATER], turn[at.CASING_WATER]
    if rate != 0.0:
        volume = p[at.CASING_VOLUME]
        for fill in (p[at.LIP_FILL], p[at.BITE_FILL], TAKEOFF_LOW, 1.0 - 2.0 * CROWN):
            h = cut(h, fill * volume, water, rate, change)
    water, rate, change = y[at.LINE_WATER], rates[at.LINE_WATER], turn[at.LINE_WATER]
    if rate != 0.0:
        volume = p[at.LINE_VOLUME]
        for fill in (1.0 / p[at.LINE_LENGTH], LINE_SETTLED):
            h = cut(h, fill * volume, water, rate, change)
    first = at.PARAMETERS + 2 * int(p[at.PROFILE_COUNT]) + 2 * int(p[at.LEAK_COUNT])
    for i in range(int(p[at.RAMP_COUNT])):
        for column in (1, 2):
            h = cut(h, p[first + at.RAMP_WIDTH * i + column], y[at.CLOCK], 1.0, 0.0)
    return h
