"""When the question about a blank-off test counts: never where the test itself took it away."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from simulator.attempt.calls import BLANK_QUESTION
from simulator.marking.understanding import blank_asked

CALL = {"act": "call", "result": {"stage": 1, "markers": {"belt_loose": 10}}}
LATE_CALL = {"act": "call", "result": {"stage": 1, "markers": {"flange_works_loose": 10}}}
TEST = {"act": "check", "result": {"check": "blank_off"}}
OTHER_LOOK = {"act": "check", "result": {"check": "belt"}}
ANSWER = {"act": "predict", "result": {"question": BLANK_QUESTION, "answer": "nothing"}}


def story(*events: dict[str, Any], allowed: tuple[str, ...] | None = None) -> Any:
    return SimpleNamespace(log=[{"accepted": True, **event} for event in events], allowed_checks=allowed)


@pytest.mark.parametrize(
    ("events", "counts"),
    [
        ((), False),
        ((CALL,), True),  # asked and left open
        ((CALL, OTHER_LOOK), True),
        ((CALL, ANSWER, TEST), True),
        ((CALL, TEST), False),  # the test came first: nobody was told that the question goes with it
        ((CALL, {**TEST, "accepted": False}), True),
        ((TEST, CALL), False),
        ((LATE_CALL,), False),  # nothing to be seen with the plate on
    ],
)
def test_the_question_counts_where_it_could_still_be_answered(
    events: tuple[dict[str, Any], ...], counts: bool
) -> None:
    assert blank_asked(story(*events)) is counts
    assert not blank_asked(story(*events, allowed=("belt",))) or ANSWER in events
