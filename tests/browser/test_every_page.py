"""Every lesson opened as a learner meets it, and one click that goes to its kernel and back."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import LESSONS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson
from tests.browser.test_lessons import SIZES, contrast_faults, guess_all, layout_faults, part, press
from tests.browser.test_lessons_b import cell, type_readings

#: Pages that are walked from end to end in the fast tier, by tests of their own.
WALKED = ("00", "09")
#: Lessons made of the same parts as 02 and 07: here in the full tier; their notebooks run in the fast one all the same.
LIKE_THOSE = ("03", "05", "06", "08", "11")
PAGES = [
    pytest.param(number, marks=[pytest.mark.full] if number in LIKE_THOSE else [])
    for number in LESSONS
    if number not in WALKED
]


def one_click(page: Page, number: str) -> None:
    """Something that the kernel answers."""
    if number == "10":
        page.get_by_label("Your name", exact=True).fill("Ash Reed")
        press(page, "Keep my name")
        expect(page.get_by_role("button", name="Begin the sitting")).to_be_visible()
    elif number == "01":
        guess_all(page)
        expect(page.get_by_role("button", name="Start", exact=False).first).to_be_enabled()
    elif number == "field":
        type_readings(page)
        cell(page, 1, 1).fill("140")
        press(page, "What does it point to?")
        expect(page.get_by_role("alert")).to_contain_text("more vacuum than the air outside can give")
    else:
        ideas = part(page, "ideas")
        forward = ideas.get_by_role("button", name="Next", exact=True)
        for _ in range(8):
            if forward.get_attribute("aria-disabled") == "true":
                break
            forward.click()
        expect(ideas.get_by_text("Now say what you expect")).to_be_visible()
        expect(part(page, "aim").locator('li[data-state="now"]')).to_have_count(1)
        part(page, "predict").locator(".lesson-option").first.click()
        expect(part(page, "predict").get_by_text("Guess 2 of 3")).to_be_visible()


@pytest.mark.parametrize("number", PAGES)
def test_a_page_opens_answers_and_is_open_to_all(lesson_in_place: OpenLesson, number: str) -> None:
    page = lesson_in_place(LESSONS[number].notebook, size=SIZES[list(LESSONS).index(number) % 2])
    assert grave_findings(page) == []
    assert contrast_faults(page) == []
    one_click(page, number)
    assert layout_faults(page) == []
