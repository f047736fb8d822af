"""A compiled linearly implicit integrator for the run's equations, with events and an even output grid.

Method: RODAS of Hairer and Wanner, Solving Ordinary Differential Equations II (2nd ed. 1996), section IV.7: six stages,
order 4 with embedded order 3, stiffly accurate and L-stable, dense output of order 3. The Jacobian comes from one-sided
differences over the states the rates depend on; the integrated boundary flows feed nothing back.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.compiled import compiled
from simulator.run import layout as at
from simulator.run.equations import evaluate
from simulator.run.events import NOTHING, RELIEF_POP, due, jump
from simulator.run.layout import Array

GAMMA = 0.25
STAGES = 6
#: Weights of the earlier stages in the state each stage is evaluated at.
A = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [1.544000000000000, 0.0, 0.0, 0.0, 0.0],
        [0.9466785280815826, 0.2557011698983284, 0.0, 0.0, 0.0],
        [3.314825187068521, 2.896124015972201, 0.9986419139977817, 0.0, 0.0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0.0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0],
    ]
)
#: Weights of the earlier stages, over the step, on the right-hand side.
C = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [-5.668800000000000, 0.0, 0.0, 0.0, 0.0],
        [-2.430093356833875, -0.2063599157091915, 0.0, 0.0, 0.0],
        [-0.1073529058151375, -9.594562251023355, -20.47028614809616, 0.0, 0.0],
        [7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0.0],
        [8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054],
    ]
)
#: Dense output.
D2 = np.array(
    [10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662]
)
D3 = np.array(
    [-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872]
)

ACTIVE = at.AIR_IN  # states before this one enter the rates; those from it on are integrals
N = at.STATES
SAFETY, SHRINK, GROW = 0.9, 0.2, 5.0
FIRST_STEP, LEAST_STEP, LONGEST_STEP = 1e-3, 1e-11, 4.0  # [s]
LOCATED = 1e-7  # [s]
FAILED = 1e9  # error of a step that could not be made
WENT_WELL, TOO_SMALL, TOO_MANY, NOT_FINITE = range(4)


@compiled
def factorise(matrix: Array, pivots: Array) -> bool:
    """LU factors of a small dense matrix with row pivoting, in place; False where it is singular."""
    n = matrix.shape[0]
    for k in range(n):
        best, row = abs(matrix[k, k]), k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > best:
                best, row = abs(matrix[i, k]), i
        pivots[k] = row
        if best == 0.0 or not math.isfinite(best):
            return False
        if row != k:
            for j in range(n):
                held = matrix[k, j]
                matrix[k, j] = matrix[row, j]
                matrix[row, j] = held
        for i in range(k + 1, n):
            if matrix[i, k] != 0.0:
                factor = matrix[i, k] / matrix[k, k]
                matrix[i, k] = factor
                for j in range(k + 1, n):
                    matrix[i, j] -= factor * matrix[k, j]
    return True


@compiled
def solve_stage(
    factors: Array, pivots: Array, jacobian: Array, shift: float, right: Array, out: Array
) -> None:
    """Solve (shift I - J) out = right: the active block by its factors, the integrals one by one."""
    n = factors.shape[0]
    for i in range(n):
        out[i] = right[i]
    for k in range(n):
        row = pivots[k]
        if row != k:
            held = out[k]
            out[k] = out[row]
            out[row] = held
    for i in range(1, n):
        total = out[i]
        for j in range(i):
            total -= factors[i, j] * out[j]
        out[i] = total
    for i in range(n - 1, -1, -1):
        total = out[i]
        for j in range(i + 1, n):
            total -= factors[i, j] * out[j]
        out[i] = total / factors[i, i]
    for i in range(n, right.shape[0]):
        total = right[i]
        for j in range(n):
            total += jacobian[i, j] * out[j]
        out[i] = total / shift


@compiled
def moving(y: Array, rates: Array, p: Array, m: Array, atol: Array, wanted: Array) -> None:
    """Mark the states whose small changes can matter in the coming step; the others stand still by themselves."""
    for j in range(ACTIVE):
        wanted[j] = True
    wanted[at.CLOCK] = p[at.RAMP_COUNT] > 0.0
    wanted[at.HOSE_AIR] = m[at.SPLIT] > 0.5
    wanted[at.LINER_OPEN] = p[at.HAS_LINER] > 0.5
    wanted[at.TRAPPED_AIR] = p[at.HAS_CREST] > 0.5
    wanted[at.SPEED] = abs(rates[at.SPEED]) > atol[at.SPEED]
    wanted[at.DISCHARGE_FLOW] = m[at.NRV_OPEN] > 0.5
    for j in (at.CASING_WATER, at.LINE_WATER):
        wanted[j] = rates[j] != 0.0
    carried = rates[at.CARRIED_FIRST] > 0.0
    for j in (at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD):
        carried = carried or abs(y[j]) > 1e-3 * atol[j]
    for j in (at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD):
        wanted[j] = carried


@compiled
def differences(
    y: Array,
    rates: Array,
    p: Array,
    m: Array,
    dead: Array,
    flow: Array,
    atol: Array,
    wanted: Array,
    jacobian: Array,
    moved: Array,
    ch: Array,
) -> int:
    """Jacobian of the rates by one-sided differences, columns of the wanted states; returns how many."""
    count = 0
    for j in range(ACTIVE):
        if not wanted[j]:
            for i in range(N):
                jacobian[i, j] = 0.0
            continue
        count += 1
        held = y[j]
        step = 1e-7 * max(abs(held), 1e2 * atol[j])
        y[j] = held + step
        step = y[j] - held
        evaluate(y, p, m, dead, flow, moved, ch)
        y[j] = held
        for i in range(N):
            jacobian[i, j] = (moved[i] - rates[i]) / step
    return count


@compiled
def dense(share: float, old: Array, new: Array, c2: Array, c3: Array, out: Array) -> None:
    """State at a share (0 to 1) of the last step."""
    rest = 1.0 - share
    for i in range(N):
        out[i] = old[i] * rest + share * (new[i] + rest * (c2[i] + share * c3[i]))


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
    k = np.empty((STAGES, N))
    jacobian, w = np.zeros((N, ACTIVE)), np.empty((ACTIVE, ACTIVE))
    pivots = np.zeros(ACTIVE, dtype=np.int64)
    wanted = np.ones(ACTIVE, dtype=np.bool_)
    rates, moved, ch = np.empty(N), np.empty(N), np.empty(len(at.CHANNELS))
    trial, old, right, c2, c3, inside = (
        np.empty(N),
        np.empty(N),
        np.empty(N),
        np.empty(N),
        np.empty(N),
        np.empty(N),
    )
    t, end = grid[0], grid[-1]
    step, filled, pop_count, happened = FIRST_STEP, 0, 0.0, 0
    steps, evaluations = 0, 0
    next_control = 0
    fresh = True  # modes or controls just changed
    while True:
        if fresh:
            while next_control < control_times.shape[0] and control_times[next_control] <= t + 1e-12:
                m[at.SPEED_SETTING] = control_settings[next_control, 0]
                m[at.COCK_SETTING] = control_settings[next_control, 1]
                next_control += 1
            for _ in range(8):
                evaluate(y, p, m, dead, flow, rates, ch)
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
        evaluate(y, p, m, dead, flow, rates, ch)
        moving(y, rates, p, m, atol, wanted)
        evaluations += 1 + differences(y, rates, p, m, dead, flow, atol, wanted, jacobian, moved, ch)
        for i in range(N):
            old[i] = y[i]
        while True:  # tries at this step
            if steps >= most_steps:
                return TOO_MANY, t, steps, evaluations, happened
            steps += 1
            h = min(step, LONGEST_STEP)
            last = t + h >= stop - 1e-10
            if last:
                h = stop - t
            shift = 1.0 / (h * GAMMA)
            for i in range(ACTIVE):
                for j in range(ACTIVE):
                    w[i, j] = -jacobian[i, j]
                w[i, i] += shift
            error = FAILED
            if factorise(w, pivots):
                for stage in range(STAGES):
                    for i in range(N):
                        total, push = 0.0, 0.0
                        for j in range(stage):
                            total += A[stage, j] * k[j, i]
                            push += C[stage, j] * k[j, i]
                        trial[i] = old[i] + total
                        right[i] = push / h
                    if stage > 0:
                        evaluate(trial, p, m, dead, flow, moved, ch)
                    for i in range(N):
                        right[i] += moved[i] if stage > 0 else rates[i]
                    solve_stage(w, pivots, jacobian, shift, right, k[stage])
                evaluations += STAGES - 1
                total = 0.0
                for i in range(N):
                    trial[i] += k[STAGES - 1, i]
                    if i < ACTIVE:
                        scale = atol[i] + rtol * max(abs(old[i]), abs(trial[i]))
                        total += (k[STAGES - 1, i] / scale) ** 2
                error = math.sqrt(total / ACTIVE)
                if not math.isfinite(error):
                    error = FAILED
            factor = min(GROW, max(SHRINK, SAFETY * max(error, 1e-10) ** -0.25))
            if error <= 1.0:
                break
            step = h * factor
            if step < LEAST_STEP:
                return TOO_SMALL, t, steps, evaluations, happened
        for i in range(N):
            c2[i], c3[i] = 0.0, 0.0
            for j in range(STAGES - 1):
                c2[i] += D2[j] * k[j, i]
                c3[i] += D3[j] * k[j, i]
        reached = t + h
        evaluate(trial, p, m, dead, flow, moved, ch)
        evaluations += 1
        found = due(trial, p, m, ch)
        if found != NOTHING:
            low, high = 0.0, 1.0
            while (high - low) * h > LOCATED:
                middle = 0.5 * (low + high)
                dense(middle, old, trial, c2, c3, inside)
                evaluate(inside, p, m, dead, flow, moved, ch)
                evaluations += 1
                if due(inside, p, m, ch) != NOTHING:
                    high = middle
                else:
                    low = middle
            reached = t + high * h
            fresh = True
            dense(high, old, trial, c2, c3, y)
        else:
            fresh = last
            for i in range(N):
                y[i] = trial[i]
            if last:
                reached = stop
        while filled < grid.shape[0] and grid[filled] < reached - (1e-9 if fresh else -1e-9):
            dense((grid[filled] - t) / h, old, trial, c2, c3, inside)
            for i in range(N):
                states[filled, i] = inside[i]
            for i in range(at.MODES):
                modes[filled, i] = m[i]
            pops[filled] = pop_count
            filled += 1
        t = reached
        step = h * factor
        if found != NOTHING:
            step = min(step, 0.05)


@compiled
def fill_channels(states: Array, modes: Array, p: Array, dead: Array, flow: Array, series: Array) -> None:
    """Channels (channels, n) of the states on the grid, in place."""
    rates, ch = np.empty(N), np.empty(len(at.CHANNELS))
    for i in range(states.shape[0]):
        evaluate(states[i], p, modes[i], dead, flow, rates, ch)
        for j in range(ch.shape[0]):
            series[j, i] = ch[j]
