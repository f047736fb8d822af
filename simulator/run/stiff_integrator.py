"""The compiled integrator of the run's equations, with events and an even output grid.

Steps are those of :mod:`simulator.run.rosenbrock_step`, their length by the predictive control of Gustafsson, ACM
Transactions on Mathematical Software 20 (1994) 496. The Jacobian comes from one-sided differences over the states that
move. A step ends where the equations bend, and at an event it is made again to end there; a relief valve that pops is
met on the curve within the step, which its pressure follows as closely, as it does so hundreds of times in a run.

Arguments, the same throughout: ``y``, ``rates`` state in SI units and its rates of change [unit of the state,
1/s]; ``p``, ``m``, ``ch`` parameters, modes and channels as ``run.layout`` names them; ``dead``, ``flow``
tables of ``run.ejection``; ``atol``, ``rtol`` absolute [unit of the state] and relative [-] tolerance;
``scale`` what an error is measured by [unit of the state]; ``moving`` which parts of the state change; ``n``
how many parts the state has; ``jacobian`` derivatives of the rates [1/s]; ``moved`` room for a state that is
a little off; ``before``, ``after`` state before and after a step; ``old``, ``new``, ``c`` its ends and the
weights of the curve between them; ``inside`` room for the state at an event; ``h`` length of a step [s];
``control_times``, ``control_settings`` when [s] and to what the controls are set; ``most_steps`` after which
it gives up [-]; ``modes``, ``series`` modes and channels at each time.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.compiled import compiled
from simulator.run import layout as at
from simulator.run.equations import evaluate
from simulator.run.events import NOTHING, RELIEF_POP, RELIEF_SEAT, due, jump, margin
from simulator.run.kinks import before_next_bend
from simulator.run.layout import Array
from simulator.run.pockets import gas_volumes
from simulator.run.rosenbrock_step import ACTIVE, STAGES, N, dense, dense_weights, stages

SAFETY, POWER = 0.9, 0.2
SHRINK, GROW = 0.2, 6.0
FIRST_STEP, MIN_STEP, LONGEST_STEP = 1e-3, 1e-11, 10.0  # [s]
AFTER_EVENT = 0.1  # [s] longest first step
LOCATED = 1e-7  # [s]
BEYOND_PHASE = 1.1  # of the time that the relief valve last stood as it does now: where it should have moved
LEAST_OF_PHASE = 0.3  # share of that time under which no step is cut for it
AT_ONCE = 8  # events one after another at the same instant
REFERENCE_VELOCITY = 1.0  # [m/s] in the hose
NEAR = 0.2  # [m]: the front is held to a share of this
MIN_AIR = 1e-3  # share of the usual absolute tolerance that holds for the last air in the casing
CARRIED = 0.05  # the same of the air on its way in the water
FAILED = 1e9  # error of a step that could not be made
WENT_WELL, TOO_SMALL, TOO_MANY = range(3)


@compiled
def find_moving(y: Array, rates: Array, p: Array, m: Array, atol: Array, moving: Array) -> int:
    """List the states whose small changes can matter in the coming step; the others stand still by themselves.

    Returns how many there are.
    """
    n = 0
    carried = rates[at.CARRIED_FIRST] != 0.0
    for j in (at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD):
        carried = carried or y[j] != 0.0
    for j in range(ACTIVE):
        wanted = True
        if j == at.CLOCK:
            wanted = p[at.RAMP_COUNT] > 0.0
        elif j == at.HOSE_AIR:
            wanted = m[at.SPLIT] > 0.5
        elif j == at.LINER_OPEN:
            wanted = p[at.HAS_LINER] > 0.5
        elif j == at.TRAPPED_AIR:
            wanted = p[at.HAS_CREST] > 0.5
        elif j == at.SPEED:
            wanted = abs(rates[j]) > atol[j]
        elif j == at.DISCHARGE_FLOW:
            wanted = m[at.NRV_OPEN] > 0.5
        elif j == at.CASING_WATER or j == at.LINE_WATER:
            wanted = rates[j] != 0.0
        elif at.CARRIED_FIRST <= j <= at.CARRIED_THIRD:
            wanted = carried
        if wanted:
            moving[n] = j
            n += 1
    return n


@compiled
def differences(
    y: Array,
    rates: Array,
    p: Array,
    m: Array,
    dead: Array,
    flow: Array,
    atol: Array,
    moving: Array,
    n: int,
    jacobian: Array,
    moved: Array,
    ch: Array,
) -> None:
    """Jacobian of the rates by one-sided differences; row j holds how all rates answer the j-th moving state."""
    for j in range(n):
        state = moving[j]
        held = y[state]
        step = 1e-7 * max(abs(held), 1e2 * atol[state])
        y[state] = held + step
        per_step = 1.0 / (y[state] - held)
        evaluate(y, p, m, dead, flow, moved, ch)
        y[state] = held
        for i in range(N):
            jacobian[j, i] = (moved[i] - rates[i]) * per_step


@compiled
def set_scale(y: Array, p: Array, m: Array, atol: Array, rtol: float, scale: Array) -> None:
    """One over the error allowed in each state that enters the rates.

    What counts is the pressure in the pockets: water is held to a share of the gas volume beside it, and slow flow no
    closer than the flow at REFERENCE_VELOCITY.
    """
    for i in range(ACTIVE):
        scale[i] = atol[i] + rtol * abs(y[i])
    _, volume = gas_volumes(y, p, m)
    volume = max(volume, p[at.HOSE_GIVE] * p[at.ATMOSPHERE])
    scale[at.CASING_AIR] = rtol * abs(y[at.CASING_AIR]) + MIN_AIR * atol[at.CASING_AIR]
    for i in (at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD):
        scale[i] = rtol * abs(y[i]) + CARRIED * atol[i]
    scale[at.CASING_WATER] = rtol * volume
    scale[at.FRONT] = rtol * min(volume / p[at.BORE_AREA], NEAR)
    usual = REFERENCE_VELOCITY * p[at.BORE_AREA]
    scale[at.SUCTION_FLOW] = rtol * max(usual, abs(y[at.SUCTION_FLOW]))
    scale[at.DISCHARGE_FLOW] = rtol * max(usual, abs(y[at.DISCHARGE_FLOW]))
    for i in range(ACTIVE):
        scale[i] = 1.0 / scale[i]


@compiled
def error_norm(change: Array, scale: Array) -> float:
    """Root mean square of a change of the states that enter the rates, in shares of what is allowed [-]."""
    total = 0.0
    for i in range(ACTIVE):
        share = change[i] * scale[i]
        total += share * share
    error = math.sqrt(total / ACTIVE)
    return error if math.isfinite(error) else FAILED


@compiled
def turning(before: Array, after: Array, m: Array) -> float:
    """Share of a step at which a quantity that events hang on may have turned back, by its rates at both ends; else 1."""
    if m[at.NRV_OPEN] > 0.5 and before[at.DISCHARGE_FLOW] < 0.0 < after[at.DISCHARGE_FLOW]:
        return before[at.DISCHARGE_FLOW] / (before[at.DISCHARGE_FLOW] - after[at.DISCHARGE_FLOW])
    if before[at.RECEIVER_AIR] * after[at.RECEIVER_AIR] < 0.0:
        return before[at.RECEIVER_AIR] / (before[at.RECEIVER_AIR] - after[at.RECEIVER_AIR])
    return 1.0


@compiled
def locate(
    h: float,
    high: float,
    found: int,
    old: Array,
    new: Array,
    c: Array,
    p: Array,
    m: Array,
    dead: Array,
    flow: Array,
    rates: Array,
    ch: Array,
    inside: Array,
) -> tuple[float, int]:
    """Share of the step just behind the first event in it, and the evaluations it took; one is due at the share ``high``.

    Halving, led by the margin of the event that was found.
    """
    low, evaluations = 0.0, 2
    least = 0.4 * LOCATED / h
    dense(high, old, new, c, inside)
    evaluate(inside, p, m, dead, flow, rates, ch)
    above = margin(found, inside, p, m, ch)
    evaluate(old, p, m, dead, flow, rates, ch)
    below = margin(found, old, p, m, ch)
    side = 0
    while (high - low) * h > LOCATED:
        middle = 0.5 * (low + high)
        if evaluations < 12 and above > 0.0 > below:  # regula falsi, Illinois variant
            middle = low + (high - low) * below / (below - above)
            middle = min(max(middle, low + least), high - least)
        dense(middle, old, new, c, inside)
        evaluate(inside, p, m, dead, flow, rates, ch)
        evaluations += 1
        code = due(inside, p, m, ch)
        if code != NOTHING:
            high = middle
            if code != found:  # another one comes first
                found = code
                evaluate(old, p, m, dead, flow, rates, ch)
                low, below, side = 0.0, margin(found, old, p, m, ch), 0
                evaluate(inside, p, m, dead, flow, rates, ch)
            elif side == 1:
                below *= 0.5
            above, side = margin(found, inside, p, m, ch), 1
        else:
            low, below = middle, margin(found, inside, p, m, ch)
            if side == -1:
                above *= 0.5
            side = -1
    return high, evaluations


@compiled
def march(
    y: Array,
    m: Array,
    p: Array,
    dead: Array,
    flow: Array,
    grid: Array,
    control_times: Array,
    control_settings: Array,
    rtol: float,
    atol: Array,
    most_steps: int,
    states: Array,
    modes: Array,
    pops: Array,
    events: Array,
) -> tuple[int, float, int, int, int]:
    """Follow the rig over the grid; fills states, modes, pops and events (rows of time and code) in place.

    Returns (status, time reached, steps, evaluations, events). y and m hold the end state.
    """
    k, c = np.zeros((STAGES, N)), np.zeros((3, N))
    jacobian, w = np.zeros((ACTIVE, N)), np.empty((ACTIVE, ACTIVE))
    pivots, moving = np.zeros(ACTIVE, dtype=np.int64), np.zeros(ACTIVE, dtype=np.int64)
    rates, moved, ch = np.empty(N), np.empty(N), np.empty(len(at.CHANNELS))
    new, right, inside, turn = np.empty(N), np.empty(N), np.empty(N), np.zeros(N)
    short, scale, spare = np.empty(ACTIVE), np.empty(ACTIVE), np.empty(N)
    t, end = grid[0], grid[-1]
    step, filled, pop_count, happened = FIRST_STEP, 0, 0.0, 0
    steps, evaluations, next_control = 0, 0, 0
    last_step, last_error = 0.0, 0.0
    phases, turned, due_at = np.zeros(2), t, t  # [s] how long the relief valve was last shut and last open
    fresh = True  # modes or controls just changed
    while True:
        if fresh:
            while next_control < control_times.shape[0] and control_times[next_control] <= t + 1e-12:
                m[at.SPEED_SETTING] = control_settings[next_control, 0]
                m[at.COCK_SETTING] = control_settings[next_control, 1]
                next_control += 1
            code = RELIEF_POP
            for _ in range(AT_ONCE):
                evaluate(y, p, m, dead, flow, rates, ch)
                evaluations += 1
                code = due(y, p, m, ch)
                if code == NOTHING:
                    break
                jump(code, y, p, m)
                if code == RELIEF_POP:
                    pop_count += 1.0
                if happened >= events.shape[0]:
                    return TOO_MANY, t, steps, evaluations, happened
                events[happened, 0], events[happened, 1] = t, code
                happened += 1
            if code != NOTHING:
                evaluate(y, p, m, dead, flow, rates, ch)
            while filled < grid.shape[0] and grid[filled] <= t + 1e-9:
                for i in range(N):
                    states[filled, i] = y[i]
                for i in range(at.MODES):
                    modes[filled, i] = m[i]
                pops[filled] = pop_count
                filled += 1
            fresh = False
            if t >= end - 1e-9:
                return WENT_WELL, t, steps, evaluations, happened
        stop = end
        if next_control < control_times.shape[0]:
            stop = min(stop, control_times[next_control])
        n = find_moving(y, rates, p, m, atol, moving)
        differences(y, rates, p, m, dead, flow, atol, moving, n, jacobian, moved, ch)
        evaluations += n
        set_scale(y, p, m, atol, rtol, scale)
        if t < due_at:  # a valve that pops keeps time: no step far beyond its next move
            step = min(step, max(due_at - t, LEAST_OF_PHASE * (due_at - turned)))
        rejected, ended, last, found = False, False, False, NOTHING
        h, error, next_step = step, 0.0, step
        while True:  # tries at this step; ended: it is being made again to end at an event
            if steps >= most_steps:
                return TOO_MANY, t, steps, evaluations, happened
            steps += 1
            if not ended:
                h = before_next_bend(min(step, LONGEST_STEP), y, rates, turn, p, m)
                last = t + h >= stop - 1e-10
                if last:
                    h = stop - t
            error = FAILED
            if stages(
                h, y, rates, p, m, dead, flow, jacobian, moving, n, w, pivots, right, short, moved, ch, k, new
            ):
                error = error_norm(k[STAGES - 1], scale)
                evaluations += STAGES - 1
            if error > 1.0 and not ended:
                step = h * max(SAFETY * error**-POWER, SHRINK)
                rejected = True
                if step < MIN_STEP:
                    return TOO_SMALL, t, steps, evaluations, happened
                continue
            dense_weights(k, c)
            evaluate(new, p, m, dead, flow, moved, ch)
            evaluations += 1
            found = due(new, p, m, ch)
            share = 1.0
            if found == NOTHING and not ended:
                share = turning(rates, moved, m)
                if share < 1.0:
                    dense(share, y, new, c, inside)
                    evaluate(inside, p, m, dead, flow, spare, ch)
                    evaluations += 1
                    found = due(inside, p, m, ch)
            if found == NOTHING or ended:
                share = 1.0
                break
            share, more = locate(h, share, found, y, new, c, p, m, dead, flow, spare, ch, inside)
            evaluations += more
            last = False
            if found in (RELIEF_POP, RELIEF_SEAT):
                break
            h *= share
            ended, share = True, 1.0
        cut = share < 1.0
        error = max(error, 1e-10)
        factor = SAFETY * error**-POWER
        if last_error > 0.0:
            factor = min(factor, SAFETY * h / last_step * (error * error / last_error) ** -POWER)
        factor = min(max(factor, SHRINK), 1.0 if rejected else GROW)
        next_step = h * factor
        if h < step:  # cut short by a bend, a control or the end
            next_step = max(next_step, step)
        last_step, last_error = h, max(error, 1e-2)
        fresh = last or found != NOTHING
        reached = stop if last else t + h * share
        while filled < grid.shape[0] and grid[filled] < reached - (1e-9 if fresh else -1e-9):
            dense((grid[filled] - t) / h, y, new, c, inside)
            for i in range(N):
                states[filled, i] = inside[i]
            for i in range(at.MODES):
                modes[filled, i] = m[i]
            pops[filled] = pop_count
            filled += 1
        if cut:
            dense(share, y, new, c, inside)
            for i in range(N):
                y[i], turn[i] = inside[i], 0.0
        else:
            for i in range(N):
                turn[i] = (moved[i] - rates[i]) / h
                y[i], rates[i] = new[i], moved[i]
        t, step = reached, next_step
        if cut:
            was = 1 if found == RELIEF_SEAT else 0
            phases[was], turned = t - turned, t
            due_at = t + BEYOND_PHASE * phases[1 - was]
        if ended:
            step = min(step, AFTER_EVENT)
            last_error = 0.0
            for i in range(N):
                turn[i] = 0.0


@compiled
def fill_channels(states: Array, modes: Array, p: Array, dead: Array, flow: Array, series: Array) -> None:
    """Channels (channels, n) of the states on the grid, in place."""
    rates, ch = np.empty(N), np.empty(len(at.CHANNELS))
    for i in range(states.shape[0]):
        evaluate(states[i], p, modes[i], dead, flow, rates, ch)
        for j in range(ch.shape[0]):
            series[j, i] = ch[j]
