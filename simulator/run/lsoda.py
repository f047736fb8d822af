"""The same equations driven by SciPy's LSODA: the way without a compiler, and a second opinion with one."""

from __future__ import annotations

import threading

import numpy as np
from scipy.integrate import LSODA

from simulator.errors import RunFailed
from simulator.run import layout as at
from simulator.run.equations import evaluate
from simulator.run.events import KINDS, NOTHING, RELIEF_POP, due, jump
from simulator.run.result import ControlStep, Event, SolverStatistics
from simulator.run.state import State, absolute_tolerances
from simulator.run.trajectory import MOST_EVENTS, Trajectory

LOCATED = 1e-7  # [s] to which an event is located
MOST_STEPS = 400_000
LONGEST_STEP = 5.0  # [s], so that a brief event is not stepped over

_one_at_a_time = threading.Lock()  # LSODA keeps its working memory for the process


def integrate_lsoda(
    p: np.ndarray,
    table: tuple[np.ndarray, np.ndarray],
    start: State,
    grid: np.ndarray,
    controls: tuple[ControlStep, ...],
    rtol: float,
) -> Trajectory:
    """Follow the rig over the grid times [s] by LSODA.

    Raises
    ------
    RunFailed : the integrator gave up, or events came without end.
    """
    with _one_at_a_time:
        return _Integration(p, table, start, grid, controls, rtol).run()


class _Integration:
    def __init__(
        self,
        p: np.ndarray,
        table: tuple[np.ndarray, np.ndarray],
        start: State,
        grid: np.ndarray,
        controls: tuple[ControlStep, ...],
        rtol: float,
    ) -> None:
        self.p, self.grid, self.rtol = p, grid, rtol
        self.dead, self.flow = table
        self.y, self.m = start.y.copy(), start.modes.copy()
        self.controls = [step for step in controls if step.time <= grid[-1]]
        self.states = np.empty((len(grid), at.STATES))
        self.modes = np.empty((len(grid), at.MODES))
        self.pops = np.zeros(len(grid))
        self.atol = absolute_tolerances(p) * (rtol / 1e-6)
        self.dy, self.ch = np.zeros(at.STATES), np.zeros(len(at.CHANNELS))
        self.events: list[Event] = []
        self.steps = self.evaluations = self.pop_count = self.filled = 0

    def rates(self, t: float, y: np.ndarray) -> np.ndarray:
        dy = np.empty(at.STATES)
        evaluate(y, self.p, self.m, self.dead, self.flow, dy, self.ch)
        return dy

    def code(self, y: np.ndarray) -> int:
        evaluate(y, self.p, self.m, self.dead, self.flow, self.dy, self.ch)
        return int(due(y, self.p, self.m, self.ch))

    def run(self) -> Trajectory:
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
        solver = SolverStatistics("LSODA", self.steps, self.evaluations, len(self.events))
        return Trajectory(
            self.states,
            self.modes,
            self.pops,
            tuple(self.events),
            solver,
            State(self.y.copy(), self.m.copy()),
        )

    def control(self) -> None:
        step = self.controls.pop(0)
        self.m[at.SPEED_SETTING], self.m[at.COCK_SETTING] = step.speed, float(step.cock_open)

    def settle(self, t: float) -> None:
        """Apply every event that is due right now."""
        for _ in range(8):
            code = self.code(self.y)
            if code == NOTHING:
                return
            jump(code, self.y, self.p, self.m)
            self.pop_count += code == RELIEF_POP
            self.events.append(Event(t, KINDS[code]))
        if len(self.events) > MOST_EVENTS:
            raise RunFailed(f"more than {MOST_EVENTS} events by {t:.3f} s")

    def advance(self, t: float, stop: float) -> float:
        """Integrate in the present modes until an event or ``stop``; returns the time reached."""
        solver = LSODA(self.rates, t, self.y, stop, rtol=self.rtol, atol=self.atol, max_step=LONGEST_STEP)
        while solver.status == "running":
            message = solver.step()
            self.steps += 1
            if solver.status == "failed" or not np.all(np.isfinite(solver.y)) or self.steps > MOST_STEPS:
                raise RunFailed(
                    f"the integrator stopped at {solver.t:.3f} s in modes {self.m.tolist()}: {message}"
                )
            if self.code(solver.y) != NOTHING:
                found = self.locate(solver)
                self.evaluations += solver.nfev
                return found
            self.record(solver.t, solver)
        self.evaluations += solver.nfev
        self.y = solver.y.copy()
        self.settle(stop)
        return stop

    def locate(self, solver: LSODA) -> float:
        """Halve the last step until the event is pinned down, then jump."""
        dense = solver.dense_output()
        low, high = solver.t_old, solver.t
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

    def record(self, t: float, solver: LSODA | None) -> None:
        """Fill the grid points up to and including t."""
        last = int(np.searchsorted(self.grid, t + 1e-9, side="right"))
        if last <= self.filled:
            return
        rows = slice(self.filled, last)
        self.states[rows] = self.y if solver is None else solver.dense_output()(self.grid[rows]).T
        self.modes[rows] = self.m
        self.pops[rows] = self.pop_count
        self.filled = last
