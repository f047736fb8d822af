"""What a remedy does to a rig, and what the hands find, where its record names a function: small functions of the rig as
it is.

Some work mends only in part: tightening does not help a torn gasket, a wash leaves a little dirt.

Arguments, the same throughout: ``rig``, ``site`` as they are when the hands come; ``place`` the joint, length
of hose or gauge it is done to; ``found`` whether the part was bad; ``bad``, ``good`` the code of what the
hands find in either case; ``name`` which gauge.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from simulator.rig.parts import GaugeState
from simulator.rig.quantity import replaced
from simulator.rig.rig import Rig, Site

BROKEN_SLIP = 0.999  # [-] from here on the belt is gone: nothing left to tighten
TIGHT_SLIP = 0.05  # [-] below this a hand finds the belt tight
TIGHTENED_SLIP = 0.02  # [-] a stretched belt, tightened
CLEAN_SHARE = 0.05  # [-] dirt on a screen or strainer that nobody would remark upon
WASHED_SHARE = 0.02  # [-] what a wash with a hose and a brush leaves behind
TIGHTENED_HOLE = (
    0.004  # [m] a loose flange or tapping up to this is cured by tightening; a torn gasket is not
)
SEEN_HOLE = 0.0002  # [m] smaller holes are not found
RATED_FROM = 0.98  # [-] of the rated speed at which a governor counts as set right
LOW_RELIEF = 0.9  # [-] of the usual set pressure, below which a relief valve counts as weak
USUAL_RELIEF = 8e5  # [Pa] gauge stamped on the valve
NARROW = 0.02  # [-] closed share that nobody would remark upon


def joint_number(place: str) -> int:
    """Index [-] in a place such as ``joint:1``."""
    return int(place.partition(":")[2])


def drain_found(rig: Rig, place: str) -> str:
    """Where the handle of the casing drain stood."""
    opening = rig.casing_drain.opening
    return "was_shut" if opening <= 0.0 else "was_open" if opening > 0.6 else "was_part_open"


def ring_renewed(rig: Rig, place: str) -> Rig:
    """A new ring at one joint."""
    joints = tuple(
        replace(joint, hole_diameter=0.0) if i == joint_number(place) else joint
        for i, joint in enumerate(rig.suction_hose.joints)
    )
    return replace(rig, suction_hose=replace(rig.suction_hose, joints=joints))


def ring_found(rig: Rig, place: str) -> str:
    """How the old ring was."""
    return "ring_torn" if rig.suction_hose.joints[joint_number(place)].hole_diameter > 0.0 else "ring_good"


def belt_tightened(rig: Rig, place: str) -> Rig:
    """The belt tightened; nothing where it is gone."""
    slip = rig.compressor.belt_slip
    return rig if slip >= BROKEN_SLIP else replaced(rig, "compressor", belt_slip=min(slip, TIGHTENED_SLIP))


def belt_found(rig: Rig, place: str) -> str:
    """How the belt was."""
    slip = rig.compressor.belt_slip
    return "belt_gone" if slip >= BROKEN_SLIP else "belt_loose" if slip > TIGHT_SLIP else "belt_tight"


def screen_cleaned(rig: Rig, place: str) -> Rig:
    """The screen washed."""
    return replaced(rig, "screen", plugged=min(rig.screen.plugged, WASHED_SHARE))


def strainer_cleaned(rig: Rig, place: str) -> Rig:
    """The strainer washed."""
    blocked = min(rig.suction_hose.strainer.blocked, WASHED_SHARE)
    return replaced(rig, "suction_hose.strainer", blocked=blocked)


def hose_replaced(rig: Rig, place: str) -> Rig:
    """Another suction hose."""
    # Other lengths from the rack, with new rings; the strainer moves over as it is.
    hose = rig.suction_hose
    liner = type(hose.liner)(position=hose.liner.position)
    joints = tuple(replace(joint, hole_diameter=0.0) for joint in hose.joints)
    return replace(rig, suction_hose=replace(hose, liner=liner, joints=joints, holes=()))


def hose_found(rig: Rig, place: str) -> str:
    """What is seen of the old hose."""
    # A loose liner lies flat again at rest: taking the hose off shows rings and holes, not the liner.
    hose = rig.suction_hose
    if any(joint.hole_diameter > 0.0 for joint in hose.joints):
        return "ring_torn"
    return "hole_seen" if any(hole.diameter > 0.0 for hole in hose.holes) else "nothing_seen"


def drop_ramps(rig: Rig, *targets: str) -> Rig:
    """The rig without what would change while it runs.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> drop_ramps(load_rig("osier"), "belt_slip") == load_rig("osier")
    True
    """
    kept = tuple(ramp for ramp in rig.ramps if ramp.target not in targets)
    return rig if kept == rig.ramps else replace(rig, ramps=kept)


def _ramp(rig: Rig, target: str) -> bool:
    return any(ramp.target == target for ramp in rig.ramps)


def flange_tightened(rig: Rig, place: str) -> Rig:
    """Bolts tight: cures what has worked loose, not a torn gasket."""
    rig = drop_ramps(rig, "gasket_area")
    return replaced(rig, "casing", gasket_hole=0.0) if rig.casing.gasket_hole <= TIGHTENED_HOLE else rig


def flange_found(rig: Rig, place: str) -> str:
    """What the hands find at the suction flange."""
    if rig.casing.gasket_hole > TIGHTENED_HOLE:
        return "gasket_torn"
    return "was_loose" if rig.casing.gasket_hole > SEEN_HOLE or _ramp(rig, "gasket_area") else "was_tight"


def gasket_renewed(rig: Rig, place: str) -> Rig:
    """A new gasket, bolts tight."""
    return replaced(drop_ramps(rig, "gasket_area"), "casing", gasket_hole=0.0)


def cock_opened(rig: Rig, place: str) -> Rig:
    """The cock wide open."""
    return rig if rig.isolating_cock.opening >= 1.0 else replaced(rig, "isolating_cock", opening=1.0)


def cock_found(rig: Rig, place: str) -> str:
    """Where the handle of the cock stood."""
    opening = rig.isolating_cock.opening
    return "was_open" if opening > 0.9 else "was_shut" if opening < 0.02 else "was_part_open"


def discharge_opened(rig: Rig, place: str) -> Rig:
    """The hand valve in the discharge line wide open."""
    line = rig.discharge
    return rig if line.valve.opening >= 1.0 else replaced(rig, "discharge.valve", opening=1.0)


def discharge_found(rig: Rig, place: str) -> str:
    """Where the hand valve stood."""
    opening = rig.discharge.valve.opening
    return "was_open" if opening > 0.95 else "was_shut" if opening < 0.02 else "was_part_open"


def line_found(rig: Rig, place: str) -> str:
    """What is found along the discharge line."""
    burst = rig.discharge.burst > 0.02 or _ramp(rig, "line_burst")
    return "was_burst" if burst else "was_kinked" if rig.discharge.kinked > NARROW else "was_good"


def line_renewed(rig: Rig, place: str) -> Rig:
    """Other discharge hose, laid straight."""
    return replaced(drop_ramps(rig, "line_burst"), "discharge", kinked=0.0, burst=0.0)


def strainer_basketed(rig: Rig, place: str) -> Rig:
    """Strainer washed, and a basket round it that keeps the weed off."""
    return strainer_cleaned(drop_ramps(rig, "strainer_blocked"), place)


def basket_found(rig: Rig, place: str) -> str:
    """Whether weed drifts about the strainer."""
    if _ramp(rig, "strainer_blocked"):
        return "weed_about"
    return "was_plugged" if rig.suction_hose.strainer.blocked > CLEAN_SHARE else "was_clear"


def strainer_lowered(rig: Rig, site: Site) -> Site:
    """Rope let out: the strainer hangs in the deepest spot within reach."""
    if site.deepest_spot <= site.submergence:
        return site
    return replace(site, submergence=site.deepest_spot, deepest_spot=-0.5)


def strainer_hung(rig: Rig, site: Site) -> str:
    """How the strainer hung."""
    return "was_high" if site.deepest_spot > site.submergence else "was_deep"


def pump_lowered(rig: Rig, site: Site) -> Site:
    """The pump set lower down the bank, where there is a place."""
    return replace(site, lift=site.lowest_stand, lowest_stand=12.0) if site.lowest_stand < site.lift else site


def pump_stood(rig: Rig, site: Site) -> str:
    """Whether there is a lower place."""
    return "was_high" if site.lowest_stand < site.lift else "was_low"


def hose_laid(rig: Rig, site: Site) -> Site:
    """The hose laid anew, rising all the way."""
    return replace(site, profile=()) if site.profile else site


def hose_lay(rig: Rig, site: Site) -> str:
    """How the hose lay."""
    return "was_humped" if site.profile else "was_straight"


def gauge_swapped(name: str) -> Callable[[Rig, str], Rig]:
    """A good gauge in place of the old."""
    return lambda rig, place: replace(rig, **{name: GaugeState()})  # type: ignore[arg-type]


def gauge_found(name: str) -> Callable[[Rig, str], str]:
    """What a bench test says of the old gauge."""
    return lambda rig, place: "was_good" if getattr(rig, name) == GaugeState() else "was_bad"


def speed_set(rig: Rig, place: str) -> Rig:
    """The governor set to rated speed, where it was lower."""
    return rig if rig.engine.speed_setting >= 1.0 else replaced(rig, "engine", speed_setting=1.0)


def relief_weak(rig: Rig) -> bool:
    """Whether the relief valve opens well below what is stamped on it."""
    return rig.relief_valve.set_pressure < LOW_RELIEF * USUAL_RELIEF


def relief_renewed(rig: Rig, place: str) -> Rig:
    """A relief valve of the stamped pressure, where the old one was weak."""
    return replaced(rig, "relief_valve", set_pressure=USUAL_RELIEF) if relief_weak(rig) else rig


def relief_found(rig: Rig, place: str) -> str:
    """How the old relief valve was."""
    return "was_weak" if relief_weak(rig) else "was_good"


#: Work and finds with options of their own: functions made from them.
WITH_OPTIONS: dict[str, Callable[..., Callable[[Rig, str], Any]]] = {
    "gauge_swapped": gauge_swapped,
    "gauge_found": gauge_found,
}
