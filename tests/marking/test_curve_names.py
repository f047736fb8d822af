"""Curves of one comparison never bear one name: where the suspect is the fault, what differs is told."""

from __future__ import annotations

from types import SimpleNamespace

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.calls import MARKERS
from simulator.diagnosis.hypotheses import Hypothesis
from simulator.marking.debrief import _told_apart
from simulator.marking.service import debrief_and_keep
from simulator.texts import text
from tests.marking.conftest import call_out, do


def told(slip: float, guess: float) -> dict[str, str]:
    story = SimpleNamespace(faults=({"fault": "belt_loose", "slip_percent": slip},))
    return _told_apart(story, Hypothesis("belt_loose", "motive", guess, "", 1.0))


def test_the_same_fault_of_another_size_is_told_by_its_size() -> None:
    labels = told(62.0, 0.4)
    assert labels["true"] == "this rig: The belt slipped by 62 %"
    assert "40 %" in labels["suspect"]
    assert labels["true"] != labels["suspect"]


def test_the_same_size_is_told_as_the_same() -> None:
    assert told(40.0, 0.4)["suspect"] == text("marking.curves.suspect_same")


def test_who_rightly_says_that_nothing_is_wrong_gets_a_debrief() -> None:
    """It ended in an error: a rig in good order has no size to be told apart by."""
    attempt = Attempt(call_out("sound", 0.0), MemoryStore(), mode="practice", seed=3)
    do(attempt, "check", check="walk_round")
    do(attempt, "start_engine", speed="rated")
    do(attempt, "wait", seconds=90.0)
    assert attempt.act("call", {"markers": {"sound": MARKERS}}).accepted
    do(attempt, "finish")
    assert attempt.yard.ended == "finished"
    labels = debrief_and_keep(attempt)["curves"]["labels"]
    assert labels["suspect"] == text("marking.curves.suspect", fault=text("faults.sound.name"))
