"""Remedies change the rig truthfully; the wrong one leaves the fault."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.parts import Hole
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import CLEAN_SHARE, REMEDIES, TIGHT_SLIP, remedies_for, remedy
from simulator.rig.rig import Rig
from simulator.texts import text

RIG, SITE = load_rig("osier"), standard_site()
MENDS = {
    "drain_open": {"close_drain"},
    "nrv_fouled": {"clean_nrv"},
    "joint_ring": {"renew_joint_ring", "replace_hose"},
    "belt_loose": {"tighten_belt", "renew_belt"},
    "nozzle_plugged": {"clean_nozzle"},
    "screen_plugged": {"clean_screen"},
    "strainer_plugged": {"clean_strainer"},
    "liner_collapsed": {"replace_hose"},
}
FOUND = {
    ("drain_open", "close_drain"): {"was_part_open", "was_open"},
    ("nrv_fouled", "clean_nrv"): {"was_fouled"},
    ("joint_ring", "renew_joint_ring"): {"ring_torn"},
    ("joint_ring", "replace_hose"): {"ring_torn"},
    ("belt_loose", "tighten_belt"): {"belt_loose", "belt_gone"},
    ("belt_loose", "renew_belt"): {"belt_loose", "belt_gone"},
    ("nozzle_plugged", "clean_nozzle"): {"was_plugged"},
    ("screen_plugged", "clean_screen"): {"was_plugged"},
    ("strainer_plugged", "clean_strainer"): {"was_plugged"},
    ("liner_collapsed", "replace_hose"): {"nothing_seen"},  # a loose liner lies flat again at rest
}
SOUND_FINDING = {
    "close_drain": "was_shut",
    "clean_nrv": "was_clean",
    "renew_joint_ring": "ring_good",
    "tighten_belt": "belt_tight",
    "renew_belt": "belt_tight",
    "clean_nozzle": "was_clear",
    "clean_screen": "was_clear",
    "clean_strainer": "was_clear",
    "replace_hose": "nothing_seen",
}
CASES = [
    (name, size, place)
    for name, item in FAULTS.items()
    if name != "sound"
    for size in item.sizes
    for place in item.places(RIG)
]


def as_good_as_sound(rig: Rig) -> bool:
    """Sound, but for what a wash or a tightened belt leaves behind."""
    small = (rig.compressor.belt_slip, rig.screen.plugged, rig.suction_hose.strainer.blocked)
    if max(small[0] / TIGHT_SLIP, small[1] / CLEAN_SHARE, small[2] / CLEAN_SHARE) > 1.0:
        return False
    strainer = replace(rig.suction_hose.strainer, blocked=0.0)
    rig = replace(
        rig,
        compressor=replace(rig.compressor, belt_slip=0.0),
        screen=replace(rig.screen, plugged=0.0),
        suction_hose=replace(rig.suction_hose, strainer=strainer),
    )
    return rig == RIG


@pytest.mark.parametrize(("name", "size", "place"), CASES)
def test_right_remedy_mends_and_wrong_one_leaves_the_fault(name: str, size: float, place: str) -> None:
    broken, site = FAULTS[name].apply(RIG, SITE, size, place)
    for item in REMEDIES.values():
        for where in item.places(broken):
            mended, after = item.apply(broken, site, where)
            finding = item.finding(broken, site, where)
            assert after == site
            assert finding in item.findings
            right = item.id in MENDS[name] and where in ("", place)
            if item.id == "tighten_belt" and size == 1.0:
                right = False  # nothing left to tighten
                assert finding == "belt_gone" or name != "belt_loose"
            assert as_good_as_sound(mended) == right, (item.id, where)
            if right:
                assert finding in FOUND[name, item.id]
            elif item.id not in MENDS[name]:
                assert mended == broken
                assert finding == SOUND_FINDING.get(item.id) or name == "joint_ring"


@pytest.mark.parametrize("name", REMEDIES)
def test_on_a_sound_rig_nothing_is_found_and_nothing_changes(name: str) -> None:
    item = REMEDIES[name]
    for place in item.places(RIG):
        assert item.apply(RIG, SITE, place) == (RIG, SITE)
        assert item.finding(RIG, SITE, place) == SOUND_FINDING[name]


@pytest.mark.parametrize("name", REMEDIES)
def test_twice_is_the_same_as_once(name: str) -> None:
    for fault_name, size, place in CASES:
        broken, _ = FAULTS[fault_name].apply(RIG, SITE, size, place)
        where = REMEDIES[name].places(RIG)[0]
        once, _ = REMEDIES[name].apply(broken, SITE, where)
        assert REMEDIES[name].apply(once, SITE, where)[0] == once


def test_another_hose_brings_no_holes_but_keeps_the_strainer() -> None:
    holed = replace(RIG, suction_hose=replace(RIG.suction_hose, holes=(Hole(position=5.0, diameter=0.003),)))
    holed, _ = FAULTS["strainer_plugged"].apply(holed, SITE, 0.99)
    assert REMEDIES["replace_hose"].finding(holed, SITE) == "hole_seen"
    mended, _ = REMEDIES["replace_hose"].apply(holed, SITE)
    assert mended.suction_hose.holes == ()
    assert mended.suction_hose.strainer.blocked == 0.99


def test_a_stuck_ball_is_freed() -> None:
    stuck = replace(RIG, nrv=replace(RIG.nrv, stuck=True))
    assert REMEDIES["clean_nrv"].finding(stuck, SITE) == "was_stuck"
    assert REMEDIES["clean_nrv"].apply(stuck, SITE)[0] == RIG


def test_wrong_places_and_names() -> None:
    with pytest.raises(InputError, match="joint:0"):
        REMEDIES["renew_joint_ring"].apply(RIG, SITE, "joint:9")
    with pytest.raises(InputError, match="no place"):
        REMEDIES["close_drain"].finding(RIG, SITE, "joint:0")
    with pytest.raises(InputError, match="close_drain"):
        remedy("kick_it")


def test_a_guard_or_lid_waits_for_a_stopped_and_tagged_engine() -> None:
    # common practice, no source. Stopped, isolated and tagged before a guard or lid comes off, air bled
    # before the air side is opened, discharge relieved before the lid, vacuum vented before a joint
    for name in ("tighten_belt", "renew_belt", "clean_nozzle", "clean_screen", "clean_nrv"):
        assert {"stopped", "isolated"} <= set(REMEDIES[name].needs)
    assert "air_bled" in REMEDIES["clean_nozzle"].needs
    assert "air_bled" in REMEDIES["clean_screen"].needs
    assert "line_relieved" in REMEDIES["clean_nrv"].needs
    assert "hose_vented" in REMEDIES["renew_joint_ring"].needs
    assert "hose_vented" in REMEDIES["replace_hose"].needs
    assert all("ppe" in item.needs and item.minutes > 0.0 for item in REMEDIES.values())


def test_every_remedy_has_plain_words() -> None:
    for name, item in REMEDIES.items():
        assert text(f"remedies.{name}.name")
        for finding in item.findings:
            assert text(f"remedies.{name}.found.{finding}")


def test_every_part_with_a_fault_has_a_remedy() -> None:
    for name, item in FAULTS.items():
        if name != "sound":
            assert set(remedies_for(item.part)) & MENDS[name]
