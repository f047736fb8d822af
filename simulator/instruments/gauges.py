"""Gauges: what their needles show of a run, with lag, tremble, and what a gauge itself may do wrong.

A needle at time t depends on the run up to t and on nothing after it. All values are SI: pressure above the
atmosphere [Pa], or for the suction gauge vacuum [Pa], positive below the atmosphere.

Arguments, the same throughout: ``gauge_id`` id of a gauge of the rig; ``step`` time between two values [s];
``times`` when it is read [s]; ``gauge_state`` what is wrong with a gauge; ``seed`` chance, the same for the
same number; ``value`` what the needle shows, in SI units [unit of the gauge]; ``system`` metric or US units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Protocol

import numpy as np

from simulator.compiled import compiled
from simulator.errors import InputError
from simulator.instruments.chance import key, normals
from simulator.rig.onset import as_at
from simulator.rig.parts import GaugeState
from simulator.rig.rig import Rig, Site
from simulator.units import PASCAL_PER_INHG, PASCAL_PER_PSI

STEP = 0.1  # [s] of the grid that runs are given on


class RunLike(Protocol):
    """What instruments need of a run: an even grid and the channels by name."""

    @property
    def time(self) -> np.ndarray:
        """Grid times [s], shape (n,), in steps of 0.1 s."""
        ...

    @property
    def atmosphere(self) -> float:
        """Outside pressure [Pa abs]."""
        ...

    def __getattr__(self, name: str) -> Any:
        """A channel by its name, shape (n,), SI."""
        ...


@dataclass(frozen=True)
class Gauge:
    """A gauge as it is made; ranges and graduations of common site gauges, made up for training."""

    id: str
    channel: str  # of the run [Pa abs]
    quantity: str  # vacuum | pressure
    low: float  # [Pa] needle stop
    high: float  # [Pa] needle stop
    graduation_metric: float  # [Pa] between marks of the metric dial
    graduation_us: float  # [Pa] between marks of the US dial
    lag: float  # [s] first-order time constant
    tremble: float  # [Pa] standard deviation of the needle's shake

    def graduation(self, system: str = "metric") -> float:
        """Pressure between two marks [Pa] of the dial in this unit system."""
        return self.graduation_us if system == "us" else self.graduation_metric


GAUGES: dict[str, Gauge] = {
    gauge.id: gauge
    for gauge in (
        Gauge("suction", "suction_pressure", "vacuum", -150e3, 100e3, 2e3, PASCAL_PER_INHG, 0.6, 250.0),
        Gauge("motive", "motive_pressure", "pressure", 0.0, 10e5, 0.2e5, 5.0 * PASCAL_PER_PSI, 0.3, 4e3),
        Gauge("discharge", "discharge_pressure", "pressure", 0.0, 4e5, 0.1e5, 2.0 * PASCAL_PER_PSI, 0.3, 2e3),
    )
}


def gauges_of(rig: Rig) -> tuple[Gauge, ...]:
    """The gauges this rig carries.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> [gauge.id for gauge in gauges_of(load_rig("osier"))]
    ['suction', 'motive', 'discharge']
    """
    return tuple(gauge for gauge in GAUGES.values() if gauge.id != "motive" or rig.has_motive_gauge)


def state_of(rig: Rig, gauge_id: str) -> GaugeState:
    """How the gauge itself is.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> state_of(load_rig("osier"), "suction").stuck
    False
    """
    return {"suction": rig.suction_gauge, "motive": rig.motive_gauge}.get(gauge_id, GaugeState())


def true_value(run: RunLike, gauge: Gauge) -> np.ndarray:
    """What a perfect gauge would show [Pa] on the run's grid, shape (n,).

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> bool(true_value(run, GAUGES["suction"])[-1] > 20e3)
    True
    """
    pressure = np.asarray(getattr(run, gauge.channel), dtype=float)
    return run.atmosphere - pressure if gauge.quantity == "vacuum" else pressure - run.atmosphere


def lagged(values: np.ndarray, lag: float, step: float = STEP) -> np.ndarray:
    """First-order lag [s] of values on an even grid, exact for an input that is straight between grid points.

    The needle stands at the first value when the series begins.

    Examples
    --------
    >>> lagged(np.array([0.0, 1.0, 1.0]), 0.0)
    array([0., 1., 1.])
    """
    if lag <= 0.0 or len(values) == 0:
        return np.array(values, dtype=float)
    keep = math.exp(-step / lag)
    slope = lag / step * (1.0 - keep)
    return _filtered(np.ascontiguousarray(values, dtype=float), 1.0 - slope, slope - keep, keep)


@compiled
def _filtered(values: np.ndarray, now: float, before: float, keep: float) -> np.ndarray:
    """Each value shown: ``now`` of it, ``before`` of the last one, ``keep`` of what was shown last.

    By itself, as the library that has it takes seconds and 25 MB to load, on every page with a dial.
    """
    shown = np.empty_like(values)
    held = values[0] * (1.0 - now)
    for number in range(len(values)):
        shown[number] = now * values[number] + held
        held = before * values[number] + keep * shown[number]
    return shown


def grid_index(times: np.ndarray | float) -> np.ndarray:
    """Absolute index on the 0.1 s grid of the last grid point at or before each time [s].

    Examples
    --------
    >>> grid_index(np.array([0.0, 0.25, 0.3]))
    array([0, 2, 3])
    """
    return np.floor(np.asarray(times, dtype=float) / STEP + 1e-6).astype(np.int64)


def needle(
    run: RunLike, gauge: Gauge, gauge_state: GaugeState, seed: int, *, tremble: bool = True
) -> np.ndarray:
    """What the needle shows [Pa] at every grid point of the run, shape (n,).

    ``tremble=False`` leaves the shake out: what a patient eye reads.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> shown = needle(run, GAUGES["motive"], GaugeState(), 1)
    >>> shown.shape == run.time.shape, bool(shown.min() >= 0.0)
    (True, True)
    """
    if gauge_state.stuck:
        return np.full(len(run.time), float(np.clip(gauge_state.offset, gauge.low, gauge.high)))
    shown = lagged(true_value(run, gauge), gauge.lag + gauge_state.extra_lag) + gauge_state.offset
    if tremble:
        shown = shown + gauge.tremble * normals(key(seed, gauge.id), grid_index(run.time))
    return np.asarray(np.clip(shown, gauge.low, gauge.high))


def needle_of(run: RunLike, gauge: Gauge, rig: Rig, seed: int, *, tremble: bool = True) -> np.ndarray:
    """What the needle shows [Pa] of a run of this rig from its start, shape (n,); a gauge may go wrong on the way.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> rig, gauge = load_rig("osier"), GAUGES["suction"]
    >>> run = simulate(rig, standard_site(), duration=20.0)
    >>> bool((needle_of(run, gauge, rig, 1) == needle(run, gauge, GaugeState(), 1)).all())
    True
    """
    late = tuple(change for change in rig.late if change.path[1] == f"{gauge.id}_gauge")
    if not late:
        return needle(run, gauge, state_of(rig, gauge.id), seed, tremble=tremble)
    shown = np.zeros(len(run.time))
    edges = [0, *sorted({turn for change in late for turn in change.turns() if turn > 0}), len(shown)]
    for begin, end in pairwise(edges):
        if begin >= len(shown):
            break
        now, _ = as_at(replace(rig, late=late), Site(lift=0.0), 0.5 * STEP * (begin + end))
        state, own = state_of(now, gauge.id), slice(begin, min(end, len(shown)))
        if state.stuck and begin:  # it stays where it was
            shown[own] = shown[begin - 1]
        else:
            shown[own] = needle(run, gauge, state, seed, tremble=tremble)[own]
    return shown


def reading(
    run: RunLike, gauge: Gauge, gauge_state: GaugeState, seed: int, times: np.ndarray | float
) -> np.ndarray:
    """What the needle shows [Pa] at some times [s] of a run, same shape as ``times``.

    The shake is a function of the seed, the gauge and the absolute index on the 0.1 s grid alone. A time
    between two grid points gives the earlier one; times outside the run give its ends.

    Raises
    ------
    InputError : the run is empty.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> times = np.array([5.0, 12.34])
    >>> both = reading(run, GAUGES["suction"], GaugeState(), 1, times)
    >>> bool(both[1] == reading(run, GAUGES["suction"], GaugeState(), 1, 12.3))
    True
    """
    if len(run.time) == 0:
        raise InputError("the run is empty", "gauges.reading", "a run with at least one time")
    at = grid_index(times) - int(grid_index(float(run.time[0])))
    return needle(run, gauge, gauge_state, seed)[np.clip(at, 0, len(run.time) - 1)]


def read(value: float, gauge: Gauge, system: str = "metric") -> float:
    """A needle read to half a graduation [Pa].

    Examples
    --------
    >>> read(16_400.0, GAUGES["suction"])
    16000.0
    >>> read(16_600.0, GAUGES["suction"])
    17000.0
    """
    half = 0.5 * gauge.graduation(system)
    return float(math.floor(value / half + 0.5) * half)
