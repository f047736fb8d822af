"""What a rig in a given state would show: needles against time, outcome, and the chances of every check's
outcomes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, Check, Look
from simulator.instruments.gauges import GAUGES, needle
from simulator.instruments.vacuum_tests import BLANK_DURATION
from simulator.rig.parts import GaugeState
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate

SPAN = 120.0  # [s] of run that is kept
EVERY = 10  # grid points of the run to one kept: 1 Hz
#: Times of a run [s] at which a look at the running rig is judged.
LOOK_TIMES = (6.0, 12.0, 20.0, 30.0, 40.0, 55.0, 70.0, 90.0)
STOPPED = math.nan  # stands for a look while the engine is stopped
RTOL = 1e-5  # of these runs: some 0.05 kPa, small beside what a model does not know
CURVES = ("suction", "motive")  # gauges whose needles are kept
#: Read off the needles themselves: counted there, not a second time as an outcome.
READ_FROM_NEEDLES = ("gauges",)

CheckKey = tuple[str, str]  # check id, place ("" where there is only one)


@dataclass(frozen=True)
class Outlook:
    """What one rig would show.

    ``needles`` [Pa gauge, suction as vacuum], shape (gauges, seconds), without shake; ``prime_time`` [s], nan
    when it does not prime in ``SPAN``; ``chances`` for each check and place the outcome probabilities [-] at
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
    joints = [f"joint:{i}" for i in range(len(rig.suction_hose.joints))]
    return tuple(
        (check.id, place)
        for check in CHECKS.values()
        if check.id not in READ_FROM_NEEDLES
        for place in (joints if check.per_joint else [""])
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


class Observer:
    """Makes outlooks of one rig's states beside the same rig in good order.

    Behind the plate the hose does not count: rigs that differ only in the hose share one blanked run.
    """

    def __init__(self, rig: Rig, site: Site) -> None:
        self.rig, self.site = rig, site
        self.sound = simulate(rig, site, duration=SPAN, rtol=RTOL)
        self._blanks: dict[tuple[Rig, Site], Run] = {}
        self.sound_blank = self.blank(rig, site)

    def blank(self, rig: Rig, site: Site) -> Run:
        """The blanked run of a state."""
        key = (replace(rig, suction_hose=self.rig.suction_hose), site)
        if key not in self._blanks:
            self._blanks[key] = simulate(*key, duration=BLANK_DURATION, setup=Setup.BLANKED, rtol=RTOL)
        return self._blanks[key]

    def outlook(self, rig: Rig, site: Site) -> Outlook:
        """Everything kept of one state of the rig."""
        sound = (rig, site) == (self.rig, self.site)
        run = self.sound if sound else simulate(rig, site, duration=SPAN, rtol=RTOL)
        steady = GaugeState()
        shown = [needle(run, GAUGES[name], steady, 0, tremble=False)[::EVERY] for name in CURVES]
        chances = {
            (name, place): self._chances(CHECKS[name], place, rig, site, run)
            for name, place in check_keys(rig)
        }
        return Outlook(np.array(shown), float(run.prime_time), run.outcome.code, chances)

    def _chances(self, check: Check, place: str, rig: Rig, site: Site, run: Run) -> np.ndarray:
        blank: Callable[[], Run] = partial(self.blank, rig, site)
        out = []
        for time in look_times(check):
            stopped = math.isnan(time)
            look = Look(
                rig=rig,
                site=site,
                run=run,
                time=SPAN if stopped else time,
                running=not stopped,
                place=place or check.place,
                sound_run=self.sound,
                blank_run=blank,
                sound_blank_run=lambda: self.sound_blank,
            )
            found = check.probabilities(look)
            out.append([found[outcome] for outcome in check.outcomes])
        chances = np.array(out)
        if not np.all(np.isfinite(chances)) or np.any(chances <= 0.0):
            raise InputError(f"the check {check.id!r} gave {chances.tolist()}", "checks", "chances above 0")
        return chances
