"""Many runs at once: on threads of this process, or on any executor of ``concurrent.futures``.

The compiled integrator leaves the interpreter free, so that threads use all processors. Every case is computed by the
same function wherever it runs: the figures are the same bit for bit on threads, on a pool of processes and on a cluster.

Arguments, the same throughout: ``chosen`` names of the channels that are kept.
"""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, TypeAlias

import numpy as np

from simulator.errors import InputError, SimulatorError
from simulator.rig.rig import Rig, Site
from simulator.run.layout import CHANNELS, SETUP, Setup
from simulator.run.result import STEP, Balance, Event, Outcome, Run, SolverStatistics
from simulator.run.simulate import follow, simulate
from simulator.run.state import State

PER_TASK = (
    4  # cases handed over together: few enough to stop soon, enough to be worth the way to another process
)
TASKS_WAITING = 64  # tasks handed over and not finished


@dataclass(frozen=True)
class Case:
    """One run of a batch: rig, site and the keyword arguments of :func:`~simulator.run.simulate`."""

    rig: Rig
    site: Site
    options: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class LightRun:
    """What is kept of a run where memory counts: some channels at a coarse step, SI, and how it ended.

    ``series`` has one row a channel of ``channels`` on ``time`` [s]; ``run.suction_pressure`` and so on are its rows.
    """

    setup: Setup
    channels: tuple[str, ...]
    time: np.ndarray  # (n,) [s]
    series: np.ndarray  # (channels, n) SI
    relief_pops: np.ndarray  # (n,) count so far
    events: tuple[Event, ...]
    outcome: Outcome
    prime_time: float  # [s], nan when never primed
    steady_flow: float  # [m3/s] of the sound rig at this site
    final: State
    balance: Balance
    solver: SolverStatistics

    def __getattr__(self, name: str) -> np.ndarray:
        if name != "channels" and name in self.channels:
            return self.series[self.channels.index(name)]  # type: ignore[no-any-return]
        raise AttributeError(name)

    @property
    def primed(self) -> bool:
        """Whether the pump took its prime at all."""
        return bool(np.isfinite(self.prime_time))


class CaseFailed(SimulatorError):
    """One case of a batch that gave no run.

    ``index`` is its place in the batch, ``kind`` the name of the exception's class, ``sentence`` what it said and
    ``trace`` where it arose.
    """

    def __init__(self, index: int, kind: str, sentence: str, trace: str = "") -> None:
        self.index, self.kind, self.sentence, self.trace = index, kind, sentence, trace
        super().__init__(f"case {index}: {kind}: {sentence}")

    def __reduce__(self) -> tuple[Any, ...]:
        return CaseFailed, (self.index, self.kind, self.sentence, self.trace)


Result: TypeAlias = Run | LightRun | CaseFailed


class BatchFailed(SimulatorError):
    """Some cases gave no run; ``failures`` says which and why, ``results`` holds the runs of all the others."""

    def __init__(self, results: list[Result]) -> None:
        self.results = results
        self.failures = tuple(result for result in results if isinstance(result, CaseFailed))
        first = str(self.failures[0])
        super().__init__(f"{len(self.failures)} of {len(results)} runs failed; the first is {first}")


class BatchStopped(SimulatorError):
    """The batch was stopped on request; ``results`` holds what was ready, by the case's index."""

    def __init__(self, results: dict[int, Result], total: int) -> None:
        self.results = results
        super().__init__(f"the batch was stopped with {len(results)} of {total} runs ready")


def light_run(case: Case, chosen: tuple[str, ...], every: float) -> LightRun:
    """Run a case and work out these channels only, one value every ``every`` [s], a whole multiple of 0.1 s.

    The values are those that the whole run has there.

    Raises
    ------
    InputError, RunFailed : as :func:`~simulator.run.simulate`, and for a wrong channel or step.
    """
    stride = _stride(chosen, every)
    course = follow(case.rig, case.site, **case.options)
    path = course.path
    series = course.series(stride)
    return LightRun(
        setup=Setup(int(course.p[SETUP])),
        channels=chosen,
        time=course.grid[::stride].copy(),
        series=series[[CHANNELS.index(name) for name in chosen]],
        relief_pops=path.pops[::stride].copy(),
        events=course.events,
        outcome=course.outcome,
        prime_time=course.prime_time,
        steady_flow=course.steady_flow,
        final=State(path.states[-1].copy(), path.modes[-1].copy()),
        balance=course.balance,
        solver=path.solver,
    )


def run_cases(first: int, cases: Sequence[Case], kept: tuple[str, ...] | None, every: float) -> list[Result]:
    """Run some cases one after another; ``first`` is the index of the first [-], ``every`` the step kept [s].

    This is what an executor is given. A case that fails becomes a :class:`CaseFailed` in its place.
    """
    out: list[Result] = []
    for offset, case in enumerate(cases):
        try:
            if kept is None:
                out.append(simulate(case.rig, case.site, **case.options))
            else:
                out.append(light_run(case, kept, every))
        except Exception as error:  # noqa: BLE001 - whatever goes wrong in one case must not lose the others
            out.append(CaseFailed(first + offset, type(error).__name__, str(error), traceback.format_exc()))
    return out


def processors() -> int:
    """Number of processors this process may use [-]."""
    try:
        return max(len(os.sched_getaffinity(0)), 1)
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def run_batch(
    cases: Iterable[Case],
    *,
    channels: Sequence[str] | None = None,
    every: float = STEP,
    executor: Executor | None = None,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    return_exceptions: bool = False,
) -> list[Any]:
    """Run many cases; the runs come back in the order of the cases.

    Parameters
    ----------
    cases : what to run.
    channels : names of the channels to keep, for :class:`LightRun` results; by default whole :class:`Run` results.
    every : step of the kept channels [s].
    executor : where to run: any executor of ``concurrent.futures``, such as a pool of processes or a Dask client's
        ``client.get_executor()``. It stays open. By default threads of this process, closed at the end.
    threads : number of threads [-] when no executor is given; by default one a processor.
    progress : called with (runs ready, all runs) in the calling thread.
    should_stop : asked between tasks; when it says True, what has not begun is dropped.
    return_exceptions : True: a failed case stands in the list as its :class:`CaseFailed`.

    Raises
    ------
    BatchFailed : some cases failed (and ``return_exceptions`` is False); it carries all the other runs.
    BatchStopped : ``should_stop`` said so; it carries the runs that were ready.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = [Case(load_rig("osier"), standard_site(), {"duration": d}) for d in (1.0, 2.0)]
    >>> [float(run.time[-1]) for run in run_batch(cases, channels=("suction_pressure",), every=0.5)]
    [1.0, 2.0]
    """
    listed = list(cases)
    if executor is not None:
        return _collect(listed, channels, every, executor, progress, should_stop, return_exceptions)
    count = max(1, min(threads or processors(), len(listed)))
    with ThreadPoolExecutor(count, thread_name_prefix="batch") as own:
        return _collect(listed, channels, every, own, progress, should_stop, return_exceptions)


def _collect(
    cases: list[Case],
    channels: Sequence[str] | None,
    every: float,
    executor: Executor,
    progress: Callable[[int, int], None] | None,
    should_stop: Callable[[], bool] | None,
    return_exceptions: bool,
) -> list[Any]:
    kept = None if channels is None else tuple(channels)
    if kept is not None:
        _stride(kept, every)  # a wrong name is told before anything runs
    starts = iter(range(0, len(cases), PER_TASK))
    results: dict[int, Result] = {}
    waiting: dict[Future[list[Result]], int] = {}
    try:
        while True:
            if should_stop is not None and should_stop():
                raise BatchStopped(_in_order(results), len(cases))
            for first in islice(starts, TASKS_WAITING - len(waiting)):
                some = cases[first : first + PER_TASK]
                waiting[executor.submit(run_cases, first, some, kept, every)] = first
            if not waiting:
                break
            done, _ = wait(waiting, timeout=0.1, return_when=FIRST_COMPLETED)
            for future in done:
                first = waiting.pop(future)
                results.update(enumerate(future.result(), first))
            if done and progress is not None:
                progress(len(results), len(cases))
    except BaseException:
        for future in waiting:
            future.cancel()
        raise
    ordered = list(_in_order(results).values())
    if not return_exceptions and any(isinstance(result, CaseFailed) for result in ordered):
        raise BatchFailed(ordered)
    return ordered


def _in_order(results: dict[int, Result]) -> dict[int, Result]:
    return dict(sorted(results.items()))


def _stride(channels: Sequence[str], every: float) -> int:
    """Grid points per kept point; refuses a wrong channel or step."""
    for name in channels:
        if name not in CHANNELS:
            raise InputError(f"there is no channel {name!r}", "channels", ", ".join(CHANNELS))
    stride = round(every / STEP)
    if stride < 1 or abs(stride * STEP - every) > 1e-9:
        raise InputError(f"the step is {every!r} s", "every", f"a whole multiple of {STEP:g} s")
    return stride
