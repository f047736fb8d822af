"""What every taught lesson must keep, as functions that ``test_taught_lessons.py`` calls with each lesson's plan."""

from __future__ import annotations

import re
from collections import Counter
from importlib import import_module
from typing import Any

from simulator.panels.lessons.registry import LESSONS
from simulator.panels.teaching.drill import HINTS, Drill, Template, build
from simulator.panels.teaching.fading import STAGES, case_for
from simulator.panels.teaching.plan import MAX_IDEAS, MIN_DRILLS, Plan
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.texts import catalogue, entry
from tests.conftest import quick
from tests.house.reading import grade, sentences_of

UNITS = ("metric", "us")


def taught_pages() -> dict[str, type[TaughtLesson]]:
    """The pages of all taught lessons of the registry, by number; one that cannot be loaded is told elsewhere."""
    out = {}
    for number, listed in LESSONS.items():
        try:
            page = getattr(import_module(listed.module), listed.page)
        except Exception:  # noqa: BLE001 - test_every_lesson.py tells it, and every other lesson is tried
            continue
        if isinstance(page, type) and issubclass(page, TaughtLesson):
            out[number] = page
    return out


def assert_whole(made: Drill) -> None:
    """Exactly one right option; every wrong one has a name and speaks; no field is left open."""
    ids = [option.id for option in made.options]
    assert len(ids) == len(set(ids)) >= 3, made.name
    assert ids.count(made.right) == 1, made.name
    labels = [option.label for option in made.options]
    assert len(set(labels)) == len(labels), (made.name, made.case, labels)
    assert all(option.says for option in made.options if option.id != made.right), (made.name, made.right)
    parts = [made.text, made.because, *made.hints, *labels, *(o.says for o in made.options)]
    said = " ".join(part for part in parts if part)
    assert not re.search(r"[{}]|\bnan\b|\binf\b|  ", said), (made.name, said)
    assert made.because, made.name
    assert made.skill, made.name
    assert made.case, made.name


def some_of(seeds: range) -> range:
    """Every second seed in the fast tier, all in the full one."""
    return seeds[::2] if quick() else seeds


def assert_drill(template: Template, seeds: range) -> None:
    """Over many seeds: whole, fresh, the same again, and the right answer at every place about as often."""
    made = [build(template, seed, "metric") for seed in some_of(seeds)]
    for each in made:
        assert_whole(each)
        assert len(each.hints) == HINTS, each.name
    assert_whole(build(template, seeds[0], "us"))
    assert len({(each.case, each.text) for each in made}) >= min(4, len(made) // 3), template.__name__
    places = Counter(place_of(each) for each in made)
    assert len(places) >= 2, (template.__name__, places)


def place_of(made: Drill) -> int:
    """The place of the right option, from 0."""
    return [option.id for option in made.options].index(made.right)


def assert_spread(plan: Plan, seeds: range) -> None:
    """Over all drills the right answer is first, and last, about as often as chance has it."""
    made = [build(template, seed, "metric") for template in plan.drills for seed in some_of(seeds)]
    expected = sum(1.0 / len(each.options) for each in made)
    spread = sum((1.0 - 1.0 / len(each.options)) / len(each.options) for each in made) ** 0.5
    for place in (lambda each: place_of(each) == 0, lambda each: place_of(each) == len(each.options) - 1):
        count = sum(1 for each in made if place(each))
        assert abs(count - expected) <= 3.5 * spread, (plan.area, count, expected)


def assert_plan(plan: Plan) -> None:
    """Five ideas at most, eight drills at least, 15 to 45 minutes, and words for all of it."""
    assert 1 <= len(plan.ideas) <= MAX_IDEAS
    assert list(entry(f"{plan.area}.ideas")) == list(plan.ideas)
    assert len(plan.drills) >= MIN_DRILLS
    assert len({template.__name__ for template in plan.drills}) == len(plan.drills)
    assert 15 <= plan.minutes <= 45
    assert plan.predictions
    assert 3 <= len(plan.check) <= len(plan.drills) + 2
    for template in (*plan.drills, *plan.check):
        words = entry(f"{plan.area}.drills.{template.__name__}")
        assert words["about"]
    for units in UNITS:
        for template in plan.predictions:
            assert_whole(build(template, 0, units))
        for idea in plan.ideas:
            figure = plan.idea_figure(idea, units)
            assert figure["kind"] in ("chart", "picture", "dials")
        tracks = plan.tracks(units)
        assert [track["id"] for track in tracks] == list(entry(f"{plan.area}.tracks"))
        assert all(len(track["says"]) >= 2 for track in tracks)


def assert_case(plan: Plan, seeds: range) -> None:
    """The case that fades: whole at every stage, other cases from stage to stage."""
    assert plan.case is not None
    stages = len(STAGES) - (plan.solo_call is not None)
    for seed in seeds:
        cases = [case_for(plan.case, seed, stage, "metric") for stage in range(stages)]
        for case in cases:
            assert len(case.steps) >= 3
            for step in case.steps:
                assert_whole(step)
                assert len(step.hints) == HINTS
    made = {case_for(plan.case, seed, stage, "metric").case for seed in seeds for stage in range(stages)}
    assert len(made) >= len(seeds)


def assert_words(area: str) -> None:
    """Reading grade 7 or easier, and no long sentence that is hard by itself."""
    node: Any = catalogue("en")[area]
    assert grade(sentences_of(node)) <= 7.0
    long = [text for text in sentences_of(node) if len(text.split()) >= 18]
    hard = {text: round(grade([text]), 1) for text in long if grade([text]) > 9.0}
    assert hard == {}
    for text in sentences_of(node):
        assert text.count("**") % 2 == 0, text


def do_call(page: Any, click: Any) -> None:
    """Take the call that is done alone and hand it over at once."""
    click(page, "take")
    panel = page.fading.solo_call.panel
    panel._receive(panel, {"kind": "act", "id": "hand over", "action": "give_up", "args": {}}, [])
    click(page, "continue", key="case:2:end")
