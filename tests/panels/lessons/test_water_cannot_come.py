"""Lesson 06 without a browser: its drills are answered from runs, and say what the trade says."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.panels.lessons.water_cannot_come.drills import bends, cause_of, long_rig
from simulator.panels.lessons.water_cannot_come.page import PLAN
from simulator.panels.teaching.cases import deepest_vacuum, faulted, run_of, usual_rig, usual_site, vacuum_at
from simulator.panels.teaching.drill import build
from simulator.panels.teaching.looking import likeliest
from simulator.panels.teaching.looking import test_run as run_of_test
from simulator.rig.presets import load_rig
from simulator.run import Setup

SEEDS = range(16)


def test_a_plugged_strainer_climbs_like_a_closed_hose_and_the_liner_even_more() -> None:
    # the vacuum works on less gas when no water follows: exact for a fixed volume
    sound = run_of(usual_rig(), usual_site())
    capped = run_of(usual_rig(), usual_site(), setup=Setup.CAPPED)
    strainer, liner = faulted("strainer_plugged", 0.998), faulted("liner_collapsed", 7e3)
    assert vacuum_at(strainer, 15.0) > vacuum_at(capped, 15.0) > vacuum_at(sound, 15.0)
    assert abs(vacuum_at(liner, 10.0) - vacuum_at(sound, 10.0)) < 500.0

    def slope(run, level: float) -> float:
        at = int((run.vacuum > level).argmax())
        return float(run.vacuum[at + 15] - run.vacuum[at - 15]) / 3.0

    assert slope(liner, 45e3) > 1.3 * slope(strainer, 45e3)


@pytest.mark.parametrize("rig", [usual_rig(), load_rig("alder")], ids=lambda rig: rig.title)
def test_a_loose_liner_folds_under_a_dry_vacuum_and_the_needle_does_not_show_it(rig) -> None:
    # common practice, no source: it folds in a dry vacuum test, and a look through a clear plate shows it
    site = usual_site()
    loose = faulted("liner_collapsed", 9e3, "", rig, site)
    good, capped = (run_of_test(each, site, Setup.CAPPED) for each in (rig, loose.rig))
    assert capped.value("liner_open", 60.0) < 0.1 < good.value("liner_open", 60.0)
    assert np.allclose(capped.vacuum, good.vacuum, rtol=0.0, atol=50.0)  # [Pa]
    sound = run_of(rig, site)
    assert likeliest("clear_plate", loose, sound) == "liner_closes"
    assert likeliest("light_through", loose, sound, place="length:1") == "clear"
    made = [build(t, seed, "metric") for t in PLAN.drills if t.__name__ == "capped_hose" for seed in SEEDS]
    assert {each.right for each in made} == {"as_good"}
    assert any("folds in" in each.because for each in made)


@pytest.mark.parametrize(
    ("fault", "size", "cause"),
    [
        ("strainer_plugged", 0.998, "strainer"),
        ("liner_collapsed", 7e3, "liner"),
        ("liner_collapsed", 11e3, "liner"),
    ],
)
def test_causes_of_known_faults(fault: str, size: float, cause: str) -> None:
    sound = run_of(long_rig(), usual_site())
    assert cause_of(faulted(fault, size, "", long_rig()), sound) == cause


def test_too_much_lift_keeps_to_its_line() -> None:
    sound, high = run_of(long_rig(), usual_site()), run_of(long_rig(), usual_site(8.6))
    assert (bends(high), cause_of(high, sound)) == ("same", "too_high")


def test_no_rig_lifts_more_than_the_air_outside_can() -> None:
    # greatest lift at sea level, 20 C: (101.325 - 2.339) kPa over rho g = 10.11 m, standards as in tests/physics
    assert deepest_vacuum(usual_rig(), usual_site()) < 101_325.0 - 2_339.0
    drills = [t for t in PLAN.drills if t.__name__ == "can_it_prime"]
    for seed in SEEDS:
        made = build(drills[0], seed, "metric")
        if made.case.startswith("lift 9.2"):
            assert made.right == "never"


def test_answers_of_the_drills_spread() -> None:
    for name in ("what_holds_it", "two_readings", "next_look", "high_spot", "part_plugged", "can_it_prime"):
        template = next(t for t in PLAN.drills if t.__name__ == name)
        assert len({build(template, seed, "metric").right for seed in SEEDS}) >= 2, name


def test_a_liner_that_is_a_little_loose_lets_the_hose_fill_and_folds_as_the_pump_pulls() -> None:
    site = usual_site(2.2)
    loose, sound = faulted("liner_collapsed", 10e3, "", usual_rig(), site), run_of(usual_rig(), site)
    full = [
        float(run.time[np.argmax(run.front_position >= run.rig.suction_hose.length)])
        for run in (loose, sound)
    ]
    assert full[0] == pytest.approx(full[1], abs=1.0)
    assert loose.value("liner_open", full[0]) > 0.1, "a part of its bore is enough to fill it"
    assert not loose.primed
    assert loose.vacuum[-1] > 8e4


def test_the_high_spot_is_drawn_and_told_as_the_model_has_it() -> None:
    shown = {each["id"]: each for each in PLAN.tracks("metric")}["high_spot"]
    run = faulted("hose_humped", 0.8, "", long_rig(), usual_site(8.5))
    held = shown["series"]["trapped_length"]
    assert held[-1] == pytest.approx(run.value("trapped_length", 150.0), rel=1e-3)
    assert held[-1] > 0.5
    first = shown["step_s"] * next(i for i, length in enumerate(held) if length > 0.1)
    runs_over = next(says for says in shown["says"] if "stays in the high spot" in says["text"])
    assert first <= runs_over["t"] <= first + 5.0
    end = shown["says"][-1]
    assert f"filled to {100 * run.value('casing_fill', end['t']):.0f} %" in end["text"]
    assert run.value("casing_fill", 150.0) < run.rig.casing.full_fill
    assert not run.primed
