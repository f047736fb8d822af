"""The front door: one rig at one site, started and left to run.

Arguments, the same throughout: ``p`` packed parameters in SI units; ``table`` the two tables of
``run.ejection``; ``controls`` steps of the controls; ``start``, ``start_time`` state at the beginning and its
time [s]; ``setup``, ``ramps`` how the rig is set up and what changes meanwhile; ``gas_exponent`` 1 for
isothermal [-]; ``rtol`` relative tolerance [-]; ``method`` which integrator; ``state`` a state to be fitted;
``grid`` times of the output [s]; ``begin``, ``end`` states between which is balanced.
``InputError`` is raised for what cannot be run.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.compiled import PLAIN
from simulator.errors import InputError
from simulator.rig.onset import stages
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site
from simulator.run import layout as at
from simulator.run.ejection import assembly_table
from simulator.run.equations import evaluate
from simulator.run.integrate import RTOL, integrate
from simulator.run.outcome import (
    T_DISCHARGE_FLOW,
    T_FRONT,
    judge,
    outcome_signals,
    prime_time,
)
from simulator.run.parameters import design_flow, pack
from simulator.run.result import STEP, Balance, ControlStep, Event, Outcome, Run
from simulator.run.state import State, rest_state
from simulator.run.stiff_integrator import fill_channels
from simulator.run.trajectory import Trajectory, joined

STARTED: tuple[ControlStep, ...] = (ControlStep(0.0, 1.0),)
LONGEST = 3600.0  # [s]


def simulate(
    rig: Rig,
    site: Site,
    *,
    controls: tuple[ControlStep, ...] = STARTED,
    duration: float = 300.0,
    start: State | None = None,
    start_time: float = 0.0,
    setup: at.Setup = at.Setup.NORMAL,
    ramps: tuple[Ramp, ...] = (),
    gas_exponent: float = 1.0,
    rtol: float = RTOL,
    method: str = "",
) -> Run:
    """Run a rig.

    Parameters
    ----------
    rig, site : what runs and where.
    controls : engine speed wanted from a time on, in order of time; the default starts it at once at rated speed.
    duration : [s], 0.1 to 3600, counted from ``start_time``.
    start : the state to begin in; by default everything at rest and dry.
    start_time : [s] at which the series begin, a multiple of 0.1 s.
    setup : hose in the water, plate on the flange, or capped hose.
    ramps : quantities that change during the run, beside those of the rig itself.
    gas_exponent : 1.0 isothermal to 1.4 adiabatic [-].
    rtol : relative tolerance of the integrator [-].
    method : "rodas", "lsoda", "radau", "bdf" or empty for the best there is.

    Raises
    ------
    InputError : a duration or control that makes no sense.
    RunFailed : the integrator could not go on.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0)
    >>> run.outcome.code
    'primed'
    """
    course = follow(
        rig,
        site,
        controls=controls,
        duration=duration,
        start=start,
        start_time=start_time,
        setup=setup,
        ramps=ramps,
        gas_exponent=gas_exponent,
        rtol=rtol,
        method=method,
    )
    series = course.series()
    return Run(
        rig=rig,
        site=site,
        setup=setup,
        time=course.grid,
        series=series,
        states=course.path.states,
        modes=course.path.modes,
        relief_pops=course.path.pops,
        events=course.events,
        outcome=course.outcome,
        prime_time=course.prime_time,
        steady_flow=course.steady_flow,
        balance=course.balance,
        solver=course.path.solver,
        controls=course.controls,
    )


#: Part of a run with the same parameters: first grid point, the one behind its last, parameters, table.
Stretch = tuple[int, int, np.ndarray, tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True)
class Course:
    """A run followed to its end, before its channels are worked out; SI. ``prime_time`` [s], ``steady_flow`` [m3/s]."""

    p: np.ndarray
    stretches: tuple[Stretch, ...]  # one, but for a rig in which something comes late
    grid: np.ndarray  # (n,) [s]
    path: Trajectory
    controls: tuple[ControlStep, ...]
    events: tuple[Event, ...]
    outcome: Outcome
    prime_time: float
    steady_flow: float
    balance: Balance

    def series(self, stride: int = 1) -> np.ndarray:
        """The channels, shape (channels, n), of every ``stride``-th grid point [-]."""
        states, modes = self.path.states[::stride].copy(), self.path.modes[::stride].copy()
        parts = []
        for first, last, p, table in self.stretches:
            own = slice(-(-first // stride), -(-last // stride))
            parts.append(channels(states[own], modes[own], p, table))
        return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)


def follow(
    rig: Rig,
    site: Site,
    *,
    controls: tuple[ControlStep, ...] = STARTED,
    duration: float = 300.0,
    start: State | None = None,
    start_time: float = 0.0,
    setup: at.Setup = at.Setup.NORMAL,
    ramps: tuple[Ramp, ...] = (),
    gas_exponent: float = 1.0,
    rtol: float = RTOL,
    method: str = "",
) -> Course:
    """The course of a run and how it ended; arguments and errors as :func:`simulate`.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> follow(load_rig("osier"), standard_site(), duration=90.0).outcome.code
    'primed'
    """
    if not STEP <= duration <= LONGEST:
        raise InputError(f"the duration is {duration!r} s", "duration", f"{STEP} to {LONGEST:g} s")
    times = [step.time for step in controls]
    if times != sorted(times) or any(not 0.0 <= step.speed <= 1.2 for step in controls):
        raise InputError(
            "the engine controls are not in order or out of range", "controls", "speed 0 to 1.2 of rated"
        )
    if not 1.0 <= gas_exponent <= 1.4:
        raise InputError(f"the polytropic exponent is {gas_exponent!r}", "gas_exponent", "1.0 to 1.4")
    count = round(duration / STEP) + 1
    grid = start_time + STEP * np.arange(count)
    begun = 0 if start is None else round(float(start.y[at.CLOCK]) / STEP)
    paths: list[Trajectory] = []
    told_parts: list[np.ndarray] = []
    stretches: list[Stretch] = []
    begin = state = start
    for one, two, now, here in stages(rig, site, begun, begun + count - 1):
        p = pack(now, here, setup, (*now.ramps, *ramps), gas_exponent)
        governed = tuple(
            ControlStep(s.time, min(s.speed, now.engine.speed_setting), s.cock_open) for s in controls
        )
        table = assembly_table(p)
        state = state.copy() if state is not None else rest_state(now, here, p)
        fit_to_set_up(state, p)
        begin = state if not paths else begin
        left, right = one - begun, two - begun
        path = integrate(p, table, state, grid[left : right + 1], governed, rtol, method)
        until = (
            right + 1 if right == count - 1 else right
        )  # the last point of a stretch is the next one's first
        told_parts.append(outcome_signals(path.states, path.modes, p)[:, : until - left])
        stretches.append((left, until, p, table))
        paths.append(path)
        state = path.final
    assert begin is not None
    path, told = joined(paths), np.concatenate(told_parts, axis=1)
    p, rig, site = stretches[0][2], now, here
    events = tuple(sorted((*path.events, *joints_reached(rig, told[T_FRONT], grid)), key=lambda e: e.time))
    wanted = design_flow(rig, site)
    first = prime_time(grid, told[T_DISCHARGE_FLOW], wanted)
    return Course(
        p=p,
        stretches=tuple(stretches),
        grid=grid,
        path=path,
        controls=governed,
        events=events,
        outcome=judge(grid, told, governed, first, wanted, p),
        prime_time=first,
        steady_flow=wanted,
        balance=balance(begin, path.final, p),
    )


def fit_to_set_up(state: State, p: np.ndarray) -> None:
    """A changed rig may have gained or lost the loose liner: let the pockets follow, mass kept."""
    split = bool(p[at.HAS_LINER] > 0.5)
    if state.modes[at.SPLIT] > 0.5 and not split:
        state.y[at.CASING_AIR] += state.y[at.HOSE_AIR]
        state.y[at.HOSE_AIR] = 0.0
        state.modes[at.SPLIT] = 0.0
        state.y[at.LINER_OPEN] = 1.0


def channels(
    states: np.ndarray, modes: np.ndarray, p: np.ndarray, table: tuple[np.ndarray, np.ndarray]
) -> np.ndarray:
    """Channel series (channels, n) of states (n, states) and modes (n, modes)."""
    series = np.empty((len(at.CHANNELS), len(states)))
    if PLAIN:  # lists of floats are read far faster than arrays there
        rates: Any = [0.0] * at.STATES
        ch: Any = [0.0] * len(at.CHANNELS)
        parameters = p.tolist()
        for i, (y, m) in enumerate(zip(states.tolist(), modes.tolist(), strict=True)):
            evaluate(y, parameters, m, *table, rates, ch)
            series[:, i] = ch
    else:
        fill_channels(states, modes, p, *table, series)
    return series


def joints_reached(rig: Rig, front: np.ndarray, grid: np.ndarray) -> list[Event]:
    """When the water front first passes each joint."""
    out = []
    for number, joint in enumerate(rig.suction_hose.joints):
        above = np.flatnonzero(front >= joint.position)
        if len(above) and above[0] > 0:
            i = above[0]
            share = (joint.position - front[i - 1]) / (front[i] - front[i - 1])
            out.append(Event(float(grid[i - 1] + share * STEP), "front_at_joint", number))
    return out


def balance(begin: State, end: State, p: np.ndarray) -> Balance:
    """Closure of air, water and motive air from the boundary flows integrated beside the contents."""
    first, last = begin.y, end.y

    def error(stored: dict[int, float], into: int, out: int) -> float:
        gained = sum(weight * (last[i] - first[i]) for i, weight in stored.items())
        passed_in, passed_out = last[into] - first[into], last[out] - first[out]
        held = sum(abs(weight * first[i]) for i, weight in stored.items())
        scale = max(abs(passed_in), abs(passed_out), held, 1e-9)
        return float((gained - passed_in + passed_out) / scale)

    return Balance(
        air_error=error(
            {
                at.HOSE_AIR: 1.0,
                at.CASING_AIR: 1.0,
                at.CARRIED_FIRST: 1.0,
                at.CARRIED_SECOND: 1.0,
                at.CARRIED_THIRD: 1.0,
                at.TRAPPED_AIR: 1.0,
            },
            at.AIR_IN,
            at.AIR_OUT,
        ),
        water_error=error(
            {at.FRONT: p[at.BORE_AREA], at.CASING_WATER: 1.0, at.LINE_WATER: 1.0}, at.WATER_IN, at.WATER_OUT
        ),
        motive_error=error({at.RECEIVER_AIR: 1.0}, at.MOTIVE_IN, at.MOTIVE_OUT),
    )
