"""What a rig in a given state would show: needles against time, outcome, and the chances of every check's
outcomes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, Check, Look, check_places
from simulator.instruments.gauges import GAUGES, needle, state_of
from simulator.instruments.vacuum_tests import BLANK_DURATION, CAPPED_DURATION, HOLD_DURATION, HOLD_STEPS
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate
from simulator.run.outcome import pumps_well

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


class Observer:
    """Makes outlooks of one rig's states beside the same rig in good order.

    Behind the plate the hose does not count: rigs that differ only in the hose share one blanked run.
    """

    def __init__(self, rig: Rig, site: Site) -> None:
        self.rig, self.site = rig, site
        self.sound = simulate(rig, site, duration=SPAN, rtol=RTOL)
        self._blanks: dict[tuple[str, Rig, Site], Run] = {}
        self._site = site
        self.sound_blank = self.blank(rig, site)
        self.sound_capped = self.capped(rig, site)

    def blank(self, rig: Rig, site: Site) -> Run:
        """The blanked run of a state."""
        return self._test("blank", rig, site, duration=BLANK_DURATION, setup=Setup.BLANKED)

    def hold(self, rig: Rig, site: Site) -> Run:
        """The blanked run of a state with its cock shut and its engine stopped at the end."""
        return self._test("hold", rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)

    def capped(self, rig: Rig, site: Site) -> Run:
        """The run of a state with a cap on its hose."""
        return self._test("capped", rig, site, duration=CAPPED_DURATION, setup=Setup.CAPPED)

    def _test(self, kind: str, rig: Rig, site: Site, **options: Any) -> Run:
        if kind == "capped":
            hose = replace(rig.suction_hose, strainer=self.rig.suction_hose.strainer)
        else:
            hose = self.rig.suction_hose
        # Gauges, discharge side and site do not count behind a plate or a cap.
        plain = replace(
            rig, suction_hose=hose, discharge=self.rig.discharge, suction_gauge=self.rig.suction_gauge,
            motive_gauge=self.rig.motive_gauge, pump=self.rig.pump,
        )  # fmt: skip
        key = (kind, plain, self._site)
        if key not in self._blanks:
            self._blanks[key] = simulate(plain, self._site, rtol=RTOL, **options)
        return self._blanks[key]

    def outlook(self, rig: Rig, site: Site) -> Outlook:
        """Everything kept of one state of the rig."""
        sound = (rig, site) == (self.rig, self.site)
        run = self.sound if sound else simulate(rig, site, duration=SPAN, rtol=RTOL)
        shown = [needle(run, GAUGES[name], state_of(rig, name), 0, tremble=False)[::EVERY] for name in CURVES]
        chances = {
            (name, place): self._chances(CHECKS[name], place, rig, site, run)
            for name, place in check_keys(rig)
        }
        outcome = run.outcome.code
        if outcome == "primed" and not pumps_well(run, self.sound, SPAN):
            outcome = "pumps_badly"
        return Outlook(np.array(shown), float(run.prime_time), outcome, chances)

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
                capped_run=partial(self.capped, rig, site),
                sound_capped_run=lambda: self.sound_capped,
                hold_run=partial(self.hold, rig, site),
                card_rig=self.rig,
                card_site=self.site,
            )
            found = check.probabilities(look)
            out.append([found[outcome] for outcome in check.outcomes])
        chances = np.array(out)
        if not np.all(np.isfinite(chances)) or np.any(chances <= 0.0):
            raise InputError(f"the check {check.id!r} gave {chances.tolist()}", "checks", "chances above 0")
        return chances
