"""Marks are fair: noise hardly moves them, good choices are paid whatever comes of them, skill outranks luck."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.evidence import Story, story_of
from simulator.instruments.gauges import GAUGES, needle, state_of
from simulator.marking.mark import mark
from simulator.marking.service import cases_for, marked_attempt
from simulator.studies.skill import (
    CallOut,
    Played,
    expert_beats_random,
    misses,
    play_study,
    steps_of,
    study_scenarios,
)
from simulator.studies.trainees import TRAINEES, Expert
from tests.marking.conftest import call_out

CASES = [
    ("belt_loose", 0.7, ""),
    ("nrv_fouled", 60e-6, ""),
    ("strainer_plugged", 0.98, ""),
    ("joint_ring", 0.008, "joint:1"),
]
EACH = [pytest.param(case, id=case[0], marks=pytest.mark.full) for case in CASES]


def with_other_noise(attempt: Attempt, story: Story, seed: int) -> Story:
    """The same choices and outcomes, with needles that shook another way."""
    runs = dict(story.runs)
    for timeline in attempt.timelines:
        rows = [
            needle(timeline.computed_history(), GAUGES[name], state_of(timeline.rig, name), seed)[::10]
            for name in ("suction", "motive")
        ]
        runs[timeline.number] = replace(runs[timeline.number], needles=np.array(rows))
    return replace(story, runs=runs)


@pytest.mark.parametrize("trainee", ["expert", pytest.param("list", marks=pytest.mark.full)])
@pytest.mark.parametrize("case", EACH)
def test_other_noise_moves_the_economy_mark_by_less_than_an_eighth(case, trainee: str) -> None:
    attempt = Attempt(call_out(*case), MemoryStore(), seed=1)
    TRAINEES[trainee](attempt, 1).play()
    story = story_of(attempt.state)
    cases = cases_for(story)
    points = [mark(with_other_noise(attempt, story, seed), cases).points("economy") for seed in range(5)]
    assert max(points) - min(points) < 0.12 * 40.0, points


@pytest.mark.parametrize("case", EACH)
def test_the_advisors_own_choices_earn_92_percent_of_the_time_part_over_redrawn_outcomes(case) -> None:
    points = []
    for seed in range(4):
        attempt = Attempt(call_out(*case), MemoryStore(), seed=seed)
        Expert(attempt, seed).play()
        assert not [event for event in attempt.log if event["breach"]]
        points.append(marked_attempt(attempt)[2].sheet.points("economy"))
    assert float(np.mean(points)) >= 0.92 * 40.0, points


@pytest.mark.full
def test_all_trainees_work_safely_and_the_expert_outranks_the_rest() -> None:
    for name in TRAINEES:
        attempt = Attempt(call_out("belt_loose", 0.7), MemoryStore(), seed=2)
        TRAINEES[name](attempt, 2).play()
        assert not [event for event in attempt.log if event["breach"]], name
        assert attempt.yard.ended in ("finished", "given_up"), name


def fake(trainee: str, skill: float) -> Played:
    return Played(trainee, (None,) * 4, skill, skill, 1.0, True, 1)


def test_the_study_tells_an_order_from_none() -> None:
    """The figures of the study on made-up marks: a plain order holds, and equal marks are reported as missed."""
    skills = dict(zip(TRAINEES, (5.0, 15.0, 30.0, 40.0, 55.0), strict=True))
    wobble = np.random.default_rng(1).normal(0.0, 4.0, (40, len(TRAINEES)))
    calls = [
        CallOut("x", "osier", {name: fake(name, skills[name] + row[i]) for i, name in enumerate(TRAINEES)})
        for row in wobble
    ]
    assert all(step.holds for step in steps_of(calls))
    assert misses(calls) == []
    same = [CallOut("x", "osier", {name: fake(name, 10.0) for name in TRAINEES}) for _ in range(40)]
    assert not any(step.holds for step in steps_of(same))
    assert expert_beats_random(same) == 0.0
    assert len(misses(same)) == 6


@pytest.mark.full
def test_a_small_study_runs_and_ranks_the_expert_over_random() -> None:
    scenarios = [scenario for scenario in study_scenarios(6) if scenario.rig == "osier"][:1]
    calls = play_study(scenarios)
    assert set(calls[0].played) == set(TRAINEES)
    assert calls[0].played["expert"].skill > calls[0].played["random"].skill


@pytest.mark.full
def test_skill_ranks_over_200_call_outs() -> None:
    calls = play_study(study_scenarios(200), workers=2)
    assert misses(calls) == []
