"""The equations driven by one of SciPy's solvers, piece by piece between events.

A piece ends exactly where an event is due or a control changes; the jump is made and a fresh solver starts. Which
solver, how tightly, and how closely each step is searched for events is the caller's choice.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from simulator.compiled import PLAIN
from simulator.errors import RunFailed
from simulator.run import layout as at
from simulator.run.equations import evaluate
from simulator.run.events import KINDS, NOTHING, RELIEF_POP, due, jump
from simulator.run.result import ControlStep, Event, SolverStatistics
from simulator.run.state import State, absolute_tolerances
from simulator.run.trajectory import MAX_EVENTS, Trajectory

if TYPE_CHECKING:
    from scipy.integrate import OdeSolver

LOCATED = 1e-7  # [s] to which an event is located
MAX_STEPS = 400_000
AT_ONCE = 8  # events one after another at the same instant


class Piecewise:
    """One integration over the grid times [s]; :meth:`run` does it.

    Parameters
    ----------
    solver : one of SciPy's solver classes; ``name`` is how the statistics call it.
    p, table : parameters and ejector table. start : state and modes at the first grid time.
    controls : engine speeds wanted from a time [s] on. rtol : relative tolerance [-].
    longest : step [s]. looks : places within each step at which an event is looked for, its end included.
    """

    def __init__(
        self,
        solver: type[OdeSolver],
        name: str,
        p: np.ndarray,
        table: tuple[np.ndarray, np.ndarray],
        start: State,
        grid: np.ndarray,
        controls: tuple[ControlStep, ...],
        rtol: float,
        longest: float,
        looks: int = 1,
    ) -> None:
        self.solver, self.name = solver, name
        self.p = p.tolist() if PLAIN else p  # plain Python reads lists of floats far faster than arrays
        self.grid, self.rtol = grid, rtol
        self.dead, self.flow = table
        self.longest, self.looks = longest, looks
        self.y, self.m = start.y.copy(), start.modes.copy()
        self.controls = [step for step in controls if step.time <= grid[-1]]
        self.states = np.empty((len(grid), at.STATES))
        self.modes = np.empty((len(grid), at.MODES))
        self.pops = np.zeros(len(grid))
        self.atol = absolute_tolerances(p) * (rtol / 1e-6)
        self.dy: Any = np.zeros(at.STATES)
        self.ch: Any = np.zeros(len(at.CHANNELS))
        if PLAIN:
            self.dy, self.ch = self.dy.tolist(), self.ch.tolist()
        self.events: list[Event] = []
        self.steps = self.evaluations = self.pop_count = self.filled = 0

    def rates(self, t: float, y: np.ndarray) -> np.ndarray:
        """Rates of the state in the present modes; the clock is a state, so t [s] does not enter."""
        if PLAIN:
            plain: Any = [0.0] * at.STATES
            evaluate(y.tolist(), self.p, self.m.tolist(), self.dead, self.flow, plain, self.ch)
            return np.array(plain)
        dy = np.empty(at.STATES)
        evaluate(y, self.p, self.m, self.dead, self.flow, dy, self.ch)
        return dy

    def code(self, y: Any) -> int:
        """Code of the event that is due in a state."""
        m = self.m
        if PLAIN:
            y, m = y.tolist(), m.tolist()
        evaluate(y, self.p, m, self.dead, self.flow, self.dy, self.ch)
        return int(due(y, self.p, m, self.ch))

    def run(self) -> Trajectory:
        """Follow the rig to the end of the grid.

        Raises
        ------
        RunFailed : the solver gave up, or events came without end.
        """
        t, end = float(self.grid[0]), float(self.grid[-1])
        while self.controls and self.controls[0].time <= t:
            self.control()
        self.settle(t)
        self.record(t, None)
        while t < end:
            stop = min(end, self.controls[0].time) if self.controls else end
            t = self.advance(t, stop)
            while self.controls and self.controls[0].time <= t:
                self.control()
        self.record(end, None)
        solver = SolverStatistics(self.name, self.steps, self.evaluations, len(self.events))
        final = State(self.y.copy(), self.m.copy())
        return Trajectory(self.states, self.modes, self.pops, tuple(self.events), solver, final)

    def control(self) -> None:
        """Take over the next control setting."""
        step = self.controls.pop(0)
        self.m[at.SPEED_SETTING], self.m[at.COCK_SETTING] = step.speed, float(step.cock_open)

    def settle(self, t: float) -> None:
        """Apply every event that is due right now, at t [s]."""
        for _ in range(AT_ONCE):
            code = self.code(self.y)
            if code == NOTHING:
                return
            jump(code, self.y, self.p, self.m)
            self.pop_count += code == RELIEF_POP
            self.events.append(Event(t, KINDS[code]))
        if len(self.events) > MAX_EVENTS:
            raise RunFailed(f"more than {MAX_EVENTS} events by {t:.3f} s")

    def advance(self, t: float, stop: float) -> float:
        """Integrate in the present modes from t until an event or ``stop`` [s]; returns the time reached."""
        solver = self.solver(
            self.rates, t, self.y, stop, rtol=self.rtol, atol=self.atol, max_step=self.longest
        )
        while solver.status == "running":
            message = solver.step()
            self.steps += 1
            if solver.status == "failed" or not np.all(np.isfinite(solver.y)) or self.steps > MAX_STEPS:
                raise RunFailed(
                    f"the integrator stopped at {solver.t:.3f} s in modes {self.m.tolist()}: {message}"
                )
            bracket = self.search(solver)
            if bracket is not None:
                self.evaluations += solver.nfev
                return self.locate(solver, *bracket)
            self.record(solver.t, solver)
        self.evaluations += solver.nfev
        self.y = solver.y.copy()
        self.settle(stop)
        return stop

    def search(self, solver: Any) -> tuple[float, float] | None:
        """Times [s] before and after the first event in the last step, None without one."""
        if self.looks == 1:
            return (solver.t_old, solver.t) if self.code(solver.y) != NOTHING else None
        dense = solver.dense_output()
        times = [float(time) for time in np.linspace(solver.t_old, solver.t, self.looks + 1)]
        for low, high in pairwise(times):
            if self.code(solver.y if high == times[-1] else dense(high)) != NOTHING:
                return low, high
        return None

    def locate(self, solver: Any, low: float, high: float) -> float:
        """Halve until the event between low and high [s] is pinned down, then jump."""
        dense = solver.dense_output()
        while high - low > LOCATED:
            middle = 0.5 * (low + high)
            if self.code(dense(middle)) != NOTHING:
                high = middle
            else:
                low = middle
        self.record(low, solver)
        self.y = dense(high)
        self.settle(high)
        return high

    def record(self, t: float, solver: Any) -> None:
        """Fill the grid points up to and including t [s], from the solver's last step or the present state."""
        last = int(np.searchsorted(self.grid, t + 1e-9, side="right"))
        if last <= self.filled:
            return
        rows = slice(self.filled, last)
        self.states[rows] = self.y if solver is None else solver.dense_output()(self.grid[rows]).T
        self.modes[rows] = self.m
        self.pops[rows] = self.pop_count
        self.filled = last
