"""How the parts of the rig are drawn: as they were last seen or set, or as they are where one may look inside.

What nobody has looked at is None, whatever it is really like. A look that missed something shows what it saw.

Throughout: ``state`` is the attempt as it stands.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from simulator.attempt.state import AttemptState
from simulator.rig.fault_changes import SLACK_HOSE, hose_humped
from simulator.rig.hands import NARROW, SEEN_HOLE
from simulator.rig.rig import Rig, Site, hose_profile

PARTS = (
    "frost_drain",
    "cock",
    "discharge_valve",
    "line",
    "lay",
    "strainer",
    "filter",
    "exhaust_hose",
    "water",
    "belt",
)
#: The hump that is drawn where one was seen [m]: how high it really is nobody has measured.
HUMP_DRAWN = 0.6
#: What a look tells of the parts, by look and outcome.
SEEN: dict[str, dict[str, dict[str, Any]]] = {
    "walk_round": {
        "in_order": {
            "frost_drain": 0.0,
            "cock": 1.0,
            "discharge_valve": 1.0,
            "line": "good",
            "lay": "straight",
            "strainer": "under",
        },
        "strainer_uncovered": {"strainer": "bare"},
        "frost_drain_open": {"frost_drain": 1.0},
        "cock_shut": {"cock": 0.0},
        "valve_shut": {"discharge_valve": 0.0},
        "line_kinked": {"line": "kinked"},
        "hose_humped": {"lay": "humped"},
    },
    "walk_discharge": {
        "clear": {"discharge_valve": 1.0, "line": "good"},
        "valve_shut": {"discharge_valve": 0.0},
        "kinked": {"line": "kinked"},
        "torn": {"line": "torn"},
        "frost_drain_sprays": {"frost_drain": 1.0},
    },
    "watch_water": {
        "calm": {"water": "calm"},
        "bare": {"strainer": "bare"},
        "falling": {"water": "low"},
        "weed": {"water": "weed"},
    },
    "dip_water": {
        "as_card": {"water": "calm", "strainer": "under"},
        "lift_more": {"water": "calm"},
        "level_down": {"water": "low"},
        "strainer_shallow": {"strainer": "high"},
    },
    "strainer_out": {
        "clean": {"strainer": "under"},
        "part_plugged": {"strainer": "plugged"},
        "plugged": {"strainer": "plugged"},
    },
    "belt": {"tight": {"filter": "clean"}, "filter_blocked": {"filter": "blocked"}},
    "exhaust_off": {
        "clear": {"exhaust_hose": "clear"},
        "narrowed": {"exhaust_hose": "blocked"},
        "blocked": {"exhaust_hose": "blocked"},
    },
}
#: What work leaves behind, whatever was found.
DONE: dict[str, dict[str, Any]] = {
    "open_cock": {"cock": 1.0},
    "close_frost_drain": {"frost_drain": 0.0},
    "open_discharge": {"discharge_valve": 1.0},
    "straighten_line": {"line": "good"},
    "renew_line": {"line": "good"},
    "relay_hose": {"lay": "straight"},
    "lower_strainer": {"strainer": "under"},
    "clean_strainer": {"strainer": "under"},
    "basket_strainer": {"strainer": "under", "water": "calm"},
    "clean_intake": {"filter": "clean"},
    "clear_exhaust": {"exhaust_hose": "clear"},
    "lower_pump": {"water": "calm"},
}


#: Work after which what was dipped before holds no more.
MOVED = ("lower_pump", "lower_strainer", "basket_strainer", "relay_hose")


def site_shown(state: AttemptState) -> tuple[Site, float]:
    """The site as it may be drawn, and how far the water was seen to have gone down as it ran [m].

    As the card says, until it was dipped; then as the tape gave it, until something was moved.
    """
    case = state.case
    card, hose = case.sound_site, case.sound_rig.suction_hose
    if state.terms.see_through:
        return case.site, 0.0
    site, drop = card, 0.0
    for event in state.log:
        result = event["result"]
        read = result.get("figures") if result.get("check") == "dip_water" else None
        if read and not card.profile:
            site, drop = card, 0.0
            if result["outcome"] == "level_down":
                drop = max(read["lift"] - card.lift, 0.0)
            elif result["outcome"] != "as_card":
                reach = hose.length / SLACK_HOSE - read["depth"]
                site = replace(card, lift=min(read["lift"], reach), submergence=read["depth"])
        elif result.get("remedy") in MOVED and "finding" in result:
            site, drop = card, 0.0
    return site, drop


def lift_as_told(state: AttemptState) -> bool:
    """Whether the lift that is drawn is what the caller said: not seen inside, nor dipped since anything was moved."""
    if state.terms.see_through:
        return False
    told = True
    for event in state.log:
        result = event["result"]
        if result.get("check") == "dip_water" and "outcome" in result:
            told = False
        elif result.get("remedy") in MOVED and "finding" in result:
            told = True
    return told


def parts_shown(state: AttemptState) -> dict[str, Any]:
    """State of each part of PARTS as it may be drawn now; None where nobody has looked.

    Under "sure" stand the parts that a hand has set or somebody has looked at from close by: of all else a walk round
    says how it looks.
    """
    shown: dict[str, Any] = dict.fromkeys(PARTS)
    sure: set[str] = set()
    for event in state.log:
        result = event["result"]
        if "outcome" in result:
            seen = SEEN.get(result["check"], {}).get(result["outcome"], {})
            shown |= seen
            passing = (result["check"], result["outcome"]) == ("walk_round", "in_order")
            sure = sure - set(seen) if passing else sure | set(seen)
        elif "finding" in result:
            done = DONE.get(result["remedy"], {})
            shown |= done
            sure |= set(done)
            if "beside" in result:
                shown["belt"] = "on" if result["beside"] == "belt_on" else "gone"
            if result["finding"] == "was_burst" and result["remedy"] == "straighten_line":
                shown["line"] = "torn"
        elif event["act"] in ("shut_cock", "reopen_cock") and "open" in result:
            shown["cock"] = float(result["open"])
            sure.add("cock")
    if state.terms.see_through:
        case = state.case
        shown |= parts_inside(case.rig, case.site, state.yard.cock_open)
    shown["plate"] = plate_shown(state)
    shown["strainer_out"] = "strainer" in state.yard.opened
    shown["sure"] = sorted(sure)
    return shown


def parts_inside(rig: Rig, site: Site, cock_open: bool = True) -> dict[str, Any]:
    """State of a rig's parts at a site as they are, for pictures that look inside; ``cock_open``: how the cock was left.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> parts_inside(load_rig("osier"), standard_site())["line"]
    'good'
    """
    line = rig.discharge
    torn = line.burst > NARROW or any(ramp.target == "line_burst" for ramp in rig.ramps)
    return {
        "frost_drain": rig.frost_drain.opening,
        "cock": rig.isolating_cock.opening if cock_open else 0.0,
        "discharge_valve": line.valve.opening,
        "line": "torn" if torn else "kinked" if line.kinked > NARROW else "good",
        "lay": "humped" if site.profile else "straight",
        "strainer": "bare" if site.submergence < 0.0 else "under",
        "strainer_blocked": rig.suction_hose.strainer.blocked,
        "filter": "blocked" if rig.compressor.intake_blocked > NARROW else "clean",
        "exhaust_hose": "blocked" if rig.exhaust_hose.blocked > NARROW else "clear",
        "exhaust_blocked": rig.exhaust_hose.blocked,
        "float": "shut" if rig.separator.stuck_shut else "open" if rig.separator.stuck_open else "free",
        "air_line": "holed"
        if rig.air_line.hole_diameter > SEEN_HOLE
        else "kinked"
        if rig.air_line.kinked > NARROW
        else "good",
        "screen_plugged": rig.screen.plugged,
        "nozzle_plugged": rig.ejector.nozzle_plugged,
        "leak_at": "seal" if rig.casing.seal_hole > rig.casing.gasket_hole else "flange",
        "water": "calm",
    }


def plate_shown(state: AttemptState) -> str | None:
    """Where the plate or cap is: "flange" or "hose_end" after a test until something else is done, "ready", or None."""
    for event in reversed(state.log):
        if not event["accepted"]:
            continue
        tested = event["result"].get("check") if event["act"] == "check" else None
        if tested in ("blank_off", "hold_test"):
            return "flange"
        if tested == "capped_hose":
            return "hose_end"
        break
    return "ready" if state.yard.plate_rated else None


def profile_shown(state: AttemptState, lay: str | None) -> list[list[float]]:
    """The hose as it may be drawn: [position from the strainer m, height above the water m].

    lay: how it was seen to lie, "humped" or "in_order"; None where nobody has looked.
    """
    case = state.case
    rig, site = case.rig if state.terms.see_through else case.sound_rig, site_shown(state)[0]
    if lay == "humped" and not state.terms.see_through:
        rig, site = hose_humped(rig, site, HUMP_DRAWN, "")
    return [[s, z] for s, z in hose_profile(rig, site)]
