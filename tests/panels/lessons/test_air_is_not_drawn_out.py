"""Lesson 05 without a browser: the motive side, told from runs."""

from __future__ import annotations

import json
import random

import pytest

from simulator.panels.lessons.air_is_not_drawn_out.motive_side import looks_of, row, stream
from simulator.panels.lessons.air_is_not_drawn_out.page import (
    PLAN,
    RUNS,
    TABLE_RUNS,
    NotDrawnOut,
    starved,
    table_rows,
)
from simulator.panels.teaching.cases import faulted, run_of, usual_rig, usual_site, with_hose
from simulator.panels.teaching.drill import build

SEEDS = range(14)


@pytest.mark.parametrize(
    ("fault", "size", "name"),
    [
        ("nozzle_plugged", 0.8, "narrow"),
        ("air_line_kinked", 0.985, "narrow"),
        ("belt_loose", 0.7, "short"),
        ("compressor_worn", 0.7, "short"),
        ("intake_blocked", 0.96, "short"),
        ("air_line_holed", 0.0045, "short"),
        ("nozzle_worn", 1.8, "short"),
        ("relief_weak", 2.0e5, "relief"),
        ("screen_plugged", 0.97, "behind"),
        ("exhaust_blocked", 0.97, "behind"),
    ],
)
def test_the_motive_side_table(fault: str, size: float, name: str) -> None:
    # before the jet: high gauge; too little air: low and silent; weak valve: low and blowing; common practice, no source
    assert row(faulted(fault, size), run_of(usual_rig(), usual_site())) == name


def test_the_four_runs_are_the_four_rows() -> None:
    sound = run_of(usual_rig(), usual_site())
    assert {name: row(faulted(*run[:2]), sound) for name, run in RUNS.items()} == {
        name: name for name in RUNS
    }


def test_a_nozzle_more_than_half_plugged_costs_time_or_the_prime() -> None:
    template = next(t for t in PLAN.drills if t.__name__ == "half_plugged")
    answers = set()
    for seed in SEEDS:
        made = build(template, seed, "metric")
        _, size, _, lift, _, hose = made.case.split()
        rig, site = with_hose(usual_rig(), float(hose)), usual_site(float(lift))
        run, sound = faulted("nozzle_plugged", float(size), "", rig, site), run_of(rig, site)
        assert made.right == ("later" if run.primed else "never")
        if run.primed:
            assert run.prime_time > 1.1 * sound.prime_time
        answers.add(made.right)
    assert answers == {"later", "never"}


def test_an_exhaust_that_is_shut_turns_the_jet_back() -> None:
    run = faulted("exhaust_blocked", 0.97)
    assert run.vacuum[-1] < 0.0
    assert run.strainer_bubbles[-1] > 0.0
    assert stream(faulted("belt_loose", 1.0)) == "none"


def test_the_quick_and_likely_look_comes_first() -> None:
    # belt and filter before the shop's work on the compressor; the exhaust hose before the screen; common practice
    assert next(iter(looks_of("short"))) == "belt"
    assert next(iter(looks_of("behind"))) == "exhaust_off"
    # a needle above zero is a shut exhaust, one that is not is none: what is seen beats how often a fault happens
    assert list(looks_of("behind", "silent", "above_zero")) == ["exhaust_off"]
    assert list(looks_of("behind", "silent", "not_above")) == ["screen_out"]
    # quick looks that take nothing apart come before a part is opened: common practice, no source
    assert next(iter(looks_of("narrow", "silent"))) == "follow_air_line"
    assert list(looks_of("narrow", "followed")) == ["nozzle_out"]


def test_a_needle_above_zero_is_named_as_the_reason_for_the_first_look() -> None:
    said = set()
    for seed in range(40):
        made = starved(random.Random(seed), "metric")
        read, first = made.brief[1], made.steps[3]
        if first.right in ("exhaust_off", "screen_out"):
            assert ("above zero" in read) == (first.right == "exhaust_off")
            assert ("is above zero" in first.because) == (first.right == "exhaust_off")
            assert "above zero" in first.because
            said.add(first.right)
    assert said == {"exhaust_off", "screen_out"}


def test_the_table_comes_after_the_run(new_session, click) -> None:
    page = NotDrawnOut(new_session())
    for name in ("aim", "ideas", "predict", "run", "table", "case", "drills", "check", "what_next"):
        getattr(page, name)()
    assert [block["id"] for block in page.table().content["blocks"]] == ["heading", "wait"]
    click(page, "seen", what="ideas")
    for template in PLAN.predictions:
        click(page, "answer", question=f"predict:{template.__name__}", answer="unsure")
    for track in page.predictions.track_ids():
        click(page, "seen", what=f"run:{track}")
    block = page.table().block("rows")
    assert len(block["rows"]) == len(TABLE_RUNS) + 1
    assert all(len(each["cells"]) == len(block["columns"]) for each in block["rows"])
    json.dumps(page.table().content, allow_nan=False)


def test_the_table_in_both_units() -> None:
    for units, sign in (("metric", "bar"), ("us", "psi")):
        assert all(sign in cells[1] for cells in table_rows(units))
