"""Remedies change the rig truthfully; the wrong one leaves the fault."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.parts import Hole
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import CLEAN_SHARE, REMEDIES, TIGHT_SLIP, UNSEEN, remedies_for, remedy
from simulator.rig.rig import Rig, Site
from simulator.texts import text

RIG, SITE = load_rig("osier"), standard_site()
#: Which work mends a fault, said apart from parts and hands; one that is not here is mended by all work on its part.
MENDS = {
    "drain_open": {"close_drain"},
    "nrv_fouled": {"clean_nrv"},
    "joint_ring": {"renew_joint_ring", "replace_hose"},
    "belt_loose": {"tighten_belt", "renew_belt"},
    "nozzle_plugged": {"clean_nozzle"},
    "screen_plugged": {"clean_screen"},
    "strainer_plugged": {"clean_strainer"},
    "liner_collapsed": {"replace_hose"},
    "frost_drain_open": {"close_frost_drain"},
    "hose_hole": {"replace_hose"},
    "flange_leaks": {"renew_gasket"},  # tightening does not help a torn gasket
    "seal_worn": {"renew_seal"},
    "strainer_high": {"lower_strainer"},
    "compressor_worn": {"renew_compressor"},
    "intake_blocked": {"clean_intake"},
    "relief_weak": {"renew_relief"},
    "air_line_holed": {"renew_air_line"},
    "air_line_kinked": {"renew_air_line"},
    "nozzle_worn": {"renew_nozzle"},
    "mixing_tube_worn": {"renew_mixing_tube"},
    "exhaust_blocked": {"clear_exhaust"},
    "cock_shut": {"open_cock"},
    "float_stuck_shut": {"free_float"},
    "float_stuck_open": {"free_float"},
    "engine_slow": {"raise_speed"},
    "pump_high": {"lower_pump"},
    "hose_humped": {"relay_hose"},
    "discharge_shut": {"open_discharge"},
    "line_kinked": {"straighten_line", "renew_line"},
    "nrv_stuck": {"clean_nrv"},
    "impeller_clogged": {"clean_impeller"},
    "flange_works_loose": {"tighten_flange", "renew_gasket"},
    "strainer_clogs": {"basket_strainer"},  # a wash alone leaves the weed about
    "level_falls": {"lower_strainer"},
    "line_bursts": {"renew_line"},
    "gauge_low": {"swap_suction_gauge"},
    "gauge_stuck": {"swap_suction_gauge"},
    "gauge_slow": {"swap_suction_gauge"},
    "motive_gauge_stuck": {"swap_motive_gauge"},
}
MENDS["nozzle_plugged"].add("renew_nozzle")
MENDS["strainer_plugged"].add("basket_strainer")
MENDS |= {name: set(remedies_for(item.part)) for name, item in FAULTS.items() if name not in MENDS}
ALL_PARTS, DEEP = load_rig("reed"), standard_site("reed")


def home(name: str) -> tuple[Rig, Site]:
    """The usual rig and site, or those that have the part."""
    return (RIG, SITE) if FAULTS[name].places(RIG) else (ALL_PARTS, DEEP)


HIDDEN = ("liner_collapsed",)  # a loose liner lies flat again at rest
GOOD = {
    "was_shut", "was_open", "was_clean", "was_clear", "was_good", "was_right", "was_deep", "was_tight", "was_straight",
    "was_free", "was_low", "ring_good", "belt_tight", "nothing_seen",
} | {remedy.findings[0] for remedy in REMEDIES.values()}  # fmt: skip
CASES = [
    (name, size, place)
    for name, item in FAULTS.items()
    if name != "sound"
    for size in item.sizes
    for place in (item.places(RIG) or item.places(load_rig("reed")))
]


def as_good_as_sound(rig: Rig, site: Site, good: Rig, at: Site) -> bool:
    """Sound, but for what a wash, a tightened belt or a strainer hung lower leaves behind."""
    small = (rig.compressor.belt_slip, rig.screen.plugged, rig.suction_hose.strainer.blocked)
    if max(small[0] / TIGHT_SLIP, small[1] / CLEAN_SHARE, small[2] / CLEAN_SHARE) > 1.0:
        return False
    strainer = replace(rig.suction_hose.strainer, blocked=0.0)
    ramps = tuple(
        ramp
        for ramp in rig.ramps
        if ramp.target != "level_drop" or site.submergence < at.submergence + ramp.last
    )
    rig = replace(
        rig,
        compressor=replace(rig.compressor, belt_slip=0.0),
        screen=replace(rig.screen, plugged=0.0),
        suction_hose=replace(rig.suction_hose, strainer=strainer),
        ramps=ramps,
    )
    return (
        rig == good and replace(site, submergence=at.submergence) == at and site.submergence >= at.submergence
    )


def sound_finding(name: str) -> str:
    """What a remedy finds where nothing is wrong."""
    item = REMEDIES[name]
    return item.finding(ALL_PARTS, DEEP, item.places(ALL_PARTS)[0])


@pytest.mark.parametrize(("name", "size", "place"), CASES)
def test_right_remedy_mends_and_wrong_one_leaves_the_fault(name: str, size: float, place: str) -> None:
    good, at = home(name)
    broken, site = FAULTS[name].apply(good, at, size, place)
    for item in REMEDIES.values():
        for where in item.places(broken):
            mended, after = item.apply(broken, site, where)
            finding = item.finding(broken, site, where)
            assert finding in item.findings
            right = item.id in MENDS[name] and where in ("", place)
            if item.id == "tighten_belt" and size == 1.0:
                right = False  # nothing left to tighten
                assert finding == "belt_gone" or name != "belt_loose"
            assert as_good_as_sound(mended, after, good, at) == right, (item.id, where)
            if right:
                assert finding != sound_finding(item.id) or name in HIDDEN
            elif item.id not in MENDS[name] and name not in ("strainer_clogs", "line_bursts", "flange_leaks"):
                assert (mended, after) == (broken, site), item.id


@pytest.mark.parametrize("name", REMEDIES)
def test_on_a_sound_rig_nothing_is_found_and_nothing_changes(name: str) -> None:
    item = REMEDIES[name]
    for rig, site in ((RIG, SITE), (ALL_PARTS, DEEP)):
        for place in item.places(rig):
            assert item.apply(rig, site, place) == (rig, site)
            assert item.finding(rig, site, place) == sound_finding(name)
    assert sound_finding(name) in GOOD


def test_a_torn_gasket_is_not_cured_by_tightening_and_a_wash_leaves_the_weed_about() -> None:
    torn, site = FAULTS["flange_leaks"].apply(RIG, SITE, 0.006)
    assert REMEDIES["tighten_flange"].apply(torn, site) == (torn, site)
    assert REMEDIES["tighten_flange"].finding(torn, site) == "gasket_torn"
    loose, site = FAULTS["flange_leaks"].apply(RIG, SITE, 0.003)
    assert REMEDIES["tighten_flange"].apply(loose, site) == (RIG, SITE)
    weedy, site = FAULTS["strainer_clogs"].apply(RIG, SITE, 0.98)
    assert REMEDIES["clean_strainer"].apply(weedy, site) == (weedy, site)


def test_what_is_seen_to_be_done_in_vain_has_changed_nothing() -> None:
    cases = [(RIG, SITE)]
    for fault in (one for one in FAULTS.values() if one.size):
        for place in fault.places(RIG, SITE):
            cases += [fault.apply(RIG, SITE, size, place) for size in (fault.size.low, fault.size.high)]
    assert len(cases) > 40
    for rig, site in cases:
        for work in REMEDIES.values():
            for place in work.places(rig):
                code, vain = (finding := work.finding(rig, site, place)), work.seen_in_vain(finding)
                assert vain == (work.apply(rig, site, place) == (rig, site)) or (code == UNSEEN and not vain)


@pytest.mark.parametrize("name", REMEDIES)
def test_twice_is_the_same_as_once(name: str) -> None:
    for fault_name, size, place in CASES:
        broken, site = FAULTS[fault_name].apply(*home(fault_name), size, place)
        for where in REMEDIES[name].places(broken)[:1]:
            once = REMEDIES[name].apply(broken, site, where)
            assert REMEDIES[name].apply(*once, where) == once


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
        assert "isolated" in REMEDIES[name].needs
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
