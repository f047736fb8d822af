"""The call sheet in the browser: six calls put in order, handed out, first on the learner's page, opened again."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import DESKS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import part, set_theme
from tests.browser.workbench import HOME

SHEET = DESKS["sheet"].notebook
SIZES = [(1366, 768), (1920, 1080)]
SIX = 6


def open_desk(lesson_page: OpenLesson, size: tuple[int, int] = SIZES[0]) -> Page:
    page = lesson_page(SHEET, size=size, wait=False)
    wait_ready(page, timeout=240)
    return page


def put_together(page: Page) -> list[str]:
    """Six calls of the second level, in an order of the trainer's own; their titles."""
    page.get_by_label("Your name, as learners read it").fill("R. Ferrow")
    page.get_by_role("button", name="Keep my name").click()
    expect(page.get_by_role("button", name="Keep my name")).to_have_count(0)
    page.get_by_role("group", name="Level").get_by_role("button", name="2", exact=True).click()
    rows = page.locator('[data-block="list"] tbody tr')
    for n in range(SIX):
        page.locator('[data-block="book"] tbody tr').nth(n).get_by_role("button", name="Add").click()
        expect(rows).to_have_count(n + 1)
    page.get_by_role("button", name="Move call 6 up").click()
    page.get_by_label("Title of the sheet").fill("Monday morning")
    page.get_by_role("button", name="Set the title").click()
    page.get_by_role("group", name="Hints").get_by_role("button", name="none").click()
    expect(page.get_by_role("group", name="Hints").get_by_role("button", name="none")).to_have_attribute(
        "aria-pressed", "true"
    )
    return [text.split(". ", 1)[1] for text in rows.locator("th").all_inner_texts()]


def first_on_the_start_page(learner: Page, titles: list[str]) -> None:
    given = learner.locator('[data-kind="rows"]').first
    expect(given).to_contain_text("Your calls for today: Monday morning")
    assert [text.split(". ", 1)[1] for text in given.locator("tbody th").all_inner_texts()] == titles
    above = given.bounding_box()
    assert above is not None
    assert above["y"] < learner.locator('[data-block="lessons"]').bounding_box()["y"]  # type: ignore[index]


def test_made_handed_out_and_first_on_the_start_page(lesson_in_place: OpenLesson, server: Server) -> None:
    """One page after another in one window: the desk, the learner's start page and call, the desk again."""
    page = open_desk(lesson_in_place)
    titles = put_together(page)
    page.get_by_role("button", name="Hand out").click()
    expect(page.locator('[data-block="given"]')).to_contain_text("Monday morning")
    expect(page.locator('[data-block="given"]')).to_contain_text("shut")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
    lesson_in_place(HOME)
    first_on_the_start_page(page, titles)
    way = page.get_by_role("link", name="Go to your calls").get_attribute("href")
    assert way is not None
    lesson_in_place(Path(urlsplit(way).path).name)
    expect(page.get_by_role("dialog")).to_contain_text("Call sheet: Monday morning (0 of 6 done)")


@pytest.mark.full
def test_made_handed_out_first_on_the_start_page_and_opened(lesson_page: OpenLesson, server: Server) -> None:
    page = open_desk(lesson_page)
    titles = put_together(page)
    assert len(titles) == len(set(titles)) == SIX
    shoot(page, "sheet-made")
    page.get_by_role("button", name="Save as a file").click()
    expect(part(page, "out")).to_contain_text("monday_morning")
    page.get_by_role("button", name="Hand out").click()
    expect(page.locator('[data-block="given"]')).to_contain_text("Monday morning")
    expect(page.locator('[data-block="given"]')).to_contain_text("shut")
    with page.expect_popup() as opened:
        page.get_by_role("link", name="Print the answers for yourself").click()
    expect(opened.value.locator("tr")).to_have_count(SIX + 1)
    opened.value.close()
    shoot(page, "sheet-out")
    assert grave_findings(page) == []
    assert find_faults(page) == {}

    learner = lesson_page(HOME)
    first_on_the_start_page(learner, titles)
    shoot(learner, "sheet-at-home")
    learner.get_by_role("link", name="Go to your calls").click()
    wait_ready(learner, timeout=240)
    expect(learner.get_by_role("dialog")).to_contain_text("Call sheet: Monday morning (0 of 6 done)")
    shoot(learner, "sheet-first-call")

    page.get_by_role("button", name="Open the envelopes of Monday morning").click()
    expect(page.locator('[data-block="given"]')).to_contain_text("open")
    page.get_by_role("button", name="Take back Monday morning").click()
    expect(page.locator('[data-block="given"] tbody')).to_have_count(0)


@pytest.mark.full
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_by_keys_in_both_themes(lesson_page: OpenLesson, size: tuple[int, int], theme: str) -> None:
    page = open_desk(lesson_page, size)
    set_theme(page, theme)
    add = page.locator('[data-block="book"] tbody tr').first.get_by_role("button", name="Add")
    add.focus()
    page.keyboard.press("Enter")
    expect(page.locator('[data-block="list"] tbody tr')).to_have_count(1)
    off = page.get_by_role("button", name="Take call 1 off the sheet")
    for _ in range(90):
        if off.evaluate("(node) => node === document.activeElement"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Space")
    expect(page.locator('[data-block="list"] tbody')).to_have_count(0)
    shoot(page, f"sheet-{theme}-{size[0]}")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
