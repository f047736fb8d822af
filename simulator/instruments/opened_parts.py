"""Checks that take a part off and look at it: nearly certain, as far as the part itself can show it."""

from __future__ import annotations

import math

from simulator.instruments.look import Look, Probabilities, beyond, ladder


def judge_strainer(look: Look) -> Probabilities:
    """Share of the strainer's openings that are stopped up.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_strainer(Look(rig, site))["clean"] > 0.99
    True
    """
    blocked = look.rig.suction_hose.strainer.blocked
    return ladder(
        ("plugged", beyond(blocked, 0.85, 0.03)), ("part_plugged", beyond(blocked, 0.3, 0.05)), ("clean", 1.0)
    )


def judge_belt(look: Look) -> Probabilities:
    """Belt looked at and pressed, intake filter looked at.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_belt(Look(rig, site))["tight"] > 0.95
    True
    """
    compressor = look.rig.compressor
    return ladder(
        ("broken", beyond(compressor.belt_slip, 0.97, 0.005)),
        ("slack", beyond(compressor.belt_slip, 0.08, 0.02)),
        ("filter_blocked", beyond(compressor.intake_blocked, 0.3, 0.05)),
        ("tight", 1.0),
    )


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


def judge_screen(look: Look) -> Probabilities:
    """Screen of the ejector held to the light.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_screen(Look(rig, site))["clear"] > 0.99
    True
    """
    plugged = look.rig.screen.plugged
    return ladder(
        ("plugged", beyond(plugged, 0.8, 0.03)), ("part_plugged", beyond(plugged, 0.2, 0.04)), ("clear", 1.0)
    )


def judge_nozzle(look: Look) -> Probabilities:
    """Motive nozzle: stopped up, or worn wide by a gauge pin that should just pass.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_nozzle(Look(rig, site))["clear"] > 0.98
    True
    """
    ejector = look.rig.ejector
    return ladder(
        ("plugged", beyond(ejector.nozzle_plugged, 0.5, 0.04)),
        ("part_plugged", beyond(ejector.nozzle_plugged, 0.1, 0.02)),
        ("worn_wide", beyond(ejector.nozzle_worn, 0.2, 0.04)),
        ("tube_worn", beyond(ejector.mixing_worn, 0.15, 0.03)),
        ("clear", 1.0),
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


def judge_exhaust_off(look: Look) -> Probabilities:
    """The exhaust hose taken off and looked through.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_exhaust_off(Look(load_rig("osier"), standard_site()))["clear"] > 0.99
    True
    """
    blocked = look.rig.exhaust_hose.blocked
    return ladder(
        ("blocked", beyond(blocked, 0.7, 0.04)), ("narrowed", beyond(blocked, 0.25, 0.04)), ("clear", 1.0)
    )


def judge_float(look: Look) -> Probabilities:
    """The float in the separator moved by hand.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_float(Look(load_rig("reed"), standard_site("reed")))["free"]
    1.0
    """
    separator = look.rig.separator
    return ladder(
        ("stuck_shut", float(separator.stuck_shut)),
        ("stuck_open", float(separator.stuck_open)),
        ("free", 1.0),
    )


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
