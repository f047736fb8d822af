"""Curves of one comparison never bear one name: where the suspect is the fault, what differs is told."""

from __future__ import annotations

from types import SimpleNamespace

from simulator.diagnosis.hypotheses import Hypothesis
from simulator.marking.debrief import _told_apart
from simulator.texts import text


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
