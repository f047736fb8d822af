"""What every taught lesson of the registry must keep; a new one is held to it by its line there."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace

import pytest

from tests.panels.teaching import taught
from tests.panels.teaching.taught import (
    assert_case,
    assert_drill,
    assert_plan,
    assert_spread,
    assert_words,
    lacking,
    taught_pages,
)

SEEDS = range(16)
PLANS = [page.plan for page in taught_pages().values()]
NAMES = [plan.area for plan in PLANS]
DRILLS = [(plan.area, drill) for plan in PLANS for drill in plan.drills]


@pytest.mark.parametrize(
    ("area", "template"), DRILLS, ids=[f"{area} {drill.__name__}" for area, drill in DRILLS]
)
def test_a_drill_is_whole_and_fresh(area, template) -> None:
    assert_drill(template, SEEDS)


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(plan, id=name, marks=[pytest.mark.full] if n % 3 else [])
        for n, (plan, name) in enumerate(zip(PLANS, NAMES, strict=True))
    ],
)
def test_right_answers_have_no_fixed_place(plan) -> None:
    assert_spread(plan, SEEDS)


def test_all_that_a_plan_lacks_is_told_at_once(monkeypatch) -> None:
    plan = next(plan for plan in PLANS if plan.area == "lesson_03")
    thin = replace(
        plan, drills=plan.drills[:2], check=plan.check[:1], ideas=(), minutes=5, predictions=(), following=()
    )
    assert lacking(plan, "03") == []
    words = deepcopy(taught.catalogue("en"))
    name = thin.drills[0].__name__
    options = words["lesson_03"]["drills"][name]["options"]
    del options[next(iter(options))]["says"]
    words["plans"]["lessons"]["03"] |= {"ask": ["One?"], "wrong": []}
    monkeypatch.setattr(taught, "catalogue", lambda _: words)
    told = "\n".join(lacking(thin, "03"))
    place = "simulator/panels/lessons/reading_the_gauge"
    for wanted in (
        f"lesson 03: 2 drills, at least 8: add to DRILLS in {place}/drills.py",
        "1 question in its check, 3 to",
        "0 ideas, 1 to 5",
        "5 minutes, 15 to 45",
        "no prediction",
        "add `says`",
        "1 of `ask`",
        "0 of `wrong`",
    ):
        assert wanted in told


@pytest.mark.parametrize("plan", PLANS, ids=NAMES)
def test_the_plan_is_whole(plan) -> None:
    assert_plan(plan)


CASES = [plan for plan in PLANS if plan.case is not None]


@pytest.mark.parametrize("plan", CASES, ids=[plan.area for plan in CASES])
def test_the_case_fades(plan) -> None:
    assert_case(plan, range(4))


@pytest.mark.parametrize("plan", PLANS, ids=NAMES)
def test_its_words_are_easy_to_read(plan) -> None:
    assert_words(plan.area)
