"""What every taught lesson of the registry must keep; a new one is held to it by its line there."""

from __future__ import annotations

import pytest

from tests.panels.teaching.taught import (
    assert_case,
    assert_drill,
    assert_plan,
    assert_spread,
    assert_words,
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


@pytest.mark.parametrize("plan", PLANS, ids=NAMES)
def test_right_answers_have_no_fixed_place(plan) -> None:
    assert_spread(plan, SEEDS)


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
