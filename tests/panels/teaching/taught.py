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
MIN_CHECK = 3  # questions of the check
MIN_SAID = 2  # entries of `ask` and of `wrong` in the plan for the one who teaches


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
    wrong = unwhole(made)
    assert not wrong, "\n" + "\n".join(f"drill {made.name!r}, case {made.case!r}: {each}" for each in wrong)


def unwhole(made: Drill) -> list[str]:
    """All that is wrong with a drill, each as a sentence."""
    out = []
    ids = [option.id for option in made.options]
    if not len(ids) == len(set(ids)) >= 3:
        out.append(f"its options are {', '.join(ids)}: at least 3, each once")
    if ids.count(made.right) != 1:
        out.append(f"the right option {made.right!r} is not one of {', '.join(ids)}")
    labels = [option.label for option in made.options]
    if len(set(labels)) < len(labels):
        out.append(f"two options read the same: {', '.join(labels)}")
    out += [
        f"the option {option.id!r} says not what is wrong with it: add `says` to it in words.yaml"
        for option in made.options
        if option.id != made.right and not option.says
    ]
    parts = [made.text, made.because, *made.hints, *labels, *(o.says for o in made.options)]
    said = " ".join(part for part in parts if part)
    if found := re.search(r"[{}]|\bnan\b|\binf\b|  ", said):
        out.append(
            f"{found.group()!r} stands in its words: a field is left open, or a figure or blank is wrong"
        )
    out += [f"it has no {key}" for key in ("because", "skill", "case") if not getattr(made, key)]
    return out


def some_of(seeds: range) -> range:
    """Every second seed in the fast tier, all in the full one."""
    return seeds[::2] if quick() else seeds


def assert_drill(template: Template, seeds: range) -> None:
    """Over many seeds: whole, fresh, the same again, and the right answer at every place about as often."""
    made = [build(template, seed, "metric") for seed in some_of(seeds)]
    for each in made:
        assert_whole(each)
        assert len(each.hints) == HINTS, (
            f"drill {each.name!r} has {told(len(each.hints), 'hint')}, not {HINTS}: mend `hints` in words.yaml"
        )
    assert_whole(build(template, seeds[0], "us"))
    cases, wanted = len({(each.case, each.text) for each in made}), min(4, len(made) // 3)
    assert cases >= wanted, f"drill {template.__name__!r} draws {told(cases, 'case')}, at least {wanted}"
    places = Counter(place_of(each) for each in made)
    assert len(places) >= 2, f"drill {template.__name__!r}: the right option has one place in all cases"


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


def lacking(plan: Plan, number: str) -> list[str]:
    """What a plan has too little or too much of, each as a sentence with the place to mend it."""
    folder = f"simulator/panels/lessons/{LESSONS[number].folder}" if number in LESSONS else "its folder"
    page, drills, words = f"{folder}/page.py", f"{folder}/drills.py", f"{folder}/words.yaml"
    out = []
    if not 1 <= len(plan.ideas) <= MAX_IDEAS:
        out.append(f"{told(len(plan.ideas), 'idea')}, 1 to {MAX_IDEAS}: mend `ideas` of the plan in {page}")
    if len(plan.drills) < MIN_DRILLS:
        out.append(
            f"{told(len(plan.drills), 'drill')}, at least {MIN_DRILLS}: add to DRILLS in {drills} "
            f"and to `drills` of the plan in {page}"
        )
    counted = Counter(template.__name__ for template in plan.drills)
    twice = [name for name, count in counted.items() if count > 1]
    out += [f"the drill {name!r} stands twice: take one out of DRILLS in {drills}" for name in twice]
    if not 15 <= plan.minutes <= 45:
        out.append(f"{plan.minutes} minutes, 15 to 45: mend `minutes` of the plan in {page}")
    if not plan.predictions:
        out.append(f"no prediction, at least 1: add to `predictions` of the plan in {page}")
    most = len(plan.drills) + 2
    if not MIN_CHECK <= len(plan.check) <= max(most, MIN_CHECK):
        out.append(
            f"{told(len(plan.check), 'question')} in its check, {MIN_CHECK} to two more than it has drills: "
            f"mend `check` of the plan in {page}"
        )
    said = catalogue("en").get(plan.area, {})
    if list(said.get("ideas", {})) != list(plan.ideas):
        out.append(
            f"`ideas` under `words` in {words} are not the plan's, in its order: {', '.join(plan.ideas)}"
        )
    names = dict.fromkeys(template.__name__ for template in (*plan.drills, *plan.check))
    group = said.get("drills", {})
    out += [
        f"the drill {name!r} says not what it is about: add `about` to it under `words`, `drills` in {words}"
        for name in names
        if not group.get(name, {}).get("about")
    ]
    every = dict.fromkeys([*names, *(each.__name__ for each in plan.predictions)])
    for name in every:
        options = {**group, **said.get("predictions", {})}.get(name, {}).get("options", {})
        mute = [option for option, value in options.items() if not (value or {}).get("says")]
        out += [
            f"the option {option!r} of {name!r} does not say what is wrong with it: add `says` to it in {words}"
            for option in mute
            if speaks(plan, name, option)
        ]
    teaching = catalogue("en").get("plans", {}).get("lessons", {}).get(number, {})
    for key, what in {"ask": "questions to ask", "wrong": "wrong ideas to meet"}.items():
        if len(teaching.get(key, ())) < MIN_SAID:
            out.append(
                f"{len(teaching.get(key, ()))} of `{key}` ({what}) in its plan for the one who teaches, at least "
                f"{MIN_SAID}: add to `plan`, `{key}` in {words}"
            )
    return [f"lesson {number}: {each}" for each in out]


def told(count: int, what: str) -> str:
    """So many of a thing, in words."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def speaks(plan: Plan, name: str, option: str) -> bool:
    """Whether an option is ever wrong in the drill of a name, so that it has to say why."""
    templates = (*plan.drills, *plan.check, *plan.predictions)
    template = next(each for each in templates if each.__name__ == name)
    for seed in range(6):
        try:
            made = build(template, seed, "metric")
        except Exception:  # noqa: BLE001 - another test tells it
            return True
        if option in [each.id for each in made.options] and option != made.right:
            return True
    return False


def assert_plan(plan: Plan) -> None:
    """Five ideas at most, eight drills at least, 15 to 45 minutes, and words for all of it."""
    number = plan.area.removeprefix("lesson_")
    all_told = lacking(plan, number)
    assert not all_told, "\n" + "\n".join(all_told)
    for units in UNITS:
        for template in plan.predictions:
            assert_whole(build(template, 0, units))
        for idea in plan.ideas:
            figure = plan.idea_figure(idea, units)
            assert figure["kind"] in ("chart", "picture", "dials"), (
                f"lesson {number}: beside the idea {idea!r} stands a {figure['kind']!r}: chart, picture or dials"
            )
        tracks = plan.tracks(units)
        ids, said = [track["id"] for track in tracks], list(entry(f"{plan.area}.tracks"))
        assert ids == said, (
            f"lesson {number}: its runs are {ids}, `tracks` under `words` says {said}: one each"
        )
        for track in tracks:
            assert len(track["says"]) >= 2, (
                f"lesson {number}: {len(track['says'])} remarks in the run {track['id']!r}, at least 2"
            )


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
