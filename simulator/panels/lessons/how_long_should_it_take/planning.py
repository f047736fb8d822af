"""How long a sound rig should take to prime, for a set-up that somebody types.

The range is that of :mod:`simulator.run.expected`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simulator.errors import InputError
from simulator.panels.teaching.cases import with_hose
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import Run
from simulator.run import expected as ranges
from simulator.run.expected import Expected
from simulator.texts import text

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


def expected_run(setup: SetUp) -> Run:
    """The run of the sound rig as its card has it, until a little after its prime.

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.
    """
    return ranges.expected_run(*setup.built(), setup.speed)


def expected(setup: SetUp) -> Expected:
    """Expected time and range of a set-up [s].

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.

    Examples
    --------
    >>> plan = expected(SetUp())
    >>> plan.low < plan.time < plan.high
    True
    """
    return ranges.expected(*setup.built(), setup.speed)
