"""One timed start of a pump in good order: where it stood, how long it took, what the suction gauge read on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulator.errors import InputError
from simulator.instruments.gauges import GAUGES, lagged
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.rig.hose_length import with_hose_length
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run.outcome import T_SUCTION_PRESSURE, outcome_signals
from simulator.run.simulate import LONGEST, follow

RTOL = 1e-4  # of the runs: some 0.05 kPa, far below what an eye reads off a gauge


@dataclass(frozen=True)
class TimedStart:
    """A start by the watch, SI: where it was, when water came, and the needle on the way.

    Raises
    ------
    InputError : times and vacuums are not of one length, or the times do not rise.

    Examples
    --------
    >>> TimedStart(lift=4.0, hose_length=15.0, hose_bore=0.15, prime_time=60.0, times=(10.0,), vacuums=(9e3,)).submergence
    1.0
    """

    lift: float  # [m] water to pump
    hose_length: float  # [m]
    hose_bore: float  # [m]
    prime_time: float  # [s]; nan where no water came
    times: tuple[float, ...]  # [s] from the start
    vacuums: tuple[float, ...]  # [Pa] as the needle stood
    submergence: float = 1.0  # [m] of the strainer
    altitude: float = 0.0  # [m]

    def __post_init__(self) -> None:
        if len(self.times) != len(self.vacuums) or list(self.times) != sorted(set(self.times)):
            raise InputError(
                "times and vacuums do not go together", "start", "as many of each, in order of time"
            )

    @property
    def before_prime(self) -> TimedStart:
        """The same with the readings until the water came: what stands on the gauge later tells of the pump's flow."""
        kept = [(t, v) for t, v in zip(self.times, self.vacuums, strict=True) if 0.0 < t <= self.prime_time]
        return replace(self, times=tuple(t for t, _ in kept), vacuums=tuple(v for _, v in kept))

    @property
    def atmosphere(self) -> float:
        """Pressure of the air outside [Pa]."""
        return float(pressure_at_altitude(self.altitude))


def place_of(start: TimedStart) -> Site:
    """The site of a start.

    Parameters
    ----------
    start : the start.

    Examples
    --------
    >>> place_of(TimedStart(4.0, 15.0, 0.15, 60.0, (), ())).lift
    4.0
    """
    return Site(lift=start.lift, submergence=start.submergence, altitude=start.altitude)


def set_up(rig: Rig, start: TimedStart) -> Rig:
    """The rig with the hose that it had at a start.

    Parameters
    ----------
    rig : the rig, with its own hose.
    start : the start.

    Raises
    ------
    InputError : the hose is too short for the lift.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> set_up(load_rig("osier"), TimedStart(4.0, 15.0, 0.15, 60.0, (), ())).suction_hose.length
    15.0
    """
    longer = with_hose_length(rig, start.hose_length)
    there = replace(longer, suction_hose=replace(longer.suction_hose, bore=start.hose_bore))
    hose_profile(there, place_of(start))
    return there


def prime_time_at(rig: Rig, lift: float, length: float, bore: float | None = None, **more: float) -> float:
    """Seconds a rig takes to prime with a hose [s]; nan where it does not.

    Parameters
    ----------
    rig : in good order.
    lift : water to pump [m].
    length : of the hose [m].
    bore : of the hose [m]; the rig's own by default.
    more : ``submergence`` [m], ``altitude`` [m], ``gas_exponent`` [-].

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> round(prime_time_at(load_rig("osier"), 3.0, 10.0))
    40
    """
    exponent = more.pop("gas_exponent", 1.0)
    start = TimedStart(lift, length, bore or rig.suction_hose.bore, float("nan"), (), (), **more)
    there, site = set_up(rig, start), place_of(start)
    for longest in (180.0, 900.0):
        found = follow(there, site, duration=longest, gas_exponent=exponent, rtol=RTOL).prime_time
        if found == found:
            break
    return float(found)


@dataclass(frozen=True)
class Needle:
    """What the suction needle does in a start by the model: times [s], vacuums [Pa], and the prime time [s]."""

    time: np.ndarray
    vacuum: np.ndarray
    prime_time: float

    def at(self, times: tuple[float, ...]) -> np.ndarray:
        """Where it stands at some times [Pa].

        Parameters
        ----------
        times : [s].
        """
        return np.interp(times, self.time, self.vacuum)


def needle_of(rig: Rig, start: TimedStart, span: float, gas_exponent: float = 1.0) -> Needle:
    """The needle in a start of a rig, as its gauge shows it, with its lag.

    Parameters
    ----------
    rig : in good order.
    start : where, and with which hose.
    span : how long it is watched [s].
    gas_exponent : of the air [-].

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> found = needle_of(load_rig("osier"), TimedStart(3.0, 10.0, 0.15, 40.0, (), ()), 60.0)
    >>> round(found.prime_time), bool(found.at((20.0,))[0] > found.at((10.0,))[0])
    (40, True)
    """
    course = follow(
        set_up(rig, start),
        place_of(start),
        duration=round(min(span, LONGEST), 1),
        gas_exponent=gas_exponent,
        rtol=RTOL,
    )
    told = outcome_signals(course.path.states, course.path.modes, course.p)
    vacuum = lagged(start.atmosphere - told[T_SUCTION_PRESSURE], GAUGES["suction"].lag)
    return Needle(course.grid, vacuum, course.prime_time)
