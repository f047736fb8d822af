"""Readings beside a pump: the truth among the first suspects on rigs that are off; what cannot be is said so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simulator.diagnosis.field import (
    FieldSheet,
    Finding,
    Needle,
    Watch,
    belief_of,
    check_sheet,
    items_of,
    judge_sheet,
    usable,
    way_gone,
    with_card,
)
from simulator.diagnosis.field_fit import misfit
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.errors import InputError
from simulator.rig.presets import load_rig, standard_site
from simulator.run.expected import expected
from tests.diagnosis.field_cases import NONSENSE, drawn_case, nonsense, sheet_of

RIG, SITE = load_rig("osier"), standard_site()


@pytest.fixture(scope="module")
def cases() -> HypothesisSet:
    return hypothesis_set(RIG, SITE)


def rates(cases: HypothesisSet, count: int, odd: int, seed: int) -> dict[str, float]:
    """Shares [-]: the truth first, among three, good sheets turned away, and nonsense seen, by kind."""
    rng = np.random.default_rng(seed)
    places, away = [], []
    for _ in range(count):
        name, real, site, run = drawn_case(cases, rng)
        sheet = sheet_of(cases, real, site, run, rng)
        named = [fault for fault, _, _ in belief_of(sheet, cases).top(3)]
        places.append(named.index(name) if name in named else 9)
        away.append(misfit(items_of(sheet, cases), cases.weights) > 1.0)
    out = {
        "first": float(np.mean([p == 0 for p in places])),
        "top 3": float(np.mean([p < 3 for p in places])),
        "turned away": float(np.mean(away)),
    }
    for kind in NONSENSE:
        seen = [misfit(items_of(nonsense(kind, cases, rng), cases), cases.weights) > 1.0 for _ in range(odd)]
        out[kind] = float(np.mean(seen))
    return out


@pytest.mark.full
def test_truth_among_the_first_and_nonsense_seen(cases: HypothesisSet) -> None:
    found = rates(cases, 15, 5, seed=11)
    assert found["top 3"] >= 0.8
    assert found["turned away"] <= 0.1
    for kind in ("a slip of units", "times mixed up", "cannot be", "any figures"):
        assert found[kind] >= 0.75, kind


@pytest.mark.full
def test_rates_on_many_sheets(cases: HypothesisSet) -> None:
    found = rates(cases, 400, 80, seed=12)
    assert found["top 3"] >= 0.88
    assert found["turned away"] <= 0.04
    for kind in ("a slip of units", "times mixed up", "cannot be", "any figures"):
        assert found[kind] >= 0.9, kind
    # two pumps may well look alike: most of such sheets are seen, not all
    assert found["two pumps mixed up"] >= 0.4


def test_an_odd_reading_is_named(cases: HypothesisSet) -> None:
    good = (Needle(20.0, 17e3, 4.8e5), Needle(45.0, 22e3, 4.8e5), Needle(90.0, 22e3, 4.9e5))
    sheet = FieldSheet(RIG, SITE, good, (Finding("exhaust_stream", "strong_on", "", 60.0),), Watch(100.0))
    report = judge_sheet(sheet)
    assert report.fits
    assert report.clashes == ()
    assert {each.fault for each in report.suspects} <= {
        "nrv_fouled", "joint_ring", "flange_leaks", "hose_hole", "seal_worn", "drain_open", "strainer_high",
    }  # fmt: skip
    odd = replace(sheet, needles=(good[0], Needle(45.0, 75e3, 4.8e5), good[2]))
    report = judge_sheet(odd)
    assert not report.fits
    first = report.clashes[0]
    assert (first.kind, first.time, first.value) == ("suction", 45.0, 75e3)


def test_an_odd_look_is_named() -> None:
    dead = (Needle(20.0, 0.0, 0.0), Needle(60.0, 0.0, 0.0))  # no motive air, yet a strong stream
    sheet = FieldSheet(RIG, SITE, dead, (Finding("exhaust_stream", "strong_on", "", 60.0),))
    report = judge_sheet(sheet)
    assert not report.fits
    assert [item.kind for item in report.clashes] == ["finding"]


def test_the_plateau_above_the_lift_points_to_the_waters_way() -> None:
    needles = (Needle(15.0, 35e3, 4.9e5), Needle(40.0, 69e3, 4.9e5), Needle(80.0, 87e3, 4.9e5))
    report = judge_sheet(FieldSheet(RIG, SITE, needles, watch=Watch(90.0)))
    assert report.fits
    assert report.suspects[0].fault in ("strainer_plugged", "liner_collapsed")
    assert report.suspects[0].speaks_for


def test_a_good_start_is_proof_and_asks_for_nothing_more() -> None:
    needles = (Needle(15.0, 15e3, 4.9e5), Needle(30.0, 28e3, 4.9e5))
    report = judge_sheet(FieldSheet(RIG, SITE, needles, watch=Watch(100.0, 40.0, "primed")))
    assert report.proved
    assert report.next.kind == "finish"
    about, low, high = report.expected
    assert low < about < high
    plan = expected(RIG, SITE)
    assert report.expected == (plan.time, plan.low, plan.high)


def test_a_check_already_made_is_not_advised_again() -> None:
    sheet = FieldSheet(
        RIG, SITE, (Needle(60.0, 5e3, 4.9e5),), (Finding("walk_round", "in_order", "", 60.0),), Watch(90.0)
    )
    report = judge_sheet(sheet)
    assert (report.next.kind, report.next.id) != ("check", "walk_round")


def test_needles_after_the_prime_do_not_count() -> None:
    needles = (Needle(20.0, 18e3), Needle(80.0, 60e3))
    sheet = FieldSheet(RIG, SITE, needles, watch=Watch(100.0, 40.0))
    assert [needle.time for needle in usable(sheet)] == [20.0]
    assert judge_sheet(sheet).left_out == 1


def test_needles_of_a_start_that_went_bad_tell_which_way_they_went() -> None:
    """Up, at smooth running: more is thrown at less pressure, as from a burst line; a clogged wheel lets it sink."""
    needles = (Needle(20.0, 17e3), Needle(50.0, 61e3), Needle(82.0, 75e3), Needle(110.0, 75e3))
    sheet = FieldSheet(RIG, SITE, needles, watch=Watch(110.0, 36.0, "pumps_badly"))
    assert way_gone(sheet) == 1
    report = judge_sheet(sheet)
    assert report.left_out == 0
    assert report.suspects[0].fault == "line_bursts"
    assert "impeller_clogged" not in [each.fault for each in report.suspects[:2]]
    well = FieldSheet(RIG, SITE, needles, watch=Watch(110.0, 36.0, "primed"))
    assert (way_gone(well), judge_sheet(well).left_out) == (0, 3)


@pytest.mark.parametrize(
    "part",
    [
        {"needles": (Needle(30.0, 140e3),)},
        {"needles": (Needle(300.0, 20e3),)},
        {"needles": (Needle(-1.0, 20e3),)},
        {"needles": (Needle(30.0, 20e3, 30e5),)},
        {"needles": (Needle(30.0, 20e3, -1e5),)},
        {"findings": (Finding("hold_test", "holds"),)},  # this rig has no cock
        {"findings": (Finding("belt", "blue"),)},
        {"watch": Watch(0.0)},
        {"watch": Watch(30.0, 60.0)},
        {"watch": Watch(90.0, 60.0, "somehow")},
    ],
)
def test_what_cannot_be_is_a_sentence(part: dict[str, object]) -> None:
    with pytest.raises(InputError) as caught:
        check_sheet(replace(FieldSheet(RIG, SITE), **part))  # type: ignore[arg-type]
    assert "Legal" in str(caught.value)


def test_an_empty_sheet_is_said_so() -> None:
    with pytest.raises(InputError, match="nothing on the sheet"):
        judge_sheet(FieldSheet(RIG, SITE))


def test_own_hose_and_lift() -> None:
    rig, site = with_card(RIG, SITE, hose=15.0, lift=4.5, altitude=300.0, water=283.15)
    assert rig.suction_hose.joints[-1].position == pytest.approx(0.99 * 15.0)
    assert (site.lift, site.altitude, site.water_temperature) == (4.5, 300.0, 283.15)
    with pytest.raises(InputError, match="does not reach"):
        with_card(RIG, SITE, hose=4.0, lift=5.0, altitude=0.0, water=293.15)
