"""What an integrator gives back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.run.result import Event, SolverStatistics
from simulator.run.state import State

MAX_EVENTS = 20_000


@dataclass(frozen=True)
class Trajectory:
    """States on the grid, shape (n, STATES); modes (n, MODES); relief pops so far (n,); events; work done."""

    states: np.ndarray
    modes: np.ndarray
    pops: np.ndarray
    events: tuple[Event, ...]
    solver: SolverStatistics
    final: State


def joined(paths: list[Trajectory]) -> Trajectory:
    """Several trajectories as one, where each begins at the last grid point of the one before.

    Parameters
    ----------
    paths : in order of time.
    """
    if len(paths) == 1:
        return paths[0]
    cut = [slice(0, len(path.states) - (path is not paths[-1])) for path in paths]
    pops, before = [], 0.0
    for path, own in zip(paths, cut, strict=True):
        pops.append(path.pops[own] + before)
        before += float(path.pops[-1])
    work = [path.solver for path in paths]
    return Trajectory(
        np.concatenate([path.states[own] for path, own in zip(paths, cut, strict=True)]),
        np.concatenate([path.modes[own] for path, own in zip(paths, cut, strict=True)]),
        np.concatenate(pops),
        tuple(event for path in paths for event in path.events),
        SolverStatistics(
            work[0].method,
            sum(one.steps for one in work),
            sum(one.evaluations for one in work),
            sum(one.events for one in work),
        ),
        paths[-1].final,
    )
