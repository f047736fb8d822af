"""Integration of the equations: by the compiled integrator where there is a compiler, else by LSODA."""

from __future__ import annotations

import numpy as np
import scipy  # its parts are loaded when they are first asked for: a lesson does without 50 MB of them

from simulator.compiled import PLAIN
from simulator.errors import InputError, RunFailed
from simulator.run import layout as at
from simulator.run import stiff_integrator
from simulator.run.events import KINDS
from simulator.run.lsoda import integrate_lsoda
from simulator.run.piecewise import Piecewise
from simulator.run.result import ControlStep, Event, SolverStatistics
from simulator.run.state import State, absolute_tolerances
from simulator.run.trajectory import MAX_EVENTS, Trajectory

RTOL = 3e-6
LSODA_SHARE = 0.1  # LSODA keeps its errors to about ten times what it is asked for
MAX_STEPS = 400_000
REFERENCES = {"radau": "Radau", "bdf": "BDF"}  # SciPy's: slow and independent, to check the others against
REFERENCE_STEP, REFERENCE_LOOKS = (
    1.0,
    4,
)  # longest step [s], and places within one at which events are looked for
METHODS = ("rodas", "lsoda", *REFERENCES)


def integrate(
    p: np.ndarray,
    table: tuple[np.ndarray, np.ndarray],
    start: State,
    grid: np.ndarray,
    controls: tuple[ControlStep, ...],
    rtol: float = RTOL,
    method: str = "",
) -> Trajectory:
    """Follow the rig over the grid times [s].

    Parameters
    ----------
    p, table : parameters and ejector table (see pack and assembly_table).
    start : state and modes at the first grid time.
    controls : engine speeds wanted from a time [s] on.
    rtol : relative tolerance [-]; pressures come out within some ten times this share of the atmosphere.
    method : "rodas", "lsoda", "radau" or "bdf"; empty for the best there is.

    Raises
    ------
    InputError : there is no such method.
    RunFailed : the integrator gave up, or events came without end.
    """
    method = method or ("lsoda" if PLAIN else "rodas")
    if method not in METHODS:
        raise InputError(f"there is no method {method!r}", "method", " or ".join(METHODS))
    if method == "lsoda":
        return integrate_lsoda(p, table, start, grid, controls, rtol * LSODA_SHARE)
    if method in REFERENCES:
        solver = getattr(scipy.integrate, REFERENCES[method])
        longest, looks = REFERENCE_STEP, REFERENCE_LOOKS
        return Piecewise(solver, method, p, table, start, grid, controls, rtol, longest, looks).run()
    y, m = start.y.copy(), start.modes.copy()
    states, modes = np.empty((len(grid), at.STATES)), np.empty((len(grid), at.MODES))
    pops, events = np.zeros(len(grid)), np.zeros((MAX_EVENTS, 2))
    times = np.array([step.time for step in controls])
    settings = np.array([[step.speed, float(step.cock_open)] for step in controls]).reshape(-1, 2)
    atol = absolute_tolerances(p) * (rtol / 1e-6)
    status, reached, steps, evaluations, count = stiff_integrator.march(
        y, m, p, *table, grid, times, settings, rtol, atol, MAX_STEPS, states, modes, pops, events
    )
    if status != stiff_integrator.WENT_WELL or not np.all(np.isfinite(states)):
        why = {
            stiff_integrator.TOO_SMALL: "its step became too small",
            stiff_integrator.TOO_MANY: "it needed too many steps",
        }
        raise RunFailed(
            f"the integrator stopped at {reached:.3f} s in modes {m.tolist()}: "
            f"{why.get(status, 'a value is not finite')}"
        )
    happened = tuple(Event(float(time), KINDS[int(code)]) for time, code in events[:count])
    work = SolverStatistics("rodas", int(steps), int(evaluations), int(count))
    return Trajectory(states, modes, pops, happened, work, State(y, m))
