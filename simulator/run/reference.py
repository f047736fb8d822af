"""A slow, tight and independent integration of the same equations, to check the fast one against.

SciPy's Radau IIA of order 5 (or its BDF) follows the equations to a relative tolerance of 1e-9, piece by piece between
exactly located events. For validation only: a run takes seconds.

Arguments, the same throughout: ``rig``, ``site`` what is run, and where.
"""

from __future__ import annotations

from typing import Any

from simulator.errors import InputError
from simulator.rig.rig import Rig, Site
from simulator.run.integrate import REFERENCES
from simulator.run.result import Run
from simulator.run.simulate import simulate

RTOL = 1e-9


def reference_run(rig: Rig, site: Site, *, rtol: float = RTOL, method: str = "radau", **options: Any) -> Run:
    """A run as :func:`~simulator.run.simulate` gives it, computed by a reference solver.

    Parameters
    ----------
    rtol : relative tolerance [-]; the absolute ones go with it.
    method : "radau" or "bdf".
    options : as for ``simulate``; times in [s].

    Raises
    ------
    InputError : there is no such method, or an argument ``simulate`` refuses.
    RunFailed : the solver gave up.
    """
    if method not in REFERENCES:
        raise InputError(f"there is no method {method!r}", "method", " or ".join(REFERENCES))
    return simulate(rig, site, rtol=rtol, method=method, **options)
