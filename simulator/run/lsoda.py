"""The same equations driven by SciPy's LSODA: the way without a compiler, and a second opinion with one.

Arguments, the same throughout: ``p`` packed parameters in SI units; ``table`` the two tables of
``run.ejection``; ``start`` state at the beginning; ``controls`` steps of the controls, in their order.
"""

from __future__ import annotations

import threading

import numpy as np
import scipy

from simulator.run.piecewise import Piecewise
from simulator.run.result import ControlStep
from simulator.run.state import State
from simulator.run.trajectory import Trajectory

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
    """Follow the rig over the grid times [s] by LSODA, to a relative tolerance rtol [-].

    Raises
    ------
    RunFailed : the integrator gave up, or events came without end.
    """
    with _one_at_a_time:
        return Piecewise(
            scipy.integrate.LSODA, "LSODA", p, table, start, grid, controls, rtol, LONGEST_STEP
        ).run()
