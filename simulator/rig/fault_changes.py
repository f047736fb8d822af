"""What each fault does to a rig or its site: small functions from sound to altered, in physical quantities.

Arguments, the same throughout: ``rig``, ``site`` as they are before the fault; ``place`` where it is: the
number of a joint, a length of hose or a gauge as the catalogue names it, or empty; ``size`` how bad it is, in
the SI unit that the catalogue gives [unit of the fault]; ``kind`` which places are counted; ``count`` how
many there are [-]; ``index`` which one, from 0 [-]; ``residual_area`` what a closed liner leaves open [m2]; ``target``
the quantity that a ramp changes; ``of_size`` from the size to that quantity.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from simulator.errors import InputError
from simulator.rig.parts import Hole, Joint
from simulator.rig.quantity import replaced
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site, hose_profile

Change = Callable[[Rig, Site, float, str], tuple[Rig, Site]]

HUNG_WELL = 0.6  # [m] submergence of a strainer whose rope is a little short
SLACK_HOSE = 1.06  # hose length over the height it climbs, at least
LEVEL_FALLS = (50.0, 100.0)  # [s] between which a small pit is drawn down; made up for training


def place_index(place: str, kind: str, count: int) -> int:
    """Number [-] in a place such as ``joint:1``.

    Raises
    ------
    InputError : the place names no such part.

    Examples
    --------
    >>> place_index("length:2", "length", 4)
    2
    """
    for index in range(count):
        if place == f"{kind}:{index}":
            return index
    raise InputError(f"there is no {kind} {place!r}", "place", ", ".join(f"{kind}:{i}" for i in range(count)))


def joint_index(place: str, rig: Rig) -> int:
    """Index [-] of the joint a place such as ``joint:1`` names.

    Raises
    ------
    InputError : the place names no joint of this rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> joint_index("joint:1", load_rig("osier"))
    1
    """
    return place_index(place, "joint", len(rig.suction_hose.joints))


def with_joint_hole(rig: Rig, index: int, diameter: float) -> Rig:
    """A copy of the rig with a hole of a diameter [m] at one joint; 0 is a whole ring.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> with_joint_hole(load_rig("osier"), 1, 0.006).suction_hose.joints[1].hole_diameter
    0.006
    """
    joints = list(rig.suction_hose.joints)
    joints[index] = Joint(position=joints[index].position, hole_diameter=diameter)
    return replace(rig, suction_hose=replace(rig.suction_hose, joints=tuple(joints)))


def part_changed(part: str, field: str, of_size: Callable[[float], Any] = float) -> Change:
    """A change of one field of one part, such as ``casing`` or ``suction_hose.strainer``; ``of_size`` gives its value
    for a size in SI units."""

    def change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
        return replaced(rig, part, **{field: of_size(size)}), site

    return change


def no_change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """The sound rig."""
    return rig, site


def joint_ring(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """A hole of this diameter [m] at a joint."""
    return with_joint_hole(rig, joint_index(place, rig), size), site


def hose_hole(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """A hole of this diameter [m] half-way along one hose length."""
    hose = rig.suction_hose
    ends = (0.0, *(joint.position for joint in hose.joints))
    number = place_index(place, "length", len(hose.joints))
    hole = Hole(position=round(0.5 * (ends[number] + ends[number + 1]), 6), diameter=size)
    return replace(rig, suction_hose=replace(hose, holes=(*hose.holes, hole))), site


def liner_loose(residual_area: float) -> Change:
    """A liner that closes at a pressure [Pa] and leaves an area [m2] open."""

    def change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
        liner = replace(rig.suction_hose.liner, closing_pressure=size, residual_area=residual_area)
        return replace(rig, suction_hose=replace(rig.suction_hose, liner=liner)), site

    return change


def strainer_high(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """The strainer hangs higher by this much [m]; the deep spot is where it should have been."""
    return rig, replace(site, submergence=max(HUNG_WELL - size, -0.5), deepest_spot=site.submergence)


def pump_high(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """The pump stands this far [m] above the water, as far as its hose reaches."""
    reach = rig.suction_hose.length / SLACK_HOSE - site.submergence
    return rig, replace(site, lift=max(min(size, reach), site.lift), lowest_stand=site.lift)


def hose_humped(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """The hose lies over a hump of this height [m] above the dip that follows it, on its way up."""
    profile = hose_profile(rig, site)
    length, bottom, top = rig.suction_hose.length, profile[0][1], profile[-1][1]
    climb = length - 2.4
    crest = top + 0.15
    points = ((0.0, bottom), (climb, crest), (climb + 1.2, crest - size), (length, top))
    return rig, replace(site, profile=tuple((round(s, 6), round(z, 6)) for s, z in points))


def ramped(target: str, span: tuple[float, float], of_size: Callable[[float], float] = float) -> Change:
    """A quantity that changes while the rig runs, from sound to a size, over a span of time [s]."""

    def change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
        ramp = Ramp(target, start_time=span[0], end_time=span[1], first=0.0, last=of_size(size))
        return replace(rig, ramps=(*rig.ramps, ramp)), site

    return change


def level_falls(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    """The water goes down by this much [m] as the pump draws; nearby the bed is deeper by as much."""
    altered, _ = ramped("level_drop", LEVEL_FALLS)(rig, site, size, place)
    reach = rig.suction_hose.length / SLACK_HOSE - site.lift
    return altered, replace(site, deepest_spot=round(min(site.submergence + size, reach), 6))


def hole_area(diameter: float) -> float:
    """Area [m2] of a round hole of a diameter [m].

    Examples
    --------
    >>> round(hole_area(2.0), 4)
    3.1416
    """
    return math.pi / 4.0 * diameter * diameter


#: How a size becomes the value of a field or the end of a ramp.
VALUES: dict[str, Callable[[float], Any]] = {
    "size": float,
    "rest": lambda size: 1.0 - size,
    "less": lambda size: -size,
    "there": lambda size: True,
    "area_of_hole": hole_area,
}
#: Changes that are more than one field of one part; those with options of their own are made from them.
FUNCTIONS: dict[str, Change] = {
    "no_change": no_change,
    "joint_ring": joint_ring,
    "hose_hole": hose_hole,
    "strainer_high": strainer_high,
    "pump_high": pump_high,
    "hose_humped": hose_humped,
    "level_falls": level_falls,
}
WITH_OPTIONS: dict[str, Callable[..., Change]] = {"liner_loose": liner_loose}
