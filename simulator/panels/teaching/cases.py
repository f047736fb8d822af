"""Runs that lessons draw their answers from: rigs of the yard, sound or with one fault, at a site as wanted."""

from __future__ import annotations

import math
import os
import random
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from simulator.instruments.checks_from_outside import static_lift
from simulator.instruments.gauges import GAUGES, needle, state_of
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, load_site
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate
from simulator.run.result import ControlStep

USUAL_RIG, USUAL_SITE = "osier", "teal_pond"
WATCHED = 180.0  # [s] of a run that lessons look at
#: Runs held in memory, a megabyte each. A page asks for all of its own at every click: were there room for one fewer,
#: each would be worked out anew every time. Who asks for those of all pages in one process may give them room.
ROOM = "SIMULATOR_KEPT_RUNS"
_ROOM_ASKED = os.environ.get(ROOM, "")
KEPT_RUNS = max(96, int(_ROOM_ASKED) if _ROOM_ASKED.isdecimal() else 0)


def usual_rig() -> Rig:
    """The rig most lessons are about.

    Examples
    --------
    >>> usual_rig().title
    'Osier'
    """
    return load_rig(USUAL_RIG)


def usual_site(lift: float | None = None) -> Site:
    """The site most lessons are at, with another lift [m] where given.

    Examples
    --------
    >>> usual_site().lift, usual_site(5.0).lift
    (3.0, 5.0)
    """
    site = load_site(USUAL_SITE)
    return site if lift is None else replace(site, lift=lift)


def with_hose(rig: Rig, length: float | None = None, bore: float | None = None) -> Rig:
    """A copy of a rig with another hose length [m] or bore [m]; joints and liner keep their share of the length.

    Examples
    --------
    >>> with_hose(usual_rig(), 20.0).suction_hose.joints[0].position
    6.6
    """
    changed = rig if length is None else with_hose_length(rig, length)
    hose = changed.suction_hose
    return changed if bore is None else replace(changed, suction_hose=replace(hose, bore=bore))


@lru_cache(maxsize=KEPT_RUNS)
def run_of(
    rig: Rig, site: Site, speed: float = 1.0, duration: float = WATCHED, setup: Setup = Setup.NORMAL
) -> Run:
    """A start at once at a speed [-] of rated, watched for a time [s].

    Parameters
    ----------
    rig : as it is.
    duration : [s].
    setup : plate, cap or neither.

    Examples
    --------
    >>> run_of(usual_rig(), usual_site()).outcome.code
    'primed'
    """
    return simulate(rig, site, controls=(ControlStep(0.0, speed),), duration=duration, setup=setup)


def faulted(
    fault: str, size: float = 0.0, place: str = "", rig: Rig | None = None, site: Site | None = None
) -> Run:
    """The usual rig at the usual site, or others, with one fault of a size in SI units [unit of the fault].

    Parameters
    ----------
    place : of the fault; "" where it has but one.

    Examples
    --------
    >>> faulted("drain_open", 1.0).primed
    False
    """
    return run_of(*FAULTS[fault].apply(rig or usual_rig(), site or usual_site(), size, place))


def drawn_fault(chance: random.Random, names: Sequence[str], rig: Rig, site: Site) -> tuple[str, float, str]:
    """A fault out of some, its size in SI units [unit of the fault] as call-outs have it, and its place.

    Parameters
    ----------
    chance : what is drawn from.
    names : of the faults.
    rig : that gets it.
    """
    fault: Fault = FAULTS[chance.choice(sorted(names))]
    size = fault.size.drawn(chance.random()) if fault.size else 0.0
    if fault.size is not None:
        size = fault.size.from_file(float(f"{fault.size.in_file(size):.3g}"))
        size = min(max(size, fault.size.low), fault.size.high)
    return fault.id, size, chance.choice(fault.places(rig, site))


def lift_pressure(site: Site) -> float:
    """The static lift of a site [Pa].

    Examples
    --------
    >>> round(lift_pressure(usual_site()) / 1e3, 1)
    29.4
    """
    return float(static_lift(site))


def arrival(run: Run) -> tuple[float, float]:
    """When the water reaches the pump [s] and the vacuum then [Pa]; nan where it never does.

    Parameters
    ----------
    run : of a start.

    Examples
    --------
    >>> round(arrival(run_of(usual_rig(), usual_site()))[1] / 1e3)
    29
    """
    times = [event.time for event in run.events if event.kind == "front_at_pump"]
    if not times:
        return math.nan, math.nan
    return times[0], run.atmosphere - run.value("suction_pressure", times[0])


def shown(run: Run, gauge: str) -> np.ndarray:
    """What a needle shows [Pa] all along a run, as a patient eye reads it, shape (n,).

    All that a lesson says, draws and plays of a run is this, so that a sentence, a curve and a dial agree: a needle that
    climbs is a little behind the pressure.

    Parameters
    ----------
    gauge : "suction" or "motive".
    """
    return needle(run, GAUGES[gauge], state_of(run.rig, gauge), 0, tremble=False)


def vacuum_at(run: Run, time: float) -> float:
    """Vacuum that the suction gauge shows [Pa] at a time [s] of a run."""
    return float(shown(run, "suction")[run.index(time)])


def motive_at(run: Run, time: float) -> float:
    """Motive air [Pa gauge] at a time [s] of a run: what the gauge shows, where the rig has one."""
    if not run.rig.has_motive_gauge:
        return run.value("motive_pressure", time) - run.atmosphere
    return float(shown(run, "motive")[run.index(time)])


def resting_vacuum(run: Run, seconds: float = 2.0) -> float:
    """Where the suction gauge ends [Pa]: its mean over the last seconds [s] of a run."""
    return float(np.mean(shown(run, "suction")[-round(seconds * 10) :]))


def deepest_vacuum(rig: Rig, site: Site) -> float:
    """The deepest vacuum [Pa] a rig makes against a plate on its suction flange.

    Examples
    --------
    >>> 85e3 < deepest_vacuum(usual_rig(), usual_site()) < 95e3
    True
    """
    return float(run_of(rig, site, setup=Setup.BLANKED).vacuum.max())
