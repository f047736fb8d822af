"""How the trouble came about is told in the debrief, in easy words, for every cause a file may name."""

from __future__ import annotations

import typing

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.service import with_cause
from simulator.panels.exercise.debrief_work import debrief_and_keep
from simulator.scenario import Scenario
from simulator.texts import text
from tests.house.reading import grade
from tests.marking.conftest import call_out

CAUSES = [cause for cause in typing.get_args(Scenario.model_fields["cause"].annotation) if cause]


@pytest.mark.parametrize("cause", CAUSES)
def test_every_cause_has_its_sentence(cause: str) -> None:
    said = with_cause("It stood wide open.", cause)
    assert said.startswith("It stood wide open. ")
    assert said.endswith(".")
    assert grade([said]) <= 7.0


def test_the_page_tells_how_it_came_about() -> None:
    """What the exercise screen is wired to, not a way beside it."""
    scenario = call_out("belt_loose", 0.7).model_copy(update={"cause": "own_mistake"})
    attempt = Attempt(scenario, MemoryStore(), seed=1)
    attempt.act("give_up")
    told = debrief_and_keep(attempt, "metric", lambda done, total: None)["truth"]
    assert told.endswith(text("marking.truth.cause.own_mistake"))
