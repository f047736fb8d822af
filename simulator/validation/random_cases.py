"""Cases drawn at random over rigs, sites, faults, severities, set-ups and controls, for properties that always hold.

What is drawn is written once; a generator of random numbers or a searching test tool makes the choices.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Protocol, TypeVar

import numpy as np

from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site
from simulator.run.batch import Case
from simulator.run.layout import Setup
from simulator.run.result import ControlStep

T = TypeVar("T")
LONGEST = 300.0  # [s]


class Chooser(Protocol):
    """Whoever makes the choices."""

    def between(self, low: float, high: float) -> float:
        """A number from low to high."""

    def one_of(self, things: Sequence[Any]) -> Any:
        """One of several things."""


class DiceChooser:
    """Choices from a seeded generator: the same seed gives the same cases."""

    def __init__(self, seed: int) -> None:
        self._generator = np.random.default_rng(seed)

    def between(self, low: float, high: float) -> float:
        """A number from low to high, evenly."""
        return float(self._generator.uniform(low, high))

    def one_of(self, things: Sequence[T]) -> T:
        """One of several things, each as likely."""
        return things[int(self._generator.integers(len(things)))]


def draw_site(choose: Chooser) -> Site:
    """A site anywhere within what the rigs may meet, in SI units.

    Parameters
    ----------
    choose : what is drawn from.
    """
    return replace(
        standard_site(),
        name="drawn at random",
        lift=choose.between(0.3, 9.5),
        submergence=choose.between(0.1, 2.0),
        altitude=choose.between(-200.0, 2500.0),
        air_temperature=choose.between(258.15, 318.15),
        water_temperature=choose.between(273.65, 313.15),
    )


def draw_rig(choose: Chooser, site: Site) -> Rig:
    """One of the package's rigs with a hose that reaches the water, some with other parts than usual.

    Parameters
    ----------
    choose : what is drawn from.
    site : whose water the hose must reach.
    """
    rig = load_rig(choose.one_of(shipped_rig_names()))
    hose = rig.suction_hose
    longer = max(hose.length, 1.06 * (site.lift + site.submergence)) * choose.between(1.0, 1.6)
    rig = with_hose_length(rig, longer)
    if choose.one_of((False, False, True)):
        blocked = choose.between(0.0, 1.0)
        rig = replace(rig, exhaust_hose=replace(rig.exhaust_hose, blocked=blocked))
    if choose.one_of((False, False, True)):
        rig = replace(rig, separator=replace(rig.separator, has_float=True))
    return rig


def draw_lay(choose: Chooser, rig: Rig, site: Site) -> Site:
    """The site with the hose laid over a high spot, where the hose is long enough for one.

    Parameters
    ----------
    choose : what is drawn from.
    rig : whose hose is laid.
    """
    length, top = rig.suction_hose.length, site.lift
    spare = 0.55 * length - site.submergence - top
    if spare < 0.1:
        return site
    above = choose.between(0.05, min(spare, 2.0))
    below = choose.between(0.0, min(0.19 * length, max(0.24 * length - above, 0.0)))
    lay = ((0.0, -site.submergence), (0.55 * length, top + above), (0.8 * length, top - below), (length, top))
    return replace(site, profile=lay)


def draw_fault(choose: Chooser, rig: Rig, site: Site) -> tuple[Rig, Site]:
    """The rig with none, one or two faults of any legal size.

    Parameters
    ----------
    choose : what is drawn from.
    site : which the fault may change too, as a falling level does.
    """
    for _ in range(choose.one_of((0, 1, 1, 2))):
        fitting = tuple(name for name, item in FAULTS.items() if item.places(rig))
        fault = FAULTS[choose.one_of(fitting)]
        place = choose.one_of(fault.places(rig))
        size = choose.between(fault.size.low, fault.size.high) if fault.size else 0.0
        rig, site = fault.apply(rig, site, size, place)
    return rig, site


def draw_options(choose: Chooser) -> dict[str, Any]:
    """Set-up, duration, gas, engine controls and slow changes of a run.

    Parameters
    ----------
    choose : what is drawn from.
    """
    options: dict[str, Any] = {
        "duration": round(choose.between(20.0, LONGEST), 1),
        "setup": choose.one_of((Setup.NORMAL, Setup.NORMAL, Setup.NORMAL, Setup.BLANKED, Setup.CAPPED)),
        "gas_exponent": choose.one_of((1.0, 1.0, 1.2, 1.4)),
    }
    if choose.one_of((False, True)):
        steps, time = [ControlStep(0.0, 1.0)], 0.0
        for _ in range(choose.one_of((1, 2, 3))):
            time += choose.between(0.5, 90.0)
            speed = choose.one_of((0.0, choose.between(0.3, 1.0), 1.0))
            steps.append(ControlStep(round(time, 2), speed, choose.one_of((True, True, False))))
        options["controls"] = tuple(steps)
    if choose.one_of((False, True)):
        target, last = choose.one_of(
            (
                ("level_drop", choose.between(-1.0, 3.0)),
                ("strainer_blocked", choose.between(0.0, 0.999)),
                ("belt_slip", choose.between(0.0, 1.0)),
                ("line_burst", choose.between(0.0, 1.0)),
                ("gasket_area", choose.between(0.0, 5e-4)),
                ("head_factor", choose.between(0.0, 1.0)),
            )
        )
        start = choose.between(0.0, 200.0)
        first = 1.0 if target == "head_factor" else 0.0
        options["ramps"] = (Ramp(target, start, start + choose.between(0.5, 100.0), first, last),)
    return options


def draw_case(choose: Chooser) -> Case:
    """One case; every run of it must go through, with books that close.

    Parameters
    ----------
    choose : what is drawn from.
    """
    site = draw_site(choose)
    rig = draw_rig(choose, site)
    if choose.one_of((False, False, True)):
        site = draw_lay(choose, rig, site)
    rig, site = draw_fault(choose, rig, site)
    return Case(rig, site, draw_options(choose))


def random_cases(count: int, seed: int = 1) -> list[Case]:
    """So many cases [-], the same ones for the same seed [-].

    Parameters
    ----------
    count : of cases [-].

    Examples
    --------
    >>> [case.site.lift for case in random_cases(3)] == [case.site.lift for case in random_cases(3)]
    True
    """
    choose = DiceChooser(seed)
    return [draw_case(choose) for _ in range(count)]
