"""Lessons 02 to 05 in a real browser, from their first word to their marks."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lesson_base import FILES
from tests.browser.conftest import OpenLesson, shoot
from tests.browser.test_lessons import part

NUMBERS = ["02", "03", "04", "05"]


def walk_ideas(page: Page) -> None:
    ideas = part(page, "ideas")
    for _ in range(8):
        button = ideas.get_by_role("button", name="Next", exact=True)
        if button.get_attribute("aria-disabled") == "true":
            break
        button.click()
    expect(ideas.get_by_text("Now say what you expect")).to_be_visible()


def answer_all(page: Page, name: str, end: str, on: re.Pattern[str] = re.compile("^$")) -> None:
    """Answer whatever a part asks with its first option, and go on until the words of its end are there."""
    here = part(page, name)
    options, forward = here.locator(".lesson-option"), here.get_by_role("button", name=on)
    over = here.get_by_text(re.compile(end))
    for _ in range(60):
        expect(options.or_(forward).or_(over).first).to_be_visible()
        if over.count():
            return
        pressed = options.first if options.count() else forward.first
        block = pressed.locator("xpath=ancestor::section").get_attribute("data-block")
        state = "Boolean(document.querySelector('[data-block=\"{}\"] {}'))".format(
            block,
            ".lesson-option" if options.count() else "button",
        )
        pressed.click()
        page.wait_for_function(f"!({state})")
    raise AssertionError(f"{name} has no end")


def play_runs(page: Page) -> None:
    """Play each run to its end by moving its clock there."""
    run = part(page, "run")
    for _ in range(8):
        slide = run.locator('input[type="range"]')
        slide.focus()
        slide.press("End")
        expect(run.locator(".lesson-replay-clock")).not_to_have_text("0 s")
        following = run.get_by_role("button", name=re.compile("^Next: "))
        expect(following.or_(run.locator('[data-block="on"]')).first).to_be_visible()
        if not following.count():
            return
        following.click()


def plan_something(page: Page) -> None:
    """A longer hose in the planner: another time, and its range."""
    planner = part(page, "planner")
    time = planner.locator(".lesson-planner-time")
    before = time.inner_text()
    slide = planner.get_by_label(re.compile("^Length of the hose"))
    slide.focus()
    for _ in range(6):
        slide.press("ArrowRight")
    expect(time).not_to_have_text(before)
    expect(planner.get_by_text(re.compile("^Of rigs like this"))).to_be_visible()
    expect(planner.get_by_text("You know your way round")).to_be_visible()


GO_ON = re.compile("^(Go on|And so|The next case|Done with the cases|Next|See how it went)")


def take_lesson(page: Page) -> None:
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    play_runs(page)
    if part(page, "planner").count():
        plan_something(page)
    if part(page, "case").count():
        answer_all(page, "case", "^You have done all three", GO_ON)
    answer_all(page, "drills", "^You had", GO_ON)
    answer_all(page, "check", "^You had", GO_ON)
    expect(part(page, "aim").locator('li[data-state="now"]')).to_have_count(0)


@pytest.mark.parametrize("number", NUMBERS)
def test_from_the_first_word_to_the_marks(lesson_page: OpenLesson, number: str) -> None:
    page = lesson_page(FILES[number])
    take_lesson(page)
    shoot(page, f"lesson-{number}-done")
