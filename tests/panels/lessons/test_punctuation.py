"""No sentence of a lesson ends twice, wherever the learner stands in it."""

from __future__ import annotations

import re
from typing import Any

import pytest

from simulator.panels.lessons.registry import lesson
from simulator.panels.teaching.course import Course
from simulator.texts import catalogue, language, text, tidy
from tests.house.reading import sentences_of

TWICE = re.compile(r"(?<!\.)[.?!…,;:][.,;:](?![.\w])|[?!]\?|,\s*,|\s[.,;?!](\s|$)")
ALL = ("00", "01", "02", "03", "04", "05", "06", "07", "08", "09", "10", "11", "field")
TAUGHT = ("02", "03", "04", "05", "06", "07", "08", "11")


def assert_ends_once(node: Any) -> None:
    found = [each for each in sentences_of(node) if TWICE.search(each.replace("**", ""))]
    assert found == []


def test_the_catalogue_itself() -> None:
    assert_ends_once(catalogue(language()))


@pytest.mark.parametrize("number", ALL)
def test_a_lesson_that_is_opened(number: str) -> None:
    page = lesson(number)
    for name in ("aim", "welcome", "what_next"):
        if hasattr(page, name):
            assert_ends_once(getattr(page, name)().content["blocks"])


@pytest.mark.parametrize("number", TAUGHT)
def test_what_next_wherever_the_learner_stands(number: str, monkeypatch: pytest.MonkeyPatch) -> None:
    page = lesson(number)
    steps = page.course.steps()
    for done in range(len(steps) + 1):
        monkeypatch.setattr(Course, "has", lambda self, step, n=done: step in steps[:n])
        assert_ends_once(page._what_next())
        assert_ends_once(page._aim())
        for step in steps:
            assert_ends_once(page.phrases.wait_block(step))
    labels = [page.phrases.said(f"steps.{step}") for step in steps]
    assert_ends_once([text("teaching.run_done", what=label) for label in labels])


def test_tidy_leaves_what_is_meant() -> None:
    for good in ("Wait ...", "0.5 bar.", "Saving …", "What?", "e.g. this", "No! No!"):
        assert tidy(good) == good
    assert tidy("Do you have it?.") == "Do you have it?"
    assert tidy("It is so..") == "It is so."
