"""Lessons 06 to 08 and 11 and the field sheet in a real browser, from their first word to their marks."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import LESSONS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, at_rest, shoot, wait_ready
from tests.browser.test_lessons import SIZES, layout_faults, open_to_all, part, press
from tests.browser.test_lessons_a import take_lesson
from tests.browser.walking import to_the_page

FIELD = LESSONS["field"].notebook
NUMBERS = ["06", "07", "08", "11"]
READINGS = [("20", "17", "5.6"), ("45", "22", "5.6"), ("90", "22", "5.7")]
LONG = 120_000  # [ms] for work that simulates every suspect on a busy machine


def cell(page: Page, row: int, column: int):
    return page.locator(f'[id="field-rows:{row}:{column}"]')


def type_readings(page: Page) -> None:
    for row, figures in enumerate(READINGS):
        for column, figure in enumerate(figures):
            cell(page, row, column).fill(figure)
    page.get_by_label("Did it pump?").select_option("dry")
    page.get_by_label("How long did you let it run").fill("100")
    page.get_by_label("Feel the exhaust stream").select_option("strong_on")


@pytest.mark.full
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_field_sheet_from_readings_to_print(lesson_page: OpenLesson, size: tuple[int, int]) -> None:
    page = lesson_page(FIELD, size=size)
    shoot(page, f"field-new-{size[0]}")
    assert grave_findings(page) == []
    type_readings(page)
    cell(page, 1, 1).fill("140")
    press(page, "What does it point to?")
    expect(page.get_by_role("alert")).to_contain_text("more vacuum than the air outside can give")
    expect(cell(page, 1, 1)).to_have_attribute("aria-invalid", "true")
    cell(page, 1, 1).fill("22")
    if size == SIZES[0]:
        page.get_by_label("Lift: water up to the pump").fill("3.25")  # a lift that nothing is kept for
        press(page, "What does it point to?")
        expect(page.locator(".lesson-status").get_by_text("Working it out").first).to_be_visible()
        press(page, "Stop")
        expect(part(page, "sheet").get_by_text("Stopped. All you typed is kept.")).to_be_visible(timeout=LONG)
    press(page, "What does it point to?")
    expect(page.locator(".field-suspects li").first).to_be_visible(timeout=LONG)
    expect(part(page, "sheet").get_by_text("Stopped.")).to_have_count(0)
    expect(part(page, "result").get_by_text("What to do next")).to_be_visible()
    shoot(page, f"field-done-{size[0]}")
    open_to_all(page)
    assert layout_faults(page) == []
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open a page to print").click()
    paper = opened.value
    paper.wait_for_load_state()
    assert grave_findings(paper, "body") == []
    expect(paper.get_by_role("heading", name="What it points to")).to_be_visible()
    expect(paper.get_by_role("cell", name="22").first).to_be_visible()
    paper.close()
    page.get_by_label("Where, and which pump").fill("Teal Pond, the old one")
    page.wait_for_timeout(1500)  # what is typed is sent off after a pause
    page.reload()
    wait_ready(page)
    expect(page.get_by_label("Where, and which pump")).to_have_value("Teal Pond, the old one")
    expect(cell(page, 2, 1)).to_have_value("22")
    expect(page.locator(".field-suspects li").first).to_be_visible()
    expect(page.get_by_text("You changed the sheet after this")).to_be_visible()


@pytest.mark.full
def test_typing_keeps_the_focus_and_another_rig_its_card(lesson_page: OpenLesson) -> None:
    page = lesson_page(FIELD)
    box = cell(page, 0, 0)
    box.click()
    page.keyboard.type("4", delay=30)
    page.wait_for_timeout(1200)  # a draft goes off and comes back in between
    page.keyboard.type("5", delay=30)
    expect(box).to_have_value("45")
    expect(box).to_be_focused()
    page.get_by_label("Rig most like it").select_option("alder")
    expect(cell(page, 0, 0)).to_have_value("45")
    page.wait_for_timeout(1200)  # the card of that rig comes, and the page below it moves
    press(page, "One more line")
    expect(cell(page, 5, 0)).to_be_visible()
    page.get_by_text("Tests and parts opened, if any").click()
    page.get_by_label("Hold test: plate on, cock shut, engine off").select_option("holds")


@pytest.mark.full
@pytest.mark.parametrize("number", NUMBERS)
def test_from_the_first_word_to_the_marks(lesson_page: OpenLesson, number: str) -> None:
    page = lesson_page(LESSONS[number].notebook)
    shoot(page, f"lesson-{number}-new")
    assert grave_findings(page) == []
    take_lesson(page)
    shoot(page, f"lesson-{number}-done")
    open_to_all(page)
    assert layout_faults(page) == []
    page.set_viewport_size({"width": 820, "height": 1180})
    at_rest(page)
    assert layout_faults(page) == []


@pytest.mark.full
def test_the_assessment_from_name_to_sheet(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSONS["10"].notebook)
    page.get_by_label("Your name", exact=True).fill("Ash Reed")
    press(page, "Keep my name")
    press(page, "Begin the sitting")
    expect(page.locator("dialog.ex-window")).to_be_visible(timeout=LONG)
    shoot(page, "lesson-10-open")
    assert grave_findings(page) == []
    to_the_page(page)
    press(page, re.compile("^Put on gloves"))
    expect(page.locator(".ex-card-notes").get_by_text("boots and ear protection on.")).to_be_visible()
    page.reload()  # it goes on at the same second
    wait_ready(page)
    expect(page.locator(".ex-card-notes").get_by_text("boots and ear protection on.")).to_be_visible()
    for number in range(1, 6):
        expect(page.locator('[data-part="sitting"] li[data-state="now"]')).to_contain_text(f"Case {number}")
        press(page, "Hand over the job…")
        press(page, "Yes, hand it over")
        expect(page.locator(".ex-root")).to_have_count(0)
        if number < 5:
            press(page, "Next case")
            expect(page.locator("dialog.ex-window")).to_be_visible(timeout=LONG)
            to_the_page(page)
    press(page, "Mark my sitting")
    expect(part(page, "result").get_by_text(re.compile("^Not passed:"))).to_be_visible(timeout=2 * LONG)
    shoot(page, "lesson-10-done")
    open_to_all(page)
    assert layout_faults(page) == []
    link = page.get_by_role("link", name=re.compile("^Open the sheet to print"))
    link.hover()
    assert grave_findings(page) == []  # with the mouse on the link
    with page.context.expect_page() as opened:
        link.click()
    paper = opened.value
    paper.wait_for_load_state()
    assert grave_findings(paper, "body") == []
    expect(paper.get_by_text("Ash Reed").first).to_be_visible()
    expect(paper.get_by_text("Training aid only").first).to_be_visible()
