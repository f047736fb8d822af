"""Two computations of the same run held against each other: the fast integrator and the reference.

Rules: suction pressure within 0.05 kPa outside 0.1 s of an event and the same sequence of events; prime time within
0.1 s and 0.2 %. Where a valve pops, the pump primes, a shut-in column of water bounces or a strainer near the surface
gulps air again and again, small differences shift the later instants: such runs may be compared by counts, means and
envelopes within 1 % instead.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import numpy as np

from simulator.run.result import Run

PRESSURE = 50.0  # [Pa]
AROUND_EVENTS = 0.1  # [s]
PRIME_SECONDS, PRIME_SHARE = 0.1, 0.002
STATISTICS = 0.01  # [-]
OFTEN = (
    10  # events of one kind, bounces, or turns of the air at the strainer, from which a run repeats itself
)
BOUNCE = 1e4  # [Pa] by which the suction pressure rises out of its surroundings in a bounce
COMPARED = ("suction_pressure", "motive_pressure", "discharge_flow")


@dataclass(frozen=True)
class Comparison:
    """How far two runs are apart.

    ``pressure_gap`` [Pa]: largest difference in suction pressure outside 0.1 s of an event of either run.
    ``prime_gap`` [s]: difference of the prime times, inf where only one primes. ``same_events``: same kinds in the
    same order. ``repeating``: an event of one kind, a bounce or a gulp of air happens often. ``count_gap``,
    ``statistics_gap`` [-]: largest relative difference of the counts of events, and of mean, least and greatest value
    of pressures and flow.
    """

    pressure_gap: float
    prime_gap: float
    prime_allowed: float
    same_events: bool
    repeating: bool
    count_gap: float
    statistics_gap: float

    @property
    def same_prime(self) -> bool:
        """Whether the prime times agree by the rule."""
        return self.prime_gap <= self.prime_allowed

    @property
    def same_course(self) -> bool:
        """Whether pressure and events agree by the rule, for runs that repeat themselves by their statistics."""
        if self.same_events and self.pressure_gap <= PRESSURE:
            return True
        return self.repeating and max(self.count_gap, self.statistics_gap) <= STATISTICS

    def sentence(self) -> str:
        """The figures in words.

        Examples
        --------
        >>> Comparison(12.0, 0.0, 0.18, True, False, 0.0, 0.0).sentence()
        '12.0 Pa apart, same events, prime times 0.00 s apart'
        """
        events = "same events" if self.same_events else f"events {100.0 * self.count_gap:.1f} % apart"
        return f"{self.pressure_gap:.1f} Pa apart, {events}, prime times {self.prime_gap:.2f} s apart" + (
            f", statistics {100.0 * self.statistics_gap:.2f} % apart" if self.repeating else ""
        )


def compare(run: Run, reference: Run) -> Comparison:
    """Hold a run against another computation of it on the same grid."""
    gap = np.abs(run.suction_pressure - reference.suction_pressure)
    calm = np.ones(len(gap), dtype=bool)
    for event in (*run.events, *reference.events):
        calm &= np.abs(run.time - event.time) > AROUND_EVENTS
    kinds, reference_kinds = (
        [(event.kind, event.detail) for event in one.events] for one in (run, reference)
    )
    counts, reference_counts = Counter(kinds), Counter(reference_kinds)
    count_gap = max(
        (abs(counts[kind] - n) / n for kind, n in reference_counts.items()),
        default=0.0,
    )
    if set(counts) - set(reference_counts):
        count_gap = math.inf
    return Comparison(
        pressure_gap=float(gap[calm].max(initial=0.0)),
        prime_gap=prime_gap(run.prime_time, reference.prime_time),
        prime_allowed=allowed(reference.prime_time),
        same_events=kinds == reference_kinds,
        repeating=max(*reference_counts.values(), _bounces(reference), _turns_of_air(reference)) >= OFTEN,
        count_gap=count_gap,
        statistics_gap=max(_statistics_gap(getattr(run, n), getattr(reference, n)) for n in COMPARED),
    )


def _bounces(run: Run) -> int:
    from scipy.signal import find_peaks  # here, as it is slow to load

    return len(find_peaks(run.suction_pressure, prominence=BOUNCE)[0])


def _turns_of_air(run: Run) -> int:
    """How often air begins or ceases to come in at the strainer."""
    return int(np.count_nonzero(np.diff(run.end_air > 0.0)))


def prime_gap(one: float, two: float) -> float:
    """Difference of two prime times [s]; 0 when neither primes, inf when only one does.

    Examples
    --------
    >>> prime_gap(math.nan, math.nan), prime_gap(40.0, math.nan)
    (0.0, inf)
    """
    if math.isnan(one) and math.isnan(two):
        return 0.0
    if math.isnan(one) or math.isnan(two):
        return math.inf
    return abs(one - two)


def allowed(prime_time: float) -> float:
    """By how much a prime time [s] may differ [s]; it stands on a grid of 0.1 s, so equality within it counts.

    Parameters
    ----------
    prime_time : [s], of the finer of two runs.

    Examples
    --------
    >>> round(allowed(50.0), 6)
    0.2
    """
    return PRIME_SECONDS + (PRIME_SHARE * prime_time if math.isfinite(prime_time) else 0.0) + 1e-9


def _statistics_gap(one: np.ndarray, two: np.ndarray) -> float:
    """Largest relative difference of mean, least and greatest value, over the reference's greatest size [-]."""
    size = float(np.abs(two).max())
    if size == 0.0:
        return 0.0 if not np.any(one) else math.inf
    gaps = (one.mean() - two.mean(), one.min() - two.min(), one.max() - two.max())
    return float(max(abs(gap) for gap in gaps)) / size
