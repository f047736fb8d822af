"""How fast it is, as ratios within one run; no test here judges a time.

    python binder/run_tests.py -m benchmark tests/benchmarks

The figures in brackets are ratios to the fastest of a group. Methods are compared at equal accuracy: each gets the
loosest tolerance at which its suction pressure stays as close to a very tight reference as the fast integrator's does at
its own, the largest distance outside 0.1 s of an event; in the batch, the largest of any of its runs. The fast integrator
runs at the tolerance that beliefs use.
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import pytest
from scipy.integrate import LSODA, Radau

from simulator.compiled import PLAIN
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.run import simulate
from simulator.run.batch import Case, run_batch
from simulator.run.ejection import assembly_table
from simulator.run.integrate import integrate
from simulator.run.outcome import T_SUCTION_PRESSURE, outcome_signals
from simulator.run.parameters import pack
from simulator.run.piecewise import Piecewise
from simulator.run.simulate import STARTED
from simulator.run.state import State, rest_state
from simulator.run.trajectory import Trajectory

pytestmark = pytest.mark.benchmark

CASES = {
    "sound": ("sound", 0.0, ""),
    "joint leak": ("joint_ring", 0.005, "joint:1"),
    "screen plugged": ("screen_plugged", 0.96, ""),
}
BATCH, IN_BATCH = "batch of 12 light runs of 60 s", 12
GRID = 0.1 * np.arange(3001)
LADDER = (1e-4, 3e-5, 1e-5, 3e-6, 1e-6, 3e-7, 1e-7, 3e-8, 1e-8, 3e-9, 1e-9)
BELIEF_RTOL = 1e-5  # [-] as outlooks use it
LONGEST_STEP = 5.0  # [s], as the way without a compiler has it


@dataclass(frozen=True, eq=False)
class Task:
    """One integration over a grid of times [s], equations and table ready."""

    p: np.ndarray
    table: tuple[np.ndarray, np.ndarray]
    start: State
    grid: np.ndarray

    def rodas(self, rtol: float = BELIEF_RTOL) -> Trajectory:
        return integrate(self.p, self.table, self.start, self.grid, STARTED, rtol, method="rodas")

    def scipy(self, solver, rtol: float, longest: float = LONGEST_STEP) -> Trajectory:
        return Piecewise(solver, "", self.p, self.table, self.start, self.grid, STARTED, rtol, longest).run()

    @cached_property
    def truth(self) -> Trajectory:
        return self.scipy(Radau, 1e-10, 1.0)

    def error(self, path: Trajectory) -> float:
        """Largest distance of the suction pressure from the truth [Pa], outside 0.1 s of an event."""
        one, other = (
            outcome_signals(run.states, run.modes, self.p)[T_SUCTION_PRESSURE] for run in (path, self.truth)
        )
        calm = np.ones(len(self.grid), dtype=bool)
        for event in (*path.events, *self.truth.events):
            calm &= np.abs(self.grid - event.time) > 0.1
        return float(np.abs(one - other)[calm].max())


def made(rig, site, grid: np.ndarray) -> Task:
    p = pack(rig, site)
    return Task(p, assembly_table(p), rest_state(rig, site, p), grid)


@lru_cache(maxsize=8)
def tasks(name: str) -> tuple[Task, ...]:
    """One task of a named case, or the batch that a belief asks for."""
    if name == BATCH:
        return tuple(made(case.rig, case.site, GRID[:601]) for case in belief_cases(IN_BATCH))
    fault, size, place = CASES[name]
    return (made(*FAULTS[fault].apply(load_rig("osier"), standard_site(), size, place), GRID),)


def rodas(name: str) -> list[Trajectory]:
    return [task.rodas() for task in tasks(name)]


def by_scipy(name: str, solver, rtol: float) -> list[Trajectory]:
    return [task.scipy(solver, rtol) for task in tasks(name)]


def error(name: str, paths: list[Trajectory]) -> float:
    """The largest error of any run [Pa]."""
    return max(task.error(path) for task, path in zip(tasks(name), paths, strict=True))


@lru_cache(maxsize=16)
def equal_tolerance(name: str, solver) -> tuple[float, float]:
    """The loosest tolerance [-] at which a solver is as accurate as the fast one, and its error [Pa]."""
    wanted = error(name, rodas(name))
    for rtol in LADDER:
        reached = error(name, by_scipy(name, solver, rtol))
        if reached <= wanted:
            return rtol, reached
    return LADDER[-1], reached


@pytest.mark.skipif(PLAIN, reason="compares compiled equations")
@pytest.mark.parametrize("method", ["rodas", "LSODA", "Radau"])
@pytest.mark.parametrize("name", [*CASES, BATCH])
def test_equal_accuracy(benchmark, name, method):
    benchmark.group = f"at equal accuracy, compiled equations: {name}"
    if method == "rodas":
        benchmark.extra_info["error_pa"] = error(name, rodas(name))
        paths = benchmark.pedantic(rodas, args=(name,), rounds=60, warmup_rounds=3)
    else:
        solver = {"LSODA": LSODA, "Radau": Radau}[method]
        rtol, reached = equal_tolerance(name, solver)
        benchmark.extra_info.update(error_pa=reached, rtol=rtol)
        rounds = 30 if method == "LSODA" else 4
        paths = benchmark.pedantic(by_scipy, args=(name, solver, rtol), rounds=rounds, warmup_rounds=1)
    assert len(paths) == len(tasks(name))


WORKER = """
import sys
from simulator.rig.presets import load_rig, standard_site
from simulator.run import simulate
rig, site = load_rig("osier"), standard_site()
for line in sys.stdin:
    simulate(rig, site, duration=300.0)
    sys.stdout.write("done\\n")
    sys.stdout.flush()
"""


@pytest.mark.parametrize("way", ["compiled", "plain Python"])
def test_one_run(benchmark, way):
    """A whole run through the front door; the way without a compiler runs in a process of its own."""
    benchmark.group = "one 300 s run through the front door"
    if way == "compiled":
        rig, site = load_rig("osier"), standard_site()
        run = benchmark.pedantic(simulate, args=(rig, site), rounds=60, warmup_rounds=3)
        assert run.primed
        return
    with subprocess.Popen(
        [sys.executable, "-c", WORKER],
        env={**os.environ, "SIMULATOR_PLAIN_PYTHON": "1", "PYTHONPATH": os.pathsep.join(sys.path)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as worker:

        def one() -> str:
            worker.stdin.write("go\n")
            worker.stdin.flush()
            return worker.stdout.readline()

        assert benchmark.pedantic(one, rounds=4, warmup_rounds=1) == "done\n"
        worker.stdin.close()


def belief_cases(count: int) -> list[Case]:
    """Drains, joints and belts of growing size, as a belief over faults asks for: 60 s each."""
    rig, site = load_rig("osier"), standard_site()
    cases = []
    for share in np.linspace(0.0, 1.0, -(-count // 3)):
        for fault, place in (("drain_open", ""), ("joint_ring", "joint:1"), ("belt_loose", "")):
            size = FAULTS[fault].size
            value = float(size.low + share * (size.high - size.low))
            cases.append(
                Case(*FAULTS[fault].apply(rig, site, value, place), {"duration": 60.0, "rtol": BELIEF_RTOL})
            )
    return cases[:count]


@pytest.mark.parametrize("threads", [1, 2])
def test_batch(benchmark, threads):
    benchmark.group = "batch of 300 light runs of 60 s"
    cases = belief_cases(300)
    kept = {"channels": ("suction_pressure", "motive_pressure"), "every": 1.0, "threads": threads}
    runs = benchmark.pedantic(run_batch, args=(cases,), kwargs=kept, rounds=5, warmup_rounds=1)
    assert len(runs) == 300
    if benchmark.stats is not None:
        benchmark.extra_info["runs_per_second"] = 300.0 / benchmark.stats.stats.min


@pytest.mark.parametrize("what", ["nothing", "import simulator", "import simulator.run"])
def test_import_time(benchmark, what):
    benchmark.group = "a fresh Python that imports"
    command = [sys.executable, "-c", "pass" if what == "nothing" else what]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = benchmark.pedantic(
        subprocess.run, args=(command,), kwargs={"env": environment, "check": True}, rounds=5, warmup_rounds=2
    )
    assert done.returncode == 0
