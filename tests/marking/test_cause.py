"""How the trouble came about is told in the debrief, in easy words, for every cause a file may name."""

from __future__ import annotations

import typing

import pytest

from simulator.marking.service import with_cause
from simulator.scenario import Scenario
from tests.house.reading import grade

CAUSES = [cause for cause in typing.get_args(Scenario.model_fields["cause"].annotation) if cause]


@pytest.mark.parametrize("cause", CAUSES)
def test_every_cause_has_its_sentence(cause: str) -> None:
    said = with_cause("It stood wide open.", cause)
    assert said.startswith("It stood wide open. ")
    assert said.endswith(".")
    assert grade([said]) <= 7.0
