"""Whether a timed start, and what was fitted to it, can be trusted: one reason against it, or none.

Every rule is a figure of this file. A reason is a key of the message catalogue with what its sentence needs.

Arguments, the same throughout: ``start`` the timed start; ``fit`` the fitted rig; ``unit`` of a vacuum [Pa].
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from simulator.measured.fit import (
    BOUNDS,
    FACTORS,
    PHYSICAL,
    ROOM,
    STEPS,
    Fit,
    factors_of,
    quantile,
    residuals_of,
    with_factors,
)
from simulator.measured.start import TimedStart, prime_time_at
from simulator.physics.water import density, vapour_pressure
from simulator.units import STANDARD_GRAVITY, ZERO_CELSIUS

FEWEST = 5  # readings between start and prime: three factors, and two to see whether they fit
WATER = 20.0 + ZERO_CELSIUS  # [K] that a start is reckoned with
SLACK = 4.0e3  # [Pa] that readings may be off before they count as impossible: four standard deviations
BACK = 5.0e3  # [Pa] by which the needle may fall back before water comes
LIFTED = (
    0.8  # of the vacuum that the lift asks for, which the last reading before the prime must have reached
)
LATE = 0.75  # of the prime time: a reading from then on counts as the last before it
TO_BOUND = 0.02  # of the way between the bounds (logarithms) within which a factor stands at its bound
MOST_MISFIT = 2.0  # over what reading alone gives [-]
ALIKE = 0.95  # correlation of two factors beyond which this start cannot tell them apart [-]
WIDEST = 0.12  # relative half-width of the prime time elsewhere, 19 times in 20 [-]
SURE = 0.9  # of that, which a planned start must come to before it is named: readings are never as good as planned
READ_EVERY = 5.0  # [s] as often as two people can read and write
LONGER_HOSES = (1.3, 1.6, 2.0)  # times the hose, tried in turn [-]
HOT = 1.39  # [-] warming from which on it is none: no start keeps all its heat, but one that draws air looks like it
CLASS_LIFT = 5.0  # [m] up to which practice calls stand a rig above the water
ELSEWHERE = ((1.5, 1.4), (-1.5, 0.8))  # set-ups that are foretold: lift more by [m], length times [-]
LEAST_LIFT, MOST_LIFT = 1.0, 7.0  # [m] of those


@dataclass(frozen=True)
class Refusal:
    """Why a start or a fit cannot be used: a key of the catalogue, and the figures of its sentence [SI]."""

    kind: str
    said: dict[str, float | str] = field(default_factory=dict)


def why_not(start: TimedStart) -> Refusal | None:
    """The first reason against fitting a rig to a start; None where there is none.

    Examples
    --------
    >>> place = TimedStart(4.0, 15.0, 0.15, math.nan, (10.0,), (8e3,))
    >>> why_not(place).kind, why_not(TimedStart(4.0, 15.0, 0.15, 60.0, (10.0,), (8e3,))).kind
    ('no_prime', 'few')
    """
    if not math.isfinite(start.prime_time):
        return Refusal("no_prime")
    head = density(WATER) * STANDARD_GRAVITY * start.lift
    deepest = start.atmosphere - vapour_pressure(WATER)
    for time, vacuum in zip(start.times, start.vacuums, strict=True):
        if vacuum > deepest + SLACK:
            return Refusal("too_deep", {"time": time, "vacuum": vacuum, "most": deepest})
    read = start.before_prime
    for (_, before), (time, vacuum) in pairwise(zip(read.times, read.vacuums, strict=True)):
        if vacuum < before - BACK:
            return Refusal("falls", {"time": time, "vacuum": vacuum, "before": before})
    if len(read.times) < FEWEST:
        return Refusal("few", {"count": len(read.times), "least": FEWEST})
    if read.times[-1] < LATE * start.prime_time:
        return Refusal("ends_early", {"time": read.times[-1], "prime": start.prime_time})
    if max(read.vacuums) < LIFTED * head - SLACK:
        return Refusal("shallow", {"vacuum": max(read.vacuums), "least": head})
    return None


def why_not_fit(fit: Fit, room: float = ROOM) -> Refusal | None:
    """The first reason against using a fitted rig; None where there is none.

    What misses for being unsure alone is told with a way on, where another start would do: ``every`` [s], ``length`` [m]
    and ``would`` [-] of :func:`way_on`.

    Parameters
    ----------
    room : standard deviation of the casing's litres [-], as it was fitted with.
    """
    if not math.isfinite(fit.needle.prime_time):
        return Refusal("never_primes")
    if fit.misfit > MOST_MISFIT:
        return Refusal("misfit", {"misfit": fit.misfit, "most": MOST_MISFIT})
    for name, factor in zip(FACTORS, fit.factors, strict=True):
        low, high = (math.log(end) for end in BOUNDS[name])
        way = (math.log(factor) - low) / (high - low)
        if name not in PHYSICAL and not TO_BOUND < way < 1.0 - TO_BOUND:
            return Refusal("bound", {"factor": name, "value": factor})
    if fit.factors[FACTORS.index("warming")] > HOT:
        return Refusal("leak")
    correlation = fit.correlation
    for i, one in enumerate(FACTORS):
        for j, other in enumerate(FACTORS[:i]):
            if abs(correlation[i, j]) > ALIKE:
                return Refusal("alike", {"factor": other, "other": one})
    if not math.isfinite(prime_time_at(fit.rig, CLASS_LIFT, fit.rig.suction_hose.length)):
        return Refusal("weak", {"lift": CLASS_LIFT})
    widest = max((each.half_width for each in foretold(fit)), default=0.0)
    if widest > WIDEST:
        told = way_on(fit, room)
        more = {} if told is None else {"every": told.every, "length": told.length, "would": told.half_width}
        return Refusal("wide", {"share": widest, "most": WIDEST, **more})
    return None


@dataclass(frozen=True)
class WayOn:
    """A start that would tell enough: read ``every`` [s] with a hose of ``length`` [m]; then the time elsewhere would be
    unsure by ``half_width`` [-]."""

    every: float
    length: float
    half_width: float


def way_on(fit: Fit, room: float = ROOM) -> WayOn | None:
    """The least that would make a fit sure enough, at the same place and as noisy a hand; None where none of these does.

    Parameters
    ----------
    room : standard deviation of the casing's litres [-].
    """
    start, usual = fit.start, np.diff((0.0, *fit.start.times))
    slower = len(usual) > 0 and float(np.median(usual)) > 1.2 * READ_EVERY
    for longer in ((1.0,) if slower else ()) + LONGER_HOSES:
        length = float(round(start.hose_length * longer))
        place = replace(start, hose_length=length) if longer > 1.0 else start
        time = prime_time_at(
            fit.rig, place.lift, place.hose_length, place.hose_bore, submergence=place.submergence,
            altitude=place.altitude, gas_exponent=fit.factors[2],
        )  # fmt: skip
        times = (
            tuple(float(t) for t in np.arange(READ_EVERY, time, READ_EVERY)) if math.isfinite(time) else ()
        )
        if len(times) < FEWEST:
            continue
        planned = replace(place, prime_time=time, times=times, vacuums=(0.0,) * len(times))
        width = _planned_width(fit, planned, room)
        if width <= SURE * WIDEST:
            return WayOn(READ_EVERY, place.hose_length, width)
    return None


def _planned_width(fit: Fit, planned: TimedStart, room: float) -> float:
    """How unsure the time elsewhere would be [-] after a start that has only been planned."""
    logs = [math.log(factor) for factor in fit.factors]

    def off(moved: list[float]) -> np.ndarray:
        return residuals_of(fit.base, planned, factors_of(np.array(moved)), room)[0]

    here, columns = off(logs), []
    for i, step in enumerate(STEPS):
        way = step if logs[i] + step < math.log(BOUNDS[FACTORS[i]][1]) else -step
        columns.append((off([log + way * (i == j) for j, log in enumerate(logs)]) - here) / way)
    jacobian = np.column_stack(columns)
    covariance = max(1.0, fit.misfit**2) * np.linalg.pinv(jacobian.T @ jacobian)
    known = replace(fit, covariance=covariance, freedom=len(here) - len(FACTORS))
    return max((each.half_width for each in foretold(known)), default=math.inf)


@dataclass(frozen=True)
class Foretold:
    """Prime time of the fitted rig at another place: lift and length [m], seconds, its relative half-width [-]."""

    lift: float
    length: float
    time: float
    half_width: float

    @property
    def low(self) -> float:
        """Shortest time 19 times in 20 [s]."""
        return self.time * math.exp(-self.half_width)

    @property
    def high(self) -> float:
        """Longest time 19 times in 20 [s]."""
        return self.time * math.exp(self.half_width)


def foretold(fit: Fit) -> tuple[Foretold, ...]:
    """What the fitted rig should take at other places, with what the start leaves open."""
    start, out = fit.start, []
    for more, longer in ELSEWHERE:
        lift = min(max(start.lift + more, LEAST_LIFT), MOST_LIFT)
        length = round(max(start.hose_length * longer, 1.1 * (lift + start.submergence)), 1)
        time, slopes = _slopes(fit, lift, length)
        if math.isfinite(time):
            variance = float(slopes @ fit.covariance @ slopes)
            out.append(Foretold(lift, length, time, quantile(fit.freedom) * math.sqrt(max(variance, 0.0))))
    return tuple(out)


def _slopes(fit: Fit, lift: float, length: float) -> tuple[float, np.ndarray]:
    """Prime time elsewhere [s], and the slopes of its logarithm over those of the factors, shape (3,) [-]."""
    base, start = fit.base, fit.start

    def at(factors: tuple[float, ...]) -> float:
        return prime_time_at(
            with_factors(base, factors),
            lift,
            length,
            start.hose_bore,
            submergence=start.submergence,
            altitude=start.altitude,
            gas_exponent=factors[2],
        )

    here = at(fit.factors)
    slopes = []
    for i, step in enumerate(STEPS):
        way = step if fit.factors[i] * math.exp(step) < BOUNDS[FACTORS[i]][1] else -step
        moved = tuple(f * math.exp(way) if i == j else f for j, f in enumerate(fit.factors))
        slopes.append((math.log(at(moved)) - math.log(here)) / way if math.isfinite(here) else 0.0)
    found = np.array(slopes)
    return here, np.where(np.isfinite(found), found, 0.0)
