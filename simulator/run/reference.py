"""A slow, tight and independent integration of the same equations, to check the fast one against.

SciPy's Radau IIA of order 5 (or its BDF) follows the equations to a relative tolerance of 1e-9, piece by piece between
exactly located events. For validation only: a run takes seconds.
"""

from __future__ import annotations

from dataclasses import replace

from scipy.integrate import BDF, Radau

from simulator.errors import InputError
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site
from simulator.run import layout as at
from simulator.run.ejection import assembly_table
from simulator.run.outcome import judge, prime_time
from simulator.run.parameters import pack
from simulator.run.piecewise import Piecewise
from simulator.run.result import ControlStep, Run
from simulator.run.simulate import STARTED, balance, channels, fit_to_set_up, joints_reached, simulate
from simulator.run.state import State, rest_state

RTOL = 1e-9
LONGEST_STEP = 1.0  # [s]
LOOKS = 4  # places within a step at which events are looked for
SOLVERS = {"radau": Radau, "bdf": BDF}


def reference_run(
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
    method: str = "radau",
) -> Run:
    """A run as :func:`~simulator.run.simulate` gives it, computed by a reference solver.

    Parameters
    ----------
    rtol : relative tolerance [-]; the absolute ones go with it.
    method : "radau" or "bdf".
    others : as for ``simulate``; times in [s].

    Raises
    ------
    InputError : there is no such method, or an argument ``simulate`` refuses.
    RunFailed : the solver gave up.
    """
    if method not in SOLVERS:
        raise InputError(f"there is no method {method!r}", "method", " or ".join(SOLVERS))
    fast = simulate(
        rig,
        site,
        controls=controls,
        duration=duration,
        start=start,
        start_time=start_time,
        setup=setup,
        ramps=ramps,
        gas_exponent=gas_exponent,
    )
    p = pack(rig, site, setup, ramps, gas_exponent)
    table = assembly_table(p)
    begin = start.copy() if start is not None else rest_state(rig, site, p)
    fit_to_set_up(begin, p)
    work = Piecewise(
        SOLVERS[method], method, p, table, begin, fast.time, fast.controls, rtol, LONGEST_STEP, LOOKS
    )
    path = work.run()
    series = channels(path, p, table)
    joints = joints_reached(rig, series[at.C_FRONT], fast.time)
    first = prime_time(fast.time, series[at.C_DISCHARGE_FLOW], fast.steady_flow)
    return replace(
        fast,
        series=series,
        states=path.states,
        modes=path.modes,
        relief_pops=path.pops,
        events=tuple(sorted((*path.events, *joints), key=lambda event: event.time)),
        outcome=judge(fast.time, series, fast.controls, first, fast.steady_flow, p),
        prime_time=first,
        balance=balance(begin, path.final, p),
        solver=path.solver,
    )
