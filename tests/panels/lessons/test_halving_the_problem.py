"""Lesson 07 without a browser: tests part the halves as the trade says, and each drill is read off its own test."""

from __future__ import annotations

import math

import pytest

from simulator.panels.lessons.halving_the_problem.drills import KINDS, part_of, splitting_test
from simulator.panels.lessons.halving_the_problem.page import PLAN
from simulator.panels.teaching.drill import build
from simulator.units import STANDARD_GRAVITY

SEEDS = range(16)


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_of_tests_leads_to_the_part(kind: str) -> None:
    # common practice, no source: blank-off parts pump end and hose, hold parts leak and weak jet, a cap hose and water
    for fault, place, sizes in KINDS[kind]:
        for size in sizes:
            assert part_of(fault, size, place) == kind, (fault, size, place)


def test_the_next_test_parts_what_is_left() -> None:
    assert [splitting_test(blank) for blank in ("deep_quick", "deep_slow", "shallow")] == [
        "capped_hose", "screen_out", "hold_test"
    ]  # fmt: skip


def test_a_hole_twice_as_wide_falls_four_times_as_fast() -> None:
    # exact while choked: flow goes with the area (dp/dt = q/V)
    template = next(t for t in PLAN.drills if t.__name__ == "twice_the_hole")
    assert {build(template, seed, "metric").right for seed in SEEDS} == {"four"}


def test_the_pull_on_a_plate_as_the_caution_says() -> None:
    # F = p A: 80 kPa on 150 mm is 1.4 kN, some 145 kg
    force = 80e3 * math.pi * 0.15**2 / 4.0
    assert force == pytest.approx(1.4e3, rel=0.02)
    assert force / STANDARD_GRAVITY == pytest.approx(145.0, rel=0.02)


def test_answers_of_the_drills_spread() -> None:
    for name in (
        "read_blank",
        "which_half",
        "which_test",
        "hold_means",
        "capped_means",
        "what_would_show",
        "still_on",
    ):
        template = next(t for t in PLAN.drills if t.__name__ == name)
        assert len({build(template, seed, "metric").right for seed in SEEDS}) >= 2, name
