"""Runs that are asked for again and again, simulated once: the same arguments give the same run, so one will do."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from simulator.rig.rig import Rig, Site
from simulator.run.result import Run
from simulator.run.simulate import simulate
from simulator.run.state import State

_shared: ContextVar[dict[Hashable, Run] | None] = ContextVar("runs shared", default=None)


@contextmanager
def shared_runs() -> Iterator[None]:
    """While it is open, runs of this thread that are simulated by :func:`simulate_once` are kept and given again.

    One inside another shares with the outer one.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> with shared_runs():
    ...     simulate_once(rig, site, duration=1.0) is simulate_once(rig, site, duration=1.0)
    True
    >>> simulate_once(rig, site, duration=1.0) is simulate_once(rig, site, duration=1.0)
    False
    """
    kept = _shared.get()
    before = _shared.set({} if kept is None else kept)
    try:
        yield
    finally:
        _shared.reset(before)


def simulate_once(rig: Rig, site: Site, *, start: State | None = None, **options: Any) -> Run:
    """A run as :func:`~simulator.run.simulate` gives it, with its errors; nobody may write into its arrays.

    Parameters
    ----------
    rig, site : what runs and where.
    start : the state to begin in; by default everything at rest and dry.
    options : the other arguments of that function.
    """
    kept = _shared.get()
    if kept is None:
        return simulate(rig, site, start=start, **options)
    begun = None if start is None else (start.y.tobytes(), start.modes.tobytes())
    key = (rig, site, begun, tuple(sorted(options.items())))
    if key not in kept:
        kept[key] = simulate(rig, site, start=start, **options)
    return kept[key]
