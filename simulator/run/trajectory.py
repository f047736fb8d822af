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
