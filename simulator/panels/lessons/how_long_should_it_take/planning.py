"""How long a sound rig should take to prime, with the band that rigs of its kind stay in.

The band is the range of :data:`SIBLINGS` rigs of the kind, spread evenly by a Latin hypercube. Of independent draws the
range of n holds (n - 1) of (n + 1), nine in ten (order statistics); drawn evenly it holds more: rigs drawn otherwise bear
out :data:`COVERAGE`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import scipy

from simulator.errors import InputError
from simulator.panels.teaching.cases import with_hose
from simulator.panels.teaching.siblings import DRAWS, sibling
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import Run, simulate
from simulator.run.batch import Case, run_batch
from simulator.run.result import ControlStep
from simulator.texts import text

SIBLINGS = 19
COVERAGE = 0.95  # [-] share of rigs that prime within the band
LONGEST = 900.0  # [s] beyond which a rig counts as one that never primes
FIRST_LOOK = 120.0  # [s] most sound rigs have primed by then
LEGAL = {
    "bore": (0.05, 0.40),  # [m]
    "length": (2.0, 60.0),  # [m]
    "lift": (0.5, 9.0),  # [m]
    "altitude": (0.0, 4000.0),  # [m]
    "speed": (0.5, 1.1),  # [-] of rated
}


@dataclass(frozen=True)
class SetUp:
    """What somebody sets up: a rig of the yard with a hose of a bore [m] and length [m], a lift [m] at an altitude [m],
    and an engine speed [-] of rated.

    Raises
    ------
    InputError : a figure is out of range, or the hose is too short for the lift.

    Examples
    --------
    >>> SetUp().rig
    'osier'
    """

    rig: str = "osier"
    bore: float = 0.15
    length: float = 10.0
    lift: float = 3.0
    altitude: float = 0.0
    speed: float = 1.0

    def __post_init__(self) -> None:
        if self.rig not in rig_names():
            raise InputError(f"there is no rig {self.rig!r}", "rig", ", ".join(rig_names()))
        for name, (low, high) in LEGAL.items():
            value = getattr(self, name)
            if not (isinstance(value, (int, float)) and math.isfinite(value) and low <= value <= high):
                raise InputError(f"the {name} is {value!r}", name, f"{low:g} to {high:g}")
        if self.length < self.least_length():
            raise InputError(
                text("lesson_02.planner.too_short"), "length", f"{self.least_length():.1f} m or more"
            )

    def least_length(self) -> float:
        """Length of hose [m] that the lift asks for at least."""
        return math.ceil(10.6 * (self.lift + standard_site(self.rig).submergence)) / 10.0

    def built(self) -> tuple[Rig, Site]:
        """The rig, sound, and the site."""
        rig = with_hose(load_rig(self.rig), self.length, self.bore)
        site = replace(standard_site(self.rig), lift=self.lift, altitude=self.altitude, profile=())
        hose_profile(rig, site)
        return rig, site


@lru_cache(maxsize=1)
def _draws() -> np.ndarray:
    """Even draws in [-1, 1] for the siblings, shape (siblings, quantities): a Latin hypercube, always the same."""
    sampler = scipy.stats.qmc.LatinHypercube(d=DRAWS, seed=19)
    return np.asarray(2.0 * sampler.random(SIBLINGS) - 1.0)


@lru_cache(maxsize=64)
def expected_run(setup: SetUp) -> Run:
    """The run of the sound rig as its card has it, until a little after its prime; else to :data:`LONGEST`.

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.
    """
    rig, site = setup.built()
    controls = (ControlStep(0.0, setup.speed),)
    run = simulate(rig, site, controls=controls, duration=FIRST_LOOK)
    return run if run.primed else simulate(rig, site, controls=controls, duration=LONGEST)


@dataclass(frozen=True)
class Expected:
    """Expected time [s] of a set-up and the band [s] of rigs of its kind; nan and inf where they never prime."""

    time: float
    low: float
    high: float


@lru_cache(maxsize=512)
def expected(setup: SetUp) -> Expected:
    """Expected time and band; see the head of the module.

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.

    Examples
    --------
    >>> plan = expected(SetUp())
    >>> plan.low < plan.time < plan.high
    True
    """
    run = expected_run(setup)
    rig, site = setup.built()
    watched = min(1.3 * run.prime_time + 12.0, LONGEST) if run.primed else LONGEST
    times = _times(rig, site, setup.speed, watched)
    if np.isnan(times).any() and watched < LONGEST:
        times = _times(rig, site, setup.speed, LONGEST)
    filled = np.where(np.isnan(times), math.inf, times)
    return Expected(float(run.prime_time), float(filled.min()), float(filled.max()))


def _times(rig: Rig, site: Site, speed: float, watched: float) -> np.ndarray:
    cases = []
    for draw in _draws():
        other, exponent, faster = sibling(rig, draw)
        options: dict[str, Any] = {
            "controls": (ControlStep(0.0, min(speed * faster, 1.2)),),
            "duration": round(watched, 1),
            "gas_exponent": exponent,
        }
        cases.append(Case(other, site, options))
    runs = run_batch(cases, channels=("suction_pressure",), every=1.0)
    return np.array([run.prime_time for run in runs])
