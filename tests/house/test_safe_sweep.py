"""What the pages build, drawn over many seeds: no sentence tells somebody an act that nothing beside it makes safe.

``test_safe_words.py`` reads the message catalogue; here the same rule holds for what a page builds of it:
all parts of the lessons as they open, drills, cases, predictions and runs, session plans, yard cards, and the pages and
debriefs of call-outs that a simple expert plays.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import play
from simulator.marking import debrief_and_keep
from simulator.panels.exercise.page_model import build_page
from simulator.panels.lessons.registry import LESSONS, lesson
from simulator.panels.page.part import LessonPart, with_safe_work
from simulator.panels.papers.card import yard_card
from simulator.panels.papers.session_plans import plan_names, session_plan
from simulator.panels.teaching.drill import build
from simulator.panels.teaching.fading import STAGES, case_for
from simulator.panels.teaching.plan import Plan
from simulator.rig import safe_work
from simulator.rig.presets import rig_names
from simulator.rig.safe_words import name_of, strings, told
from simulator.scenario import random_scenario
from tests.house.test_safe_words import NET, NOTHING_TOLD

SEEDS = range(24)
UNITS = ("metric", "us")
TAUGHT = [number for number in LESSONS if hasattr(lesson(number), "plan")]
CALLS = range(12)


def handed_over(said: Any) -> list[str]:
    """Sentences that hand somebody a tool and that no pattern knows."""
    return [
        sentence
        for words in strings(said)
        for sentence in re.split(r"(?<=[.?!])\s+", words)
        if NET.search(sentence) and not told(words) and not any(part in sentence for part in NOTHING_TOLD)
    ]


def not_made_safe(blocks: list[dict[str, Any]]) -> list[str]:
    """Acts that the blocks of a part tell, a played run's captions among them, and that have no line at its end."""
    lines = " ".join(item for block in blocks if block["kind"] == "safe" for item in block["items"])
    return [
        f"{name_of(*act)}: {words}"
        for block in blocks
        if block["kind"] not in ("safe", "lessons")
        for words in strings(block)
        for act in told(words)
        if safe_work.box(*act) not in lines
    ]


def parts_of(number: str) -> Iterator[LessonPart]:
    """Every part of a lesson as it opens."""
    page = lesson(number)
    for name in dir(type(page)):
        made = getattr(type(page), name)
        if name.startswith("_") or not callable(made) or made.__code__.co_argcount != 1:
            continue
        widget = made(page)
        for one in (widget, *getattr(widget, "children", ())):
            if isinstance(one, LessonPart):
                yield one


@pytest.mark.full
@pytest.mark.parametrize("number", LESSONS)
def test_parts_as_they_open(number: str) -> None:
    seen = 0
    for part in parts_of(number):
        seen += 1
        blocks = part.content["blocks"]
        assert handed_over(blocks) == [], part.name
        assert not_made_safe(blocks) == [], part.name
    assert seen >= 2


@pytest.mark.full
@pytest.mark.parametrize("number", TAUGHT)
def test_drills_cases_and_runs(number: str) -> None:
    plan: Plan = lesson(number).plan
    made: list[Any] = [plan.tracks(units) for units in UNITS]
    for units in UNITS:
        for template in (*plan.drills, *plan.check, *plan.predictions):
            made += [asdict(build(template, seed, units)) for seed in SEEDS]
        if plan.case is not None:
            stages = range(len(STAGES) - (plan.solo_call is not None))
            made += [asdict(case_for(plan.case, seed, stage, units)) for seed in SEEDS for stage in stages]
    assert sorted({sentence for one in made for sentence in handed_over(one)}) == []
    for tracks in made[: len(UNITS)]:  # the captions of a run that is played
        assert not_made_safe(with_safe_work([{"id": "run", "kind": "replay", "tracks": tracks}])) == []


@pytest.mark.full
@pytest.mark.parametrize("name", [*plan_names(), *rig_names()])
def test_sheets_of_paper(name: str) -> None:
    page = session_plan(name) if name in plan_names() else yard_card(name)
    body = re.sub(r"<style.*?</style>|<svg.*?</svg>", " ", page, flags=re.DOTALL)
    words = [
        html.unescape(re.sub(r"<[^>]+>", "", one)).strip()
        for one in re.split(r"</(?:p|li|td|th|h\d|div)>", body)
    ]
    assert handed_over(words) == []


@pytest.mark.full
@pytest.mark.parametrize("seed", CALLS)
def test_pages_and_debriefs_of_call_outs(seed: int) -> None:
    attempt = Attempt(random_scenario(seed), MemoryStore(), seed=seed)
    opening = build_page(attempt, "metric")
    play(attempt)
    if not attempt.yard.ended:
        attempt.act("give_up")
    debrief = debrief_and_keep(attempt)
    for words in (opening, build_page(attempt, "us"), debrief):
        assert handed_over(words) == []
    # The bare name of the act stands in `expert`; what the page says is `expert_line`.
    told_to_do = [step.get(key) for step in debrief["steps"] for key in ("expert_line", "better")]
    for words in strings([told_to_do, debrief.get("practise"), debrief.get("next")]):
        for act in told(words):
            assert safe_work.short(*act) in words, (words, act)
