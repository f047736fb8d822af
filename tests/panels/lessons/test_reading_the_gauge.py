"""Lesson 03 without a browser: its drills are answered from runs, and say what the trade says."""

from __future__ import annotations

import random
import re

import pytest

from simulator.panels.lessons.reading_the_gauge.page import PLAN
from simulator.panels.teaching.cases import faulted, run_of, usual_rig, usual_site
from simulator.panels.teaching.drill import build
from simulator.panels.teaching.gauge_shapes import drawn_shape, rests_at_lift, shape, side

SEEDS = range(16)


def test_a_plugged_strainer_climbs_faster_than_a_sound_rig() -> None:
    # the vacuum works on less gas when no water follows: exact for a fixed volume, so it must be ahead at once
    for seed in SEEDS:
        assert (
            build(next(t for t in PLAN.drills if t.__name__ == "first_seconds"), seed, "metric").right
            == "faster"
        )
    assert build(PLAN.predictions[0], 0, "metric").right == "faster"


@pytest.mark.parametrize(
    ("fault", "size", "name"),
    [
        ("sound", 0.0, "healthy"),
        ("drain_open", 1.0, "flat_low"),
        ("belt_loose", 0.7, "flat_low"),
        ("screen_plugged", 0.94, "slow"),
        (
            "screen_plugged",
            0.992,
            "",
        ),  # a tenth of a sound rig's pace: a jet that hardly draws, not one that is late
        ("strainer_plugged", 0.998, "fast_dry"),
        ("liner_collapsed", 8e3, "fast_dry"),
        (
            "liner_collapsed",
            18e3,
            "",
        ),  # it rests and jumps as a sound rig does, and then goes too deep: none of the four
    ],
)
def test_shapes_of_known_faults(fault: str, size: float, name: str) -> None:
    # the plateau rule, common practice, no source
    assert shape(faulted(fault, size), run_of(usual_rig(), usual_site())) == name


@pytest.mark.parametrize("seed", range(8))
def test_what_is_drawn_as_slow_is_seen_to_rest_at_the_lift(seed: int) -> None:
    run = drawn_shape(random.Random(seed), "slow")[0]
    assert run.primed
    assert rests_at_lift(run)


def test_a_longer_hose_is_slow_without_a_fault() -> None:
    from simulator.panels.teaching.cases import with_hose

    sound = run_of(usual_rig(), usual_site())
    assert shape(run_of(with_hose(usual_rig(), 20.0), usual_site()), sound) == "slow"


@pytest.mark.parametrize("seed", SEEDS)
def test_a_needle_said_to_stand_below_the_lift_stands_far_below_it(seed: int) -> None:
    # idea 3: a few kPa short may fill late, or be the gauge
    made = build(next(t for t in PLAN.drills if t.__name__ == "plateau"), seed, "metric")
    rest, static = (float(found) for found in re.findall(r"(\d+) kPa", made.because))
    assert made.right == "blocked" or static - rest >= 7.0


def test_sides_of_the_lift() -> None:
    assert [side(value, 30e3) for value in (0.0, 26e3, 27e3, 37e3, 38e3)] == [
        "below", "below", "at", "at", "above"
    ]  # fmt: skip
