"""The figures' desk in the browser: typed, told where wrong, taken back, saved, read back by the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from simulator.panels.lessons.registry import DESKS
from simulator.rig.own_rigs import own_rigs_folder
from simulator.rig.trainer import FILE_NAME, Overrides, read_overrides
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import part, set_theme

FIGURES = DESKS["figures"].notebook
SIZES = [(1366, 768), (1920, 1080)]
MOST_TABS = 200

ANEW = "Close the program (Ctrl-C in the window in which you started it) and start it again"


def file() -> Path:
    """The server's lessons write beside the folder of the own rigs, as this process reads."""
    return own_rigs_folder().parent / FILE_NAME


@pytest.fixture(autouse=True)
def gone():
    file().unlink(missing_ok=True)
    yield
    file().unlink(missing_ok=True)  # no other test plays under these figures


def field(page: Page, name: str) -> Locator:
    return page.locator(f'[id="desk-{name}"]')


def row(page: Page, name: str) -> Locator:
    return page.locator(f'[data-field="{name}"]')


def open_desk(lesson_page: OpenLesson, size: tuple[int, int] = SIZES[0]) -> Page:
    page = lesson_page(FIGURES, size=size, wait=False)
    wait_ready(page, timeout=240)
    return page


def test_a_mistake_is_told_at_its_field_and_taken_back(lesson_in_place: OpenLesson) -> None:
    page = open_desk(lesson_in_place)
    desk = part(page, "desk")
    expect(desk).to_contain_text("The figures that come with the lessons are in use.")
    field(page, "thresholds.pass_mark").fill("99")
    said = "Passing mark, of 100: this is out of range. Legal: 40 to 95."
    expect(row(page, "thresholds.pass_mark")).to_contain_text(said)
    expect(desk).to_contain_text("1 thing to put right")
    row(page, "thresholds.pass_mark").get_by_role("button", name="Take 95").click()
    expect(desk).to_contain_text("Passing mark, of 100: 95, not 70")
    page.get_by_role("button", name="Undo", exact=True).click()
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(field(page, "thresholds.pass_mark")).to_have_value("")
    expect(desk).to_contain_text("Nothing: all figures are as they come with the lessons.")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
    assert not file().exists()


def by_pointing(page: Page) -> None:
    field(page, "thresholds.pass_mark").fill("74")
    page.locator("summary", has_text="Minutes that a look takes").click()
    field(page, "minutes.belt").fill("7,5 min")
    page.locator("summary", has_text="air gets in").click()
    field(page, "weights.drain_open").fill("0")
    expect(row(page, "weights.drain_open")).to_contain_text("= 0 in 100 calls")
    page.get_by_role("button", name="Save", exact=True).click()


def tab_to(page: Page, to: Locator) -> None:
    for _ in range(MOST_TABS):
        if to.evaluate("node => node === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail("not reached by Tab")


def by_keys(page: Page) -> None:
    page.locator(".lesson-root h1").first.click()
    tab_to(page, field(page, "thresholds.pass_mark"))
    page.keyboard.type("74")
    tab_to(page, page.locator("summary", has_text="Minutes that a look takes"))
    page.keyboard.press("Enter")
    tab_to(page, field(page, "minutes.belt"))
    page.keyboard.type("7,5 min")
    tab_to(page, page.locator("summary", has_text="air gets in"))
    page.keyboard.press("Space")
    tab_to(page, field(page, "weights.drain_open"))
    page.keyboard.type("0")
    expect(row(page, "weights.drain_open")).to_contain_text("= 0 in 100 calls")
    page.locator(".lesson-root h1").first.click()
    tab_to(page, page.get_by_role("button", name="Save", exact=True))
    page.keyboard.press("Enter")


@pytest.mark.full
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("walk", [by_pointing, by_keys])
def test_figures_are_set_saved_and_read_back(
    lesson_page: OpenLesson, size: tuple[int, int], theme: str, walk
) -> None:
    page = open_desk(lesson_page, size)
    set_theme(page, theme)
    walk(page)
    desk = part(page, "desk")
    expect(desk).to_contain_text(ANEW)
    shoot(page, f"figures-{walk.__name__}-{size[0]}-{theme}")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
    want = Overrides(weights={"drain_open": 0.0}, minutes={"belt": 7.5}, thresholds={"pass_mark": 74.0})
    assert read_overrides(file()) == want
    again = open_desk(lesson_page, size)
    expect(field(again, "thresholds.pass_mark")).to_have_value("74")
    expect(again.locator("#desk-hand")).to_have_value(file().read_text("utf-8"))
    # a kernel is forked from the server's, which began before
    expect(part(again, "desk")).to_contain_text(ANEW)
