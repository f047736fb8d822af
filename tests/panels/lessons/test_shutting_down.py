"""Lesson 11 without a browser: what a stop leaves, what drains empty, and what the next morning brings."""

from __future__ import annotations

import pytest

from simulator.panels.lessons.shutting_down.drills import ICE, OPENED, drained, emptied, stopped
from simulator.panels.lessons.shutting_down.page import PLAN, ShuttingDown
from simulator.panels.teaching.cases import faulted, usual_rig, usual_site
from simulator.panels.teaching.drill import build

SEEDS = range(16)


def test_what_a_stop_leaves() -> None:
    rig, site = usual_rig(), usual_site()
    run = stopped(rig, site)
    assert run.casing_fill[-1] == pytest.approx(rig.casing.lip_fill, abs=0.01)
    assert run.line_fill[-1] > 0.99
    # with no vacuum left the water stands at the pond's level: hydrostatics
    assert abs(float(run.vacuum[-1])) < 200.0


@pytest.mark.parametrize("opened", OPENED)
def test_each_drain_empties_its_own_side(opened: str) -> None:
    run = drained(usual_rig(), usual_site(), *OPENED[opened])
    assert emptied(run) == {"casing": "casing", "frost": "line", "both": "both", "none": "none"}[opened]


def test_ice_takes_about_nine_percent_more_room(new_session) -> None:
    # density of ice at 0 C 0.917 of that of water: CRC Handbook of Chemistry and Physics, from memory
    assert pytest.approx(1.09, abs=0.005) == ICE
    assert "9 %" in " ".join(ShuttingDown(new_session()).phrases.words("cautions"))


def test_the_next_morning() -> None:
    assert not faulted("drain_open", 1.0).primed
    frost = next(t for t in PLAN.drills if t.__name__ == "forgot_frost")
    wet = next(t for t in PLAN.drills if t.__name__ == "restart_wet")
    assert {build(frost, seed, "metric").right for seed in SEEDS} == {"sprays"}
    assert {build(wet, seed, "metric").right for seed in SEEDS} == {"sooner"}


def test_answers_of_the_drills_spread() -> None:
    for name in ("part_speed", "which_drain", "forgot_casing"):
        template = next(t for t in PLAN.drills if t.__name__ == name)
        assert len({build(template, seed, "metric").right for seed in SEEDS}) >= 2, name
