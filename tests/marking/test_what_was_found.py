"""What a look has found comes first, and the debrief praises no start that the page warned of at that moment."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.option import WATCH
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import debrief_of
from simulator.marking.service import marked_attempt
from simulator.panels.exercise.page_model import build_page
from simulator.rig.faults import FAULTS
from simulator.texts import text
from tests.marking.conftest import call_out, do

FOUND = (
    ("line_kinked", 0.9, "straighten_line"),
    pytest.param("hose_humped", 0.6, "relay_hose", marks=pytest.mark.full),
    pytest.param("drain_open", 0.5, "close_drain", marks=pytest.mark.full),
)
SEED = 7  # of chance by which the look round sees each of them
SAME = text("marking.steps.expert_same")


def begun(fault: str, size: float) -> Attempt:
    """The first guess given, walked round: something was found."""
    attempt = Attempt(call_out(fault, size), MemoryStore(), mode="practice", seed=SEED)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    assert build_page(attempt)["walk_found"]
    return attempt


def call(attempt: Attempt, suspect: str) -> None:
    attempt.act("call", {"markers": {suspect: 10}})
    if attempt.yard.question:
        attempt.act("predict", {"question": attempt.yard.question, "answer": None})


def run_for(attempt: Attempt, seconds: float) -> None:
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": seconds})


@cache
def told(fault: str, size: float, work: str, *, against: bool) -> tuple[dict[str, Any], list[float]]:
    """The debrief, and the minutes that each step lost, of who puts first what was found, or starts against it first."""
    attempt = begun(fault, size)
    if against:
        run_for(attempt, 60.0)
        attempt.act("stop_engine")
    call(attempt, fault)
    call(attempt, fault)
    do(attempt, "remedy", remedy=work)
    run_for(attempt, 80.0)
    assert attempt.act("finish").accepted
    story, cases, marked = marked_attempt(attempt)
    return debrief_of(story, cases, marked), [item.lost for item in marked.judged]


@pytest.mark.parametrize(("fault", "size", "work"), FOUND)
def test_who_puts_first_what_was_found_loses_nothing_and_is_told_so(
    fault: str, size: float, work: str
) -> None:
    debrief, lost = told(fault, size, work, against=False)
    assert lost == [0.0, 0.0, 0.0]
    mended = debrief["steps"][1]
    assert mended["expert_line"] in (SAME, text("marking.steps.expert_found"))
    assert debrief["steps"][2]["expert_line"] == SAME  # the proof: nothing is left to be found


@pytest.mark.parametrize(("fault", "size", "work"), FOUND)
def test_a_start_against_what_was_found_is_not_praised(fault: str, size: float, work: str) -> None:
    debrief, _ = told(fault, size, work, against=True)
    start = debrief["steps"][1]
    first = text("marking.steps.warned_found", act="").partition(":")[0]
    assert start["expert_line"].startswith(first)
    assert not start["same"]
    assert text("diagnosis.reason.watch_first", minutes="1.5 minutes") not in start["why"]
    assert debrief["steps"][-1]["expert_line"] == SAME


def test_a_start_at_half_speed_or_from_a_full_hose_is_not_praised() -> None:
    attempt = begun("drain_open", 0.5)
    call(attempt, "drain_open")
    call(attempt, "drain_open")
    do(attempt, "remedy", remedy="close_drain")
    run_for(attempt, 60.0)
    attempt.act("stop_engine")
    attempt.act("start_engine", {"speed": "rated"})  # at once: the hose still holds its water
    attempt.act("wait", {"seconds": 10.0})
    attempt.act("stop_engine")
    attempt.act("wait", {"seconds": 120.0})
    do(attempt, "start_engine", speed="slow")
    attempt.act("wait", {"seconds": 60.0})
    attempt.act("give_up")
    story, cases, marked = marked_attempt(attempt)
    starts = [
        step
        for item, step in zip(marked.judged, debrief_of(story, cases, marked)["steps"], strict=True)
        if item.step.option.kind == WATCH
    ]
    assert SAME not in {step["expert_line"] for step in starts[1:]}


QUICK = [check.id for check in CHECKS.values() if "running" in check.needs and 0.0 < check.minutes <= 3.0]
DEAR = "follow_air_line"  # of them the one that tells least of a strainer for its minutes


@pytest.mark.parametrize(
    "look", [DEAR, *(pytest.param(look, marks=pytest.mark.full) for look in QUICK if look != DEAR)]
)
def test_the_one_quick_look_at_a_pump_that_should_have_had_its_water_costs_nothing(look: str) -> None:
    attempt = Attempt(call_out("strainer_plugged", 0.98), MemoryStore(), mode="practice", seed=SEED)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    run_for(attempt, attempt.case.proof_time + 5.0)
    assert not build_page(attempt)["run"]["looked"]
    place = {"foam_joint": "joint:1", "foam_length": "length:1"}.get(look, "")
    do(attempt, "check", check=look, **({"place": place} if place else {}))
    page = build_page(attempt)
    assert (page["run"]["overdue"], page["run"]["looked"]) == (True, True)
    attempt.act("stop_engine")
    attempt.act("give_up")
    lost = {item.step.option.id: item.lost for item in marked_attempt(attempt)[2].judged}
    assert lost[look] == 0.0


def test_who_watches_until_the_clock_waits_loses_nothing() -> None:
    attempt = Attempt(call_out("impeller_clogged", 0.6), MemoryStore(), mode="practice", seed=SEED)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    do(attempt, "start_engine", speed="rated")
    while attempt.snapshot().run["wait"] is None:
        attempt.act("wait", {"seconds": 2.0})
    assert attempt.snapshot().run["wait"]["key"] == "1:came"
    call(attempt, "impeller_clogged")
    attempt.act("give_up")
    assert [item.lost for item in marked_attempt(attempt)[2].judged] == [0.0, 0.0]


def test_what_was_found_names_its_suspects_but_not_in_an_assessment() -> None:
    attempt = begun("line_kinked", 0.9)
    found = build_page(attempt)["found"]
    assert "line_kinked" in found["suspects"]
    assert all(FAULTS[name].part for name in found["suspects"])
    alone = Attempt(call_out("line_kinked", 0.9), MemoryStore(), mode="assessment", seed=SEED)
    alone.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(alone, "check", check="walk_round")
    assert build_page(alone)["found"] is None
