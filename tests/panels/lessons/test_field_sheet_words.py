"""What the field sheet says of needles, and what it says to do next: rising is rising, a cheap look comes before work."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from simulator.diagnosis.advice import options
from simulator.diagnosis.field import FieldSheet, Finding, Needle, Watch, belief_of, field_set, judge_sheet
from simulator.diagnosis.look_first import (
    LOOK_SHARE,
    PARTS,
    SHARE,
    confirming,
    own_minutes,
    parting,
    two_suspects,
)
from simulator.diagnosis.option import CHECK, REMEDY
from simulator.diagnosis.words import reason
from simulator.instruments.checks import CHECKS
from simulator.instruments.checks_from_outside import static_lift
from simulator.panels.lessons.field_sheet.headline import APART
from simulator.panels.lessons.field_sheet.words import Words
from simulator.rig import safe_work
from simulator.rig.presets import load_rig, standard_site
from simulator.texts import text
from tests.diagnosis.field_cases import drawn_case, sheet_of

RIG, SITE = load_rig("osier"), standard_site()
FORM = {"vacuum_unit": "kPa", "motive_unit": "bar"}
SHEETS = 200
RISES = 1.5e3  # [Pa] between the last two readings


def _said(sheet: FieldSheet) -> dict:
    report = judge_sheet(sheet)
    return Words(sheet, report, field_set(sheet.rig, sheet.site), FORM).as_dict()


def _sheet(*needles: tuple[float, float], motive: float = 4.8e5) -> FieldSheet:
    read = tuple(Needle(time, vacuum, motive) for time, vacuum in needles)
    return FieldSheet(RIG, SITE, read, watch=Watch(110.0))


def test_only_a_reading_that_agrees_is_told_as_speaking_for_a_suspect() -> None:
    told = 0
    for sheet in (_sheet((40.0, 11e3), (100.0, 16e3)), _sheet((30.0, 4e3), (100.0, 6e3))):
        for suspect in _said(sheet)["suspects"]:
            for said in suspect["for"]:
                figures = [float(each) for each in re.findall(r"([\d.]+) (?:kPa|bar)", said)]
                if figures:
                    told += 1
                    spread = 2.9 if "kPa" in said else 0.3  # of gauge and rig, with what was rounded off
                    assert abs(figures[0] - figures[1]) <= spread + 0.5, said
    assert told > 3


def test_a_needle_that_still_rises_is_said_to_rise() -> None:
    rule = " ".join(_said(_sheet((40.0, 11e3), (70.0, 17e3), (100.0, 21.5e3)))["rule"])
    assert "still rises" in rule
    assert "stands" not in rule
    assert "stops" not in rule


def test_a_needle_stands_only_where_two_readings_show_it() -> None:
    stands = " ".join(_said(_sheet((20.0, 10e3), (60.0, 15.5e3), (100.0, 16e3)))["rule"])
    assert "stands at 16 kPa" in stands
    once = " ".join(_said(_sheet((90.0, 16e3)))["rule"])
    assert "One reading does not tell" in once
    assert "stands at" not in once


def test_what_was_seen_shut_is_looked_at_again_and_not_mended_outright() -> None:
    """ "All drains look shut" stood on the sheet, and the next act was "Mend: shut the casing drain"."""
    walked = Finding("walk_round", "in_order")
    heard = Finding("listen_line", "hiss_pump", time=60.0)
    needles = _sheet((20.0, 6e3), (60.0, 12e3), (110.0, 12e3))
    foam = Finding("foam_pump", "stays", time=60.0)
    said = _said(replace(needles, findings=(walked, heard, foam)))
    assert said["suspects"][0]["name"] == "casing drain valve left open"
    assert "saw it in order" in said["suspects"][0]["what"]
    assert said["next"]["label"].startswith("Look once more")
    assert "Mend" not in said["next"]["label"]
    hiss = _said(replace(needles, findings=(walked, heard)))
    assert not any("Look at the drain first" in each for each in hiss["rule"])
    assert hiss["next"]["label"].startswith("Foam")
    assert any(
        "Look at the drain first" in each for each in _said(replace(needles, findings=(heard,)))["rule"]
    )


def _checked(sheet: FieldSheet) -> tuple[str, str]:
    """What is said of the needle, and what is wrong with the next act."""
    report = judge_sheet(sheet)
    said = Words(sheet, report, field_set(sheet.rig, sheet.site), FORM).as_dict()
    cases = field_set(sheet.rig, sheet.site)
    belief, wrong = belief_of(sheet, cases), ""
    pair = two_suspects(belief)
    made = {(finding.check, finding.place) for finding in sheet.findings}
    if report.next.kind == REMEDY and pair is not None:
        looks = [
            one
            for one in options(cases)
            if one.kind == CHECK
            and (one.id, one.place) not in made
            and CHECKS[one.id].minutes <= SHARE * report.next.minutes
            and parting(belief, one, pair) >= PARTS
        ]
        wrong = ", ".join(one.id for one in looks)
    if report.next.kind == REMEDY:
        every = [one for one in options(cases) if (one.id, one.place) not in made]
        own = tuple(replace(one, minutes=own_minutes(one)) for one in every)
        look = confirming(belief, report.next, own)
        wrong += "" if look is None else f" {look.id} before {report.next.id}"
    return " ".join(said["rule"]), wrong


@pytest.mark.full
def test_two_hundred_sheets_with_rising_needles() -> None:
    cases, rng = field_set(RIG, SITE), np.random.default_rng(31)
    lift, count, named = static_lift(SITE), 0, 0
    while count < SHEETS:
        _, real, site, run = drawn_case(cases, rng)
        sheet = sheet_of(cases, real, site, run, rng)
        read = [needle for needle in sheet.needles if not math.isnan(needle.vacuum)]
        rising = len(read) >= 2 and read[-1].vacuum - read[-2].vacuum > RISES
        if run.primed or not rising or read[-1].vacuum > lift:
            continue
        count += 1
        rule, wrong = _checked(sheet)
        assert wrong == ""
        assert "stops" not in rule
        assert read[-1].time - read[-2].time < APART or "stands at" not in rule
        named += "still rises" in rule
    assert named > 0


#: 10 s, 30 s, 60 s and 90 s after the start: it still rises
RISING = ((10.0, 4e3), (30.0, 11e3), (60.0, 19e3), (90.0, 24e3))


def test_a_needle_that_still_rises_is_never_said_to_stand() -> None:
    said = _said(_sheet(*RISING))
    told = " ".join(line for suspect in said["suspects"] for line in (*suspect["for"], *suspect["against"]))
    assert "showed 24 kPa after 90 s" in told
    assert "stood" not in told


def test_the_walk_round_comes_first_where_it_was_not_made() -> None:
    said = _said(_sheet(*RISING))
    assert said["next"]["label"] == CHECKS["walk_round"].label
    assert said["next"]["reason"].startswith(
        "A look round comes first, before every start. It takes 1.5 minutes"
    )


def test_a_quick_look_comes_before_a_long_one_where_it_could_tell() -> None:
    walked = (Finding("walk_round", "in_order"),)
    sheet = replace(_sheet(*RISING), findings=walked)
    cases = field_set(RIG, SITE)
    report, belief = judge_sheet(sheet), belief_of(sheet, cases)
    pair = two_suspects(belief)
    assert pair is not None
    quicker = [
        one.id
        for one in options(cases)
        if one.kind == CHECK
        and one.id != "walk_round"
        and CHECKS[one.id].minutes <= LOOK_SHARE * CHECKS[report.next.id].minutes
        and parting(belief, one, pair) >= PARTS
    ]
    assert report.next.id == "exhaust_stream"  # half a minute; a plate on the flange takes eight
    assert quicker == []


def test_what_is_done_with_the_engine_running_says_so_with_one_figure() -> None:
    sheet, cases = _sheet(*RISING), field_set(RIG, SITE)
    report = judge_sheet(sheet)
    listen = next(one for one in options(cases) if one.id == "listen_line")
    said = Words(
        sheet, replace(report, next=listen, reason=reason(belief_of(sheet, cases), listen)), cases, FORM
    )
    told = said.next()
    assert "takes 3 minutes" in told["reason"]  # as in the list of looks
    assert CHECKS["listen_line"].minutes == 3.0
    assert "The engine runs while you do this" in told["protects"]
    assert "Discharge end tied down, people clear" in told["protects"]
    assert told["protects"].count("Protective gear on.") == 1
    plate = next(one for one in options(cases) if one.id == "blank_off")
    told = Words(sheet, replace(report, next=plate), cases, FORM).next()
    assert "The mark is 70 kPa" in told["how"]


def test_a_look_comes_before_work_on_a_guess() -> None:
    rng, cases, works = np.random.default_rng(5), field_set(RIG, SITE), 0
    for _ in range(12):
        _, real, site, run = drawn_case(cases, rng)
        _, wrong = _checked(sheet_of(cases, real, site, run, rng))
        assert wrong == ""
        works += 1
    assert works == 12


#: Of a hole between two joints whose size lies between those that are kept: the needles alone fit a ring better.
HOLE = FieldSheet(
    RIG,
    SITE,
    tuple(Needle(time, vacuum) for time, vacuum in ((20.0, 13e3), (40.0, 21e3), (60.0, 24e3), (90.0, 26e3))),
    (Finding("walk_round", "in_order"), Finding("listen_line", "hiss_hose", "", 60.0)),
    Watch(110.0, 104.0, "pumps_badly"),
)


def test_a_hiss_along_the_hose_is_a_ring_or_a_hole() -> None:
    told = _said(HOLE)
    names = [each["name"] for each in told["suspects"]]
    assert any("ring" in name for name in names)
    assert any("hole" in name for name in names)
    assert "almost sure" not in [each["chance"] for each in told["suspects"]]
    assert any("torn ring or a hole" in line for line in told["rule"])


@pytest.mark.parametrize("outcome", ["drawn_in", "stays"])
def test_foam_at_the_place_tells_ring_from_hole(outcome: str) -> None:
    cases, before = field_set(RIG, SITE), belief_of(HOLE, field_set(RIG, SITE)).by_fault()
    seen = replace(
        HOLE,
        findings=(
            *HOLE.findings,
            *(Finding("foam_joint", outcome, f"joint:{n}", 60.0) for n in range(3)),
        ),
    )
    after = belief_of(seen, cases).by_fault()
    if outcome == "stays":
        assert after["hose_hole"] > 5.0 * before["hose_hole"]  # one foamed joint in twenty is missed
    else:
        assert after["hose_hole"] < before["hose_hole"]


def test_a_hiss_at_the_pump_does_not_name_one_part_alone() -> None:
    sheet = FieldSheet(
        RIG,
        SITE,
        tuple(Needle(time, vacuum) for time, vacuum in ((20.0, 14e3), (50.0, 22e3), (90.0, 23e3))),
        (Finding("walk_round", "in_order"), Finding("listen_line", "hiss_pump", "", 60.0)),
        Watch(110.0),
    )
    found = belief_of(sheet, field_set(RIG, SITE)).by_fault()
    assert min(found["flange_leaks"], found["seal_worn"]) >= 0.02
    assert any("flange" in line for line in _said(sheet)["rule"])


def test_a_joint_is_not_taken_apart_on_a_guess_that_foam_could_tell() -> None:
    climbing = ((20.0, 8e3), (40.0, 12e3), (60.0, 14e3), (90.0, 16e3), (115.0, 17e3))
    sheet = FieldSheet(
        RIG,
        SITE,
        tuple(Needle(time, vacuum, 4.9e5) for time, vacuum in climbing),
        (Finding("walk_round", "in_order"), Finding("listen_line", "hiss_hose", "", 60.0)),
        Watch(120.0),
    )
    act = judge_sheet(sheet).next
    assert act.kind == "check"
    assert not CHECKS[act.id].opens


def test_what_everything_speaks_against_is_no_suspect_beside_another() -> None:
    """A needle at 91 kPa and no water: nothing lets air in there, so no leak stands in the list."""
    needles = ((15.0, 14e3), (30.0, 22e3), (100.0, 91e3))
    sheet = FieldSheet(
        RIG, SITE, tuple(Needle(time, vacuum, 5e5) for time, vacuum in needles), (), Watch(110.0)
    )
    named = [suspect.fault for suspect in judge_sheet(sheet).suspects]
    assert set(named[:2]) == {"liner_collapsed", "strainer_plugged"}
    assert not {"nrv_fouled", "seal_worn"} & set(named)


#: What holds the water back: the needle goes as on a good rig at first, or not even that, then up to the jet's end.
HELD_BACK = [
    ((10.0, 9e3), (30.0, 29e3), (60.0, 91e3), (100.0, 91e3)),
    ((15.0, 14e3), (30.0, 22e3), (100.0, 91e3)),
    ((10.0, 9e3), (20.0, 18e3), (30.0, 48e3), (60.0, 90e3)),
    ((15.0, 35e3), (40.0, 69e3), (80.0, 87e3)),
    ((30.0, 60e3), (100.0, 90e3)),
]


@pytest.mark.parametrize("read", HELD_BACK)
def test_where_the_water_is_held_back_the_strainer_is_named_and_looked_at_first(
    read: tuple[tuple[float, float], ...],
) -> None:
    """Common practice, no source: weed that the stream drags on looks like a loose liner, and the strainer comes out in a
    quarter of the time that a new hose takes."""
    needles = tuple(Needle(time, vacuum, 5e5) for time, vacuum in read)
    sheet = FieldSheet(RIG, SITE, needles, (Finding("walk_round", "in_order"),), Watch(110.0))
    report, said = judge_sheet(sheet), _said(sheet)
    assert report.fits
    assert "strainer_plugged" in [suspect.fault for suspect in report.suspects]
    assert "almost sure" not in [
        each["chance"] for each in said["suspects"] if not each["name"].startswith("strainer")
    ]
    assert report.next.id == "strainer_out"
    assert said["next"]["protects"]
    said = _said(replace(sheet, findings=()))
    assert said["next"]["label"] == CHECKS["walk_round"].label
    assert "Then comes this: Pull the strainer" in said["next"]["reason"]


def test_a_strainer_that_weed_blinds_as_it_draws_has_a_name_of_its_own() -> None:
    needles = tuple(Needle(time, vacuum, 5e5) for time, vacuum in HELD_BACK[0])
    named = [each["name"] for each in _said(FieldSheet(RIG, SITE, needles, (), Watch(110.0)))["suspects"]]
    assert "strainer plugged by weed as it draws" in named
    needles = tuple(Needle(time, vacuum, 5e5) for time, vacuum in HELD_BACK[3])
    named = [each["name"] for each in _said(FieldSheet(RIG, SITE, needles, (), Watch(110.0)))["suspects"]]
    assert "strainer plugged" in named


def test_a_strainer_that_is_plugged_in_part_stands_in_the_list_where_little_water_comes() -> None:
    needles = tuple(Needle(time, vacuum, 5e5) for time, vacuum in ((10.0, 9e3), (20.0, 20e3), (30.0, 29e3)))
    sheet = FieldSheet(
        RIG, SITE, needles, (Finding("walk_round", "in_order"),), Watch(110.0, 42.0, "pumps_badly")
    )
    assert "strainer partly plugged" in [each["name"] for each in _said(sheet)["suspects"]]


@pytest.mark.parametrize("exhaust", ["strong_on", "as_usual"])
def test_a_start_that_was_read_is_not_to_be_made_again_for_its_gauges(exhaust: str) -> None:
    """A second dry start for readings that stand on the sheet wears the seal and tells nothing."""
    needles = (Needle(30.0, 11e3, 4.9e5), Needle(90.0, 14e3, 4.9e5))
    seen = (Finding("walk_round", "in_order"), Finding("exhaust_stream", exhaust, "", 60.0))
    report = judge_sheet(FieldSheet(RIG, SITE, needles, seen, Watch(95.0)))
    assert report.next.kind in (CHECK, REMEDY)


def test_a_strainer_that_was_found_clean_leaves_the_liner() -> None:
    needles = tuple(Needle(time, vacuum, 5e5) for time, vacuum in HELD_BACK[0])
    seen = (Finding("walk_round", "in_order"), Finding("strainer_out", "clean"))
    report = judge_sheet(FieldSheet(RIG, SITE, needles, seen, Watch(110.0)))
    assert report.suspects[0].fault == "liner_collapsed"
    assert report.suspects[0].chance > 0.9
    assert report.next.id not in ("strainer_out", "clean_strainer")


def test_a_look_that_stands_on_the_sheet_is_not_asked_for_again() -> None:
    """ "Foam tells flange from seal" stood beside the foam that was typed, and "nobody can say" beside "almost sure"."""
    heard = Finding("listen_line", "hiss_pump", time=60.0)
    foam = Finding("foam_pump", "drawn_in_flange", time=60.0)
    rising = _sheet((30.0, 9e3), (60.0, 14e3), (100.0, 18e3))
    before = " ".join(_said(replace(rising, findings=(heard,)))["rule"])
    after = " ".join(_said(replace(rising, findings=(heard, foam)))["rule"])
    assert text("field_sheet.result.hiss_pump_foam") in before
    assert text("field_sheet.result.hiss_pump_foam") not in after
    assert text("field_sheet.result.hiss_pump_foamed") in after
    assert "nobody can say" not in before + after
    deep = _sheet((15.0, 35e3), (40.0, 69e3), (80.0, 87e3))
    out = Finding("strainer_out", "clean")
    asked = text("field_sheet.result.above_strainer_alone")
    assert asked in " ".join(_said(deep)["rule"])
    assert asked not in " ".join(_said(replace(deep, findings=(out,)))["rule"])


def test_a_fault_that_the_needle_rules_out_does_not_stand_first() -> None:
    """At 2 kPa with the exhaust as usual the strainer stood first: it would have shown 89 kPa."""
    walked, usual = Finding("walk_round", "in_order"), Finding("exhaust_stream", "as_usual", time=60.0)
    flat = replace(_sheet((30.0, 2e3), (60.0, 2e3), (100.0, 2e3)), findings=(walked, usual))
    report = judge_sheet(flat)
    assert report.suspects[0].fault in ("screen_plugged", "exhaust_blocked")
    held_back = {each.fault: each.chance for each in report.suspects}
    assert held_back.get("strainer_plugged", 0.0) < 0.05
    assert held_back.get("liner_collapsed", 0.0) < 0.05


@pytest.mark.parametrize(("rig", "two"), [("osier", False), ("alder", True)])
def test_the_sheet_asks_for_two_people_where_a_call_on_that_rig_does(rig: str, two: bool) -> None:
    """The sheet asked for two people at any gasket, a call for one on a light hose: one table, one answer."""
    here, site = load_rig(rig), standard_site(rig)
    foam = Finding("foam_pump", "drawn_in_flange", time=60.0)
    walked = Finding("walk_round", "in_order")
    sheet = FieldSheet(here, site, (Needle(60.0, 9e3, 4.8e5),), (walked, foam), Watch(110.0))
    report = replace(
        judge_sheet(sheet), next=next(o for o in options(field_set(here, site)) if o.id == "renew_gasket")
    )
    said = Words(sheet, report, field_set(here, site), FORM).next()["protects"]
    conditions = safe_work.conditions(here, site)
    assert ("second_person" in safe_work.needs("remedies", "renew_gasket", conditions)) == two
    assert ("second person" in said) == two
    assert "two people" not in said.lower()
