"""The planner of lesson 02: from the move of a slider to a new curve, as the kernel sees it."""

from __future__ import annotations

from itertools import count

import pytest

from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.how_long_should_it_take.page import PLAN, HowLong
from simulator.panels.lessons.how_long_should_it_take.planning import SetUp, expected
from simulator.records import Store

pytestmark = pytest.mark.benchmark


def test_slider_to_curve(benchmark, tmp_path) -> None:
    page = HowLong(LearnerSession(Store.open("sqlite://"), folder=tmp_path))
    for name in ("aim", "ideas", "predict", "run", "planner", "drills", "check", "what_next"):
        getattr(page, name)()
    page.act("seen", {"what": "ideas"}, "ideas")
    for template in PLAN.predictions:
        page.act(
            "answer", {"question": f"predict:{template.__name__}", "answer": "unsure"}, template.__name__
        )
    for track in page.predictions.track_ids():
        page.act("seen", {"what": f"run:{track}"}, track)
    moves = count()

    def move() -> None:
        step = next(moves)
        page.act("plan", {"length": 10.0 + 0.01 * (step % 1000)}, f"move {step}")

    benchmark.pedantic(move, rounds=60, iterations=1, warmup_rounds=2)  # each one another set-up
    assert page.planner().block("planner")["setup"]["length"] != 10.0


def test_band(benchmark) -> None:
    steps = count()
    benchmark.pedantic(lambda: expected(SetUp(length=10.0 + 0.01 * next(steps))), rounds=8, warmup_rounds=1)
