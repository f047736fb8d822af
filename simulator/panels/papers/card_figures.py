"""The figures of a yard card, all of them from the model: the rig's curve, its times, what its gauges should show."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from simulator.attempt.case import blanked_run, sound_band, sound_run
from simulator.errors import InputError
from simulator.instruments.checks_from_outside import static_lift
from simulator.instruments.gauges import GAUGES, needle, state_of
from simulator.instruments.vacuum_tests import blank_mark, deepest_and_time
from simulator.rig.hose_length import with_hose_length
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import expected as ranges
from simulator.run import simulate
from simulator.run.outcome import proof_limit

LIFTS = (1.5, 3.0, 4.5, 6.0, 7.0)  # [m]
LENGTHS = (6.0, 9.0, 12.0, 15.0, 20.0)  # [m]
LONGEST = 300.0  # [s] a start on the card is waited for
EVERY = 5  # grid points of the run to one drawn


@dataclass(frozen=True)
class Curve:
    """The suction gauge of a good rig: times [s] and vacuum [Pa], shape (n,), the band around it, the prime [s]."""

    times: np.ndarray
    vacuum: np.ndarray
    band: tuple[tuple[float, float, float], ...]  # time [s], low and high [Pa]
    lift: float  # [Pa] that holds the water at the flange
    prime_time: float  # [s]
    span: float  # [s] drawn


@dataclass(frozen=True)
class Expected:
    """What a good rig shows, [Pa] above the air outside, vacuum positive downward; times [s]."""

    motive: float  # while it primes
    pumping_vacuum: float
    pumping_discharge: float
    deepest: float  # against the plate
    mark: float  # [Pa] of vacuum whose time is taken
    mark_time: float
    low: float  # range of the time to prime of rigs of this kind
    high: float


def curve(rig: Rig, site: Site) -> Curve:
    """The needle of the suction gauge from the start until some time after the prime.

    Parameters
    ----------
    site : where it stands.

    Raises
    ------
    InputError : the rig does not prime there.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = curve(load_rig("osier"), standard_site())
    >>> found.prime_time < found.span, len(found.times) == len(found.vacuum)
    (True, True)
    """
    run = sound_run(rig, site)
    if not math.isfinite(run.prime_time):
        raise InputError("this rig does not prime at this site", "yard card", "a lift it can do")
    shown = needle(run, GAUGES["suction"], state_of(rig, "suction"), 0, tremble=False)
    span = 10.0 * math.ceil(proof_limit(float(run.prime_time)) / 10.0)
    inside = run.time <= span
    return Curve(
        times=run.time[inside][::EVERY],
        vacuum=shown[inside][::EVERY],
        band=sound_band(rig, site),
        lift=static_lift(site),
        prime_time=float(run.prime_time),
        span=span,
    )


def expected(rig: Rig, site: Site) -> Expected:
    """What the gauges of a good rig show.

    Parameters
    ----------
    site : where it stands.
    """
    run = sound_run(rig, site)
    blank = blanked_run(rig, site)
    deepest, mark_time = deepest_and_time(blank, rig)
    before = np.flatnonzero(run.time <= run.prime_time)[-1]
    plan = ranges.expected(rig, site)
    return Expected(
        motive=float(run.motive_pressure[before] - run.atmosphere),
        pumping_vacuum=float(run.atmosphere - run.suction_pressure[-1]),
        pumping_discharge=float(run.discharge_pressure[-1] - run.atmosphere),
        deepest=deepest,
        mark=blank_mark(run.atmosphere),
        mark_time=mark_time,
        low=plan.low,
        high=plan.high,
    )


def prime_time(rig: Rig, site: Site) -> float | None:
    """Time to prime of a good rig [s]; inf where it does not prime in five minutes, None: the hose cannot reach.

    Parameters
    ----------
    site : where it stands, with its lift [m].
    """
    try:
        hose_profile(rig, site)
    except InputError:
        return None
    run = simulate(rig, site, duration=LONGEST)
    return float(run.prime_time) if math.isfinite(run.prime_time) else math.inf


def times_table(
    rig: Rig, site: Site, lifts: tuple[float, ...] = LIFTS, lengths: tuple[float, ...] = LENGTHS
) -> list[list[float | None]]:
    """Times to prime [s] for each length [m] (rows) and each lift [m] (columns), as :func:`prime_time` gives them.

    Parameters
    ----------
    site : where it stands; lift and length are changed.
    lifts, lengths : [m].
    """
    return [
        [prime_time(with_hose_length(rig, length), replace(site, lift=lift)) for lift in lifts]
        for length in lengths
    ]
