"""Checks that take a part off and look at it: nearly certain, as far as the part itself can show it. Those that look at a
quantity alone are told by the steps of their record."""

from __future__ import annotations

import math

from simulator.instruments.look import Look, Probabilities, beyond, ladder


def judge_nrv(look: Look) -> Probabilities:
    """Ball and seat of the non-return valve.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_nrv(Look(rig, site))["seats_well"] > 0.99
    True
    """
    gap = look.rig.nrv.gap_area * 1e6  # [mm2]
    return ladder(
        ("stuck", 1.0 if look.rig.nrv.stuck else 0.0),
        ("fouled", beyond(math.log10(gap + 1e-3), math.log10(8.0), 0.06)),
        ("marked", beyond(math.log10(gap + 1e-3), math.log10(0.4), 0.08)),
        ("seats_well", 1.0),
    )


def judge_joint(look: Look) -> Probabilities:
    """Ring of one hose joint.

    Raises
    ------
    InputError : the place of the look is not a joint of this rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_joint(Look(rig, site, place="joint:0"))["good"] > 0.99
    True
    """
    hole = look.rig.suction_hose.joints[look.joint()].hole_diameter * 1e3  # [mm]
    return ladder(("torn", beyond(hole, 2.5, 0.3)), ("nicked", beyond(hole, 0.5, 0.1)), ("good", 1.0))


def judge_impeller(look: Look) -> Probabilities:
    """The pump wheel and its ring, seen through the cleaning cover.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_impeller(Look(load_rig("osier"), standard_site()))["clean"] > 0.99
    True
    """
    lost = 1.0 - look.rig.pump.head_factor
    return ladder(
        ("clogged", beyond(lost, 0.25, 0.03)), ("some_wear", beyond(lost, 0.08, 0.015)), ("clean", 1.0)
    )


def judge_seal(look: Look) -> Probabilities:
    """The shaft seal behind its guard: weeping, or worn.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_seal(Look(load_rig("osier"), standard_site()))["sound"] > 0.99
    True
    """
    hole = look.rig.casing.seal_hole * 1e3  # [mm]
    return ladder(("worn", beyond(hole, 2.0, 0.3)), ("weeps", beyond(hole, 0.4, 0.08)), ("sound", 1.0))


def judge_flange(look: Look) -> Probabilities:
    """Bolts, gasket and gauge tapping of the suction flange, by hand and eye.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_flange(Look(load_rig("osier"), standard_site()))["tight"] > 0.99
    True
    """
    hole = look.rig.casing.gasket_hole * 1e3  # [mm]
    loosens = any(ramp.target == "gasket_area" for ramp in look.rig.ramps)
    return ladder(
        ("gasket_torn", beyond(hole, 2.5, 0.4)),
        ("bolts_loose", max(0.9 * float(loosens), beyond(hole, 0.8, 0.15))),
        ("tight", 1.0),
    )


def judge_light_through(look: Look) -> Probabilities:
    """A light moved through one hose length at rest: shows holes, and a liner only where it hangs down for good.

    Raises
    ------
    InputError : the place of the look is not a length of this rig's hose.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_light_through(Look(load_rig("osier"), standard_site(), place="length:0"))["clear"] > 0.99
    True
    """
    hose = look.rig.suction_hose
    ends = (0.0, *(joint.position for joint in hose.joints))
    first, last = ends[look.length()], ends[look.length() + 1]
    hole = max((h.diameter for h in hose.holes if first < h.position <= last), default=0.0) * 1e3  # [mm]
    hangs = 0.0
    if first < hose.liner.position <= last and math.isfinite(hose.liner.closing_pressure):
        hangs = 0.35 * (1.0 - beyond(hose.liner.closing_pressure, 9e3, 1.5e3))
    return ladder(("hole", 0.9 * beyond(hole, 2.0, 0.4)), ("blister", hangs), ("clear", 1.0))
