"""What a rig in a given state would show: needles against time, outcome, and the chances of every check's
outcomes.

Throughout: ``site`` is where the rig stands; ``kind`` is that of a test: blank, hold or capped; ``place`` where on
the rig a look is made; ``sound_prime_time`` that of the rig in good order [s].
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, Check, Look, check_places
from simulator.instruments.gauges import GAUGES, needle_of
from simulator.instruments.vacuum_tests import BLANK_DURATION, CAPPED_DURATION, HOLD_DURATION, HOLD_STEPS
from simulator.rig.onset import as_at
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate
from simulator.run.batch import Case, LightRun, run_batch
from simulator.run.outcome import proof_limit, pumps_well

SPAN = 120.0  # [s] of run that is kept at least
LONGEST_SPAN = 300.0  # [s] where even a sound rig is slow
WATCH_SLACK = 20.0  # [s] a start is watched beyond the time it should take
EVERY = 10  # grid points of the run to one kept: 1 Hz
#: Times of a run [s] at which a look at the running rig is judged.
LOOK_TIMES = (6.0, 12.0, 20.0, 30.0, 40.0, 55.0, 70.0, 90.0, 115.0)
NEAR_PRIME = (
    3.0  # [s] to either side of a prime in which a look shows neither what was before nor what comes after
)
STOPPED = math.nan  # stands for a look while the engine is stopped
RTOL = 1e-4  # of these runs: some 0.05 kPa, 0.3 at worst, small beside what a model does not know
CURVES = ("suction", "motive")  # gauges whose needles are kept
#: Read off the needles themselves: counted there, not a second time as an outcome.
READ_FROM_NEEDLES = ("gauges",)

#: Looks that are test runs of their own: they cost most to work out.
TESTED = ("blank_off", "hold_test", "capped_hose")
SETTLES = 6.0  # [s] after the prime until the needle has jumped and stands
MOVED = 8e3  # [Pa] that a needle has to go for its way to be told
MOVED_STEADY = (
    4e3  # [Pa] the same of one that had stood while the pump ran well: the swing of the bite is over
)

CheckKey = tuple[str, str]  # check id, place ("" where there is only one)


@dataclass(frozen=True)
class Outlook:
    """What one rig would show.

    ``needles`` [Pa gauge, suction as vacuum], shape (gauges, seconds), without shake; ``prime_time`` [s], nan
    when it does not prime in the time that is kept; ``chances`` for each check and place the outcome probabilities [-] at
    each look time, shape (times, outcomes).
    """

    needles: np.ndarray
    prime_time: float
    outcome: str
    chances: dict[CheckKey, np.ndarray]


def check_keys(rig: Rig) -> tuple[CheckKey, ...]:
    """Every check with every place that tells something beyond the needles.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> ("joint_apart", "joint:1") in check_keys(load_rig("osier"))
    True
    """
    return tuple(
        (check.id, place if check.per_joint or check.per_length else "")
        for check in CHECKS.values()
        if check.id not in READ_FROM_NEEDLES
        for place in check_places(check, rig)
    )


def look_times(check: Check) -> tuple[float, ...]:
    """Times of the run [s] at which a check is judged; nan stands for the stopped engine.

    Examples
    --------
    >>> look_times(CHECKS["strainer_out"])
    (nan,)
    """
    if "running" in check.needs:
        return LOOK_TIMES
    if {"stopped", "isolated"} & set(check.needs):
        return (STOPPED,)
    return (STOPPED, *LOOK_TIMES)


def time_index(check: Check, time: float) -> int:
    """Which of the look times stands for a time [s] of the run; nan for a stopped engine.

    Examples
    --------
    >>> time_index(CHECKS["exhaust_stream"], 32.0)
    3
    """
    times = look_times(check)
    if math.isnan(time):
        return 0 if math.isnan(times[0]) else len(times) - 1
    gaps = [math.inf if math.isnan(known) else abs(known - time) for known in times]
    return int(np.argmin(gaps)) if min(gaps) < math.inf else 0


def times_beside(
    check: Check, time: float, prime_times: np.ndarray, *, primed: bool, within: np.ndarray
) -> np.ndarray:
    """Share of each look time [-] that stands for a look at a time of a run, for each row, (rows, times).

    A run that has primed by then is like a row after that row's own prime, one that has not like a row before it,
    whenever that is. All nought where no look time of a row is on the same side of its prime.

    Parameters
    ----------
    check : a look at the running rig.
    time : [s] of the run.
    prime_times : of the rows [s], shape (rows,); nan: they have none.
    primed : whether the run had primed by then.
    within : [s] how far to either side the time may be for each row, shape (rows,): 0, the nearest look time alone.

    Examples
    --------
    >>> rows = np.array([60.0, 84.0, np.nan])
    >>> shares = times_beside(CHECKS["exhaust_stream"], 81.0, rows, primed=False, within=np.zeros(3))
    >>> [look_times(CHECKS["exhaust_stream"])[at] for at in shares.argmax(axis=1)]
    [55.0, 70.0, 90.0]
    """
    times = np.array(look_times(check))
    primes = np.where(np.isfinite(prime_times), prime_times, np.inf)[:, None]
    with np.errstate(invalid="ignore"):
        beside = times >= primes + NEAR_PRIME if primed else times <= primes - NEAR_PRIME
    gaps = np.where(beside, np.abs(times - time), np.inf)  # a look with the engine stopped is beside none
    nearest = gaps == gaps.min(axis=1, keepdims=True)
    near = beside & ((gaps <= within[:, None]) | nearest)
    return near / np.maximum(near.sum(axis=1, keepdims=True), 1)


@dataclass(frozen=True)
class Trace:
    """The suction side of a test run, all that is read of one: ``time`` [s] and pressure [Pa abs], shape (n,)."""

    time: np.ndarray
    atmosphere: float  # [Pa abs]
    suction_pressure: np.ndarray

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(name)  # nothing else is kept


TESTS: dict[str, dict[str, Any]] = {
    "blank": {"duration": BLANK_DURATION, "setup": Setup.BLANKED},
    "hold": {"duration": HOLD_DURATION, "setup": Setup.BLANKED, "controls": HOLD_STEPS},
    "capped": {"duration": CAPPED_DURATION, "setup": Setup.CAPPED},
}
TestKey = tuple[str, Rig]  # kind of test, and the rig less what does not count in it


def span_for(sound_prime_time: float) -> float:
    """Seconds of run to keep where a rig in good order takes a time [s] to prime, nan where it never does.

    Examples
    --------
    >>> span_for(36.0), span_for(100.0), span_for(float("nan"))
    (120.0, 160.0, 120.0)
    """
    if not math.isfinite(sound_prime_time):
        return SPAN
    return float(min(max(math.ceil(proof_limit(sound_prime_time) + WATCH_SLACK), SPAN), LONGEST_SPAN))


class Observer:
    """Makes outlooks of one rig's states beside the same rig in good order.

    Behind the plate the hose does not count: rigs that differ only in the hose share one blanked run. ``gas_exponent``
    [-] holds for the states, not for the rig in good order: what its card was worked out for.
    """

    def __init__(self, rig: Rig, site: Site, gas_exponent: float = 1.0) -> None:
        self.rig, self.site, self.gas_exponent = rig, site, gas_exponent
        self._tests: dict[TestKey, Trace] = {}
        self.sound: Run = simulate(rig, site, duration=LONGEST_SPAN, rtol=RTOL)
        self.span = span_for(float(self.sound.prime_time))
        self.sound = simulate(rig, site, duration=self.span, rtol=RTOL)
        self.sound_tests = {kind: self._simulated((kind, rig), 1.0) for kind in self.kinds()}

    def kinds(self) -> tuple[str, ...]:
        """Kinds of tests that can be made on this rig."""
        return tuple(kind for kind in TESTS if kind != "hold" or self.rig.has_isolating_cock)

    def beside(self, gas_exponent: float) -> Observer:
        """Another observer beside the same rig in good order, for states whose air has another exponent [-]."""
        other = copy(self)
        other.gas_exponent, other._tests = gas_exponent, {}
        return other

    def key(self, kind: str, rig: Rig) -> TestKey:
        """A test of a state: gauges, discharge side and site do not count behind a plate or a cap."""
        hose = self.rig.suction_hose
        if kind == "capped":
            hose = replace(rig.suction_hose, strainer=hose.strainer)
        return kind, replace(
            rig, suction_hose=hose, discharge=self.rig.discharge, suction_gauge=self.rig.suction_gauge,
            motive_gauge=self.rig.motive_gauge, pump=self.rig.pump,
        )  # fmt: skip

    def start(self, rig: Rig, site: Site) -> Case:
        """The run of a state from a dry start."""
        return Case(rig, site, {"duration": self.span, "rtol": RTOL, "gas_exponent": self.gas_exponent})

    def run_tests(self, rigs: Iterable[Rig], threads: int) -> None:
        """Run all tests of some states, on threads, so that looks find them ready."""
        wanted = dict.fromkeys(self.key(kind, rig) for rig in rigs for kind in self.kinds())
        keys = [key for key in wanted if key not in self._tests]
        cases = [self._case(key, self.gas_exponent) for key in keys]
        for key, run in zip(
            keys, run_batch(cases, channels=("suction_pressure",), threads=threads), strict=True
        ):
            self._tests[key] = self._trace(run)

    def test(self, kind: str, rig: Rig) -> Trace:
        """A test run of a state: blank, hold or capped."""
        key = self.key(kind, rig)
        if key not in self._tests:
            self._tests[key] = self._simulated(key, self.gas_exponent)
        return self._tests[key]

    def _case(self, key: TestKey, gas_exponent: float) -> Case:
        return Case(key[1], self.site, {**TESTS[key[0]], "rtol": RTOL, "gas_exponent": gas_exponent})

    def _simulated(self, key: TestKey, gas_exponent: float) -> Trace:
        case = self._case(key, gas_exponent)
        return self._trace(simulate(case.rig, case.site, **case.options))

    def _trace(self, run: Run | LightRun) -> Trace:
        return Trace(run.time, self.sound.atmosphere, np.asarray(run.suction_pressure))

    def run_of(self, rig: Rig, site: Site) -> Run:
        """The run of a state from a dry start."""
        if (rig, site, self.gas_exponent) == (self.rig, self.site, 1.0):
            return self.sound
        case = self.start(rig, site)
        return simulate(case.rig, case.site, **case.options)

    def outlook(self, rig: Rig, site: Site, run: Run | None = None) -> Outlook:
        """Everything kept of one state of the rig; ``run`` is its run from a dry start where it is there already."""
        run = self.run_of(rig, site) if run is None else run
        chances = {
            (name, place): self.chances(CHECKS[name], place, rig, site, run)
            for name, place in check_keys(rig)
        }
        return Outlook(self.needles(rig, run), float(run.prime_time), self.outcome(run), chances)

    def needles(self, rig: Rig, run: Run) -> np.ndarray:
        """What a patient eye reads of a run [Pa], shape (gauges, seconds)."""
        return np.array([needle_of(run, GAUGES[name], rig, 0, tremble=False)[::EVERY] for name in CURVES])

    def outcome(self, run: Run) -> str:
        """How a run ended, beside the rig in good order."""
        well = run.outcome.code != "primed" or pumps_well(run, self.sound, self.span)
        return run.outcome.code if well else "pumps_badly"

    def chances(
        self,
        check: Check,
        place: str,
        rig: Rig,
        site: Site,
        run: Run | None,
        times: tuple[float, ...] | None = None,
    ) -> np.ndarray:
        """Outcome probabilities [-] of a check at some times [s], by default its look times, (times, outcomes).

        A test run (``TESTED``) asks for no run from a dry start.

        Raises
        ------
        InputError : the check's judge gave a chance that is none, or 0.
        """
        out = []
        for time in look_times(check) if times is None else times:
            stopped = math.isnan(time)
            now, here = (rig, site) if stopped else as_at(rig, site, time)
            look = Look(
                rig=now,
                site=here,
                run=run,
                time=self.span if stopped else time,
                running=not stopped,
                place=place or check.place,
                sound_run=self.sound,
                blank_run=partial(self.test, "blank", rig),
                sound_blank_run=lambda: self.sound_tests["blank"],
                capped_run=partial(self.test, "capped", rig),
                sound_capped_run=lambda: self.sound_tests["capped"],
                hold_run=partial(self.test, "hold", rig),
                card_rig=self.rig,
                card_site=self.site,
            )
            found = check.probabilities(look)
            out.append([found[outcome] for outcome in check.outcomes])
        chances = np.array(out)
        if not (chances.min() > 0.0 and chances.max() < math.inf):  # what is no number is neither
            raise InputError(f"the check {check.id!r} gave {chances.tolist()}", "checks", "chances above 0")
        return chances


def which_way(needle: np.ndarray, prime_time: float, until: float, since: float | None = None) -> int:
    """Which way a suction needle has gone since just after the prime: 1 up, -1 down, 0 neither or not to be seen.

    Parameters
    ----------
    needle : each second [Pa], shape (seconds,).
    prime_time : [s]; nan where it never primed.
    until : [s] when it is read.
    since : [s] when the pump was last seen to run well, where it was; it is read from there then.

    Examples
    --------
    >>> which_way(np.array([0.0] * 10 + [60e3] * 20 + [88e3] * 10), 10.0, 39.0)
    1
    """
    last = min(int(until), len(needle) - 1)
    if not np.isfinite(prime_time) or last <= prime_time + SETTLES:
        return 0
    moved = float(needle[last]) - float(needle[int(prime_time + SETTLES if since is None else since)])
    return 0 if not abs(moved) >= (MOVED if since is None else MOVED_STEADY) else 1 if moved > 0.0 else -1
