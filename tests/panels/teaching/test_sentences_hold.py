"""What lessons say is held against the run, the case or the figures beside it; checks and cases are fresh."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from simulator.instruments.checks import CHECKS
from simulator.panels.teaching.fading import answers_of, case_for, fault_of
from simulator.panels.teaching.spread import part_of, round_of
from simulator.texts import entry
from tests.panels.teaching.sentence_rules import PLANS, TRACK_RULES, WORD_RULES, broken

AREAS = [plan.area for plan in PLANS]
CASES = [plan for plan in PLANS if plan.case is not None]


def _seen(made) -> tuple:
    return made.text, tuple(sorted(option.label for option in made.options)), repr(made.figures)


def test_what_is_said_while_a_run_is_played_holds_for_that_run() -> None:
    wrong, read = broken(range(0))
    assert wrong == []
    assert all(read[rule] >= 3 for rule in TRACK_RULES), read


@pytest.mark.full
@pytest.mark.parametrize("plan", PLANS, ids=AREAS)
def test_what_drills_and_cases_say_holds_for_their_runs(plan) -> None:
    wrong, read = broken(range(20), (plan,))
    assert sorted(set(wrong)) == []
    assert sum(read[rule] for rule in WORD_RULES) >= 10, read


@pytest.mark.full
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("plan", PLANS, ids=AREAS)
def test_a_check_asks_nothing_that_a_drill_may_have_asked(plan, units: str) -> None:
    drilled = {_seen(made) for seed in range(12) for made in round_of(plan.drills, seed, units, "drills")}
    asked = [made for seed in range(500_000, 500_012) for made in round_of(plan.check, seed, units, "check")]
    assert not drilled & {_seen(made) for made in asked}


def test_a_question_belongs_to_one_part_and_each_part_has_some() -> None:
    plan = next(plan for plan in PLANS if plan.area == "lesson_03")
    drills = round_of(plan.drills, 5, "metric", "drills")
    check = round_of(plan.check, 500_005, "us", "check")
    assert {part_of(made) for made in drills} == {"drills"}
    assert len(check) == len(plan.check)
    asked = round_of(plan.check, 500_005, "metric", "check")
    # "Which shape is this?" asks about the curve beside it: the same words with another curve are another question.
    assert not {_seen(made) for made in asked} & {_seen(made) for made in drills}


@pytest.mark.parametrize("plan", CASES, ids=[plan.area for plan in CASES])
def test_a_new_case_is_new(plan) -> None:
    assert plan.case is not None
    for seed in range(3):
        cases = [case_for(plan.case, seed, stage, "metric") for stage in (0, 1)]
        for one, other in pairwise(cases):
            assert fault_of(one) != fault_of(other)
            assert answers_of(one) != answers_of(other)


def test_a_look_on_offer_names_its_own_minutes() -> None:
    named = []
    for plan in PLANS:
        words = entry(plan.area)
        blocks = [*words["drills"].values(), *words.get("case", {}).values()]
        for block in blocks:
            for name, option in block["options"].items():
                found = re.search(r"([\d.]+) min$|half a minute$", str(option["label"]))
                if found is not None and name in CHECKS:
                    said = float(found[1]) if found[1] else 0.5
                    assert said == CHECKS[name].minutes, (plan.area, name, option["label"])
                    named.append(name)
    assert len(named) >= 16
