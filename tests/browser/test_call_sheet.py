"""The call sheet in the browser: six calls put in order, handed out, first on the learner's page, opened again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Locator, Page, expect

from simulator.classroom.handing_out import FILE_NAME
from simulator.panels.lessons.registry import DESKS
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, at_rest, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import part, set_theme
from tests.browser.workbench import HOME

SHEET = DESKS["sheet"].notebook
SIZES = [(1366, 768), (1920, 1080)]
SIX = 6
MOST_TABS = 120


@pytest.fixture(autouse=True)
def nothing_is_out(server: Server) -> Iterator[None]:
    """No other test plays a sheet's calls."""
    yield
    (server.data / FILE_NAME).unlink(missing_ok=True)


#: The title in a row, without its handle and what is wrong under it.
TITLE = "th > span:not([aria-hidden], .lesson-row-under)"


def open_desk(lesson_page: OpenLesson, size: tuple[int, int] = SIZES[0]) -> Page:
    page = lesson_page(SHEET, size=size, wait=False)
    wait_ready(page, timeout=240)
    return page


def put_together(page: Page) -> list[str]:
    """Six calls of the second level, in an order of the trainer's own; their titles."""
    if page.get_by_label("Your name, as learners read it").count():  # the first time: there is no key yet
        page.get_by_label("Your name, as learners read it").fill("R. Ferrow")
        page.get_by_role("button", name="Keep my name").click()
    expect(page.locator('[data-block="your_key"]')).to_contain_text("Your key:")
    page.locator('[data-filter="level"]').select_option("2")
    expect(page.locator('[data-block="book"]')).to_contain_text("Calls that fit: 15")
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
    return [said.split(". ", 1)[1] for said in rows.locator(TITLE).all_inner_texts()]


def first_on_the_start_page(learner: Page, titles: list[str]) -> None:
    given = learner.locator('[data-kind="rows"]').first
    expect(given).to_contain_text("Your calls for today: Monday morning")
    assert [said.split(". ", 1)[1] for said in given.locator("tbody th").all_inner_texts()] == titles
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


def hand_over(page: Page) -> None:
    """Give the call on the page up, before anything was done."""
    dialog = page.get_by_role("dialog")
    tab = dialog.locator('[data-tab="call"]:is(button)')
    expect(dialog.get_by_role("button", name=text("panel.bar.start")).first).to_be_visible()
    if tab.is_visible():  # else what it holds is in sight anyway
        tab.click()
    dialog.get_by_role("button", name=text("panel.finish.give_up")).click()
    dialog.get_by_role("button", name=text("panel.finish.give_up_yes")).first.click()
    expect(dialog).to_contain_text(text("panel.debrief.envelope"))


@pytest.mark.full
def test_after_lunch_the_sheet_is_there_and_its_marks_lead_to_how_it_went(
    lesson_page: OpenLesson, server: Server
) -> None:
    page = open_desk(lesson_page)
    titles = put_together(page)
    page.get_by_role("button", name="Hand out").click()
    expect(part(page, "sheet")).to_contain_text("Kept as monday_morning")
    learner = lesson_page(HOME)
    wait_ready(learner, timeout=240)
    learner.get_by_role("link", name="Go to your calls").click()
    wait_ready(learner, timeout=240)
    hand_over(learner)
    learner.close()

    again = open_desk(lesson_page)
    given = again.locator('[data-block="given"]')
    with again.expect_popup() as printed:
        given.get_by_role("link", name="Print the answers of Monday morning").click()
    expect(printed.value.locator("tr")).to_have_count(SIX + 1)
    printed.value.close()
    given.get_by_role("button", name="Open Monday morning", exact=True).click()
    expect(again.locator('[data-block="list"] tbody tr')).to_have_count(SIX)
    given.get_by_role("button", name="Open the envelopes of Monday morning").click()
    expect(given).to_contain_text("open")
    shoot(again, "sheet-after-lunch")
    assert grave_findings(again) == []
    assert find_faults(again) == {}

    learner = lesson_page(HOME)
    wait_ready(learner, timeout=240)
    row = learner.locator('[data-kind="rows"]').first.locator("tbody tr").first
    expect(row).to_contain_text(re.compile(r"done: \d+ of 100"), timeout=120_000)
    shoot(learner, "sheet-marks-at-home")
    row.get_by_role("link", name="Read how call 1 went").click()
    wait_ready(learner, timeout=240)
    read = learner.get_by_role("region", name=text("panel.debrief.title"))
    expect(read).to_be_in_viewport(timeout=120_000)
    expect(learner.locator(".ex-root")).to_contain_text(titles[0].partition(",")[0])
    shoot(learner, "sheet-read-from-home")


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


def tab_to(page: Page, to: Locator) -> None:
    for _ in range(MOST_TABS):
        if to.evaluate("(node) => node === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail("not reached by Tab")


def listed(page: Page) -> list[str]:
    return [
        each.split(". ", 1)[1]
        for each in page.locator(f'[data-block="list"] tbody {TITLE}').all_inner_texts()
    ]


def drag(page: Page, number: int, to: int) -> None:
    """Take a call by its handle and let go of it above another."""
    rows = page.locator('[data-block="list"] tbody tr')
    rows.nth(number).scroll_into_view_if_needed()
    at_rest(page)
    handle, place = rows.nth(number).locator(".lesson-row-handle").bounding_box(), rows.nth(to).bounding_box()
    assert handle is not None
    assert place is not None
    page.mouse.move(handle["x"] + 6, handle["y"] + handle["height"] / 2)
    page.mouse.down()
    page.mouse.move(handle["x"] + 6, place["y"] + place["height"] / 4, steps=6)
    expect(rows.nth(to)).to_have_class(re.compile("lesson-row-before"))
    page.mouse.up()


@pytest.mark.full
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_chosen_put_in_order_by_keys_and_by_dragging_and_taken_back(
    lesson_page: OpenLesson, size: tuple[int, int], theme: str
) -> None:
    page = open_desk(lesson_page, size)
    set_theme(page, theme)
    page.locator(".lesson-root h1").first.click()
    tab_to(page, page.locator('[data-filter="season"]'))
    page.keyboard.type("frost")
    expect(page.locator('[data-block="book"]')).to_contain_text("Calls that fit: 9")
    for n in range(4):
        tab_to(page, page.locator('[data-block="book"] tbody tr').nth(n).get_by_role("button", name="Add"))
        page.keyboard.press("Enter")
        expect(page.locator('[data-block="list"] tbody tr')).to_have_count(n + 1)
    first = listed(page)
    # by keys: the focus goes along with the call
    tab_to(page, page.get_by_role("button", name="Move call 4 up"))
    page.keyboard.press("Enter")
    expect(page.locator('[data-block="list"] tbody th').nth(2)).to_contain_text(first[3])
    expect(page.get_by_role("button", name="Move call 3 up")).to_be_focused()
    page.keyboard.press("Space")
    expect(page.locator('[data-block="list"] tbody th').nth(1)).to_contain_text(first[3])
    drag(page, 1, 0)
    expect(page.locator('[data-block="list"] tbody th').nth(0)).to_contain_text(first[3])
    assert listed(page) == [first[3], *first[:3]]
    page.get_by_role("group", name="Calls").get_by_role("button", name="each learner their own").click()
    expect(part(page, "sheet")).to_contain_text("Who copies from the next seat copies another call.")
    page.locator('[data-block="list"]').scroll_into_view_if_needed()
    shoot(page, f"sheet-{theme}-{size[0]}")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
    for _ in range(4):
        undo = page.get_by_role("button", name="Undo", exact=True)
        expect(undo).not_to_have_class(re.compile("lesson-pending"))
        undo.click()
    expect(page.locator('[data-block="list"] tbody th').nth(3)).to_contain_text(first[3])
    assert listed(page) == first
    page.get_by_role("button", name="Redo", exact=True).click()
    expect(page.locator('[data-block="list"] tbody th').nth(2)).to_contain_text(first[3])
    tab_to(page, page.get_by_role("button", name="Take call 1 off the sheet"))
    page.keyboard.press("Space")
    expect(page.locator('[data-block="list"] tbody tr')).to_have_count(3)


@pytest.mark.full
def test_a_sheet_is_loaded_by_hand_and_an_altered_one_refused(
    lesson_page: OpenLesson, server: Server, tmp_path: Path
) -> None:
    page = open_desk(lesson_page)
    put_together(page)
    page.get_by_role("button", name="Save as a file").click()
    expect(part(page, "out")).to_contain_text("monday_morning")
    file = server.lessons / "call_sheets" / "monday_morning.sheet.json"
    altered = tmp_path / "altered.sheet.json"
    altered.write_text(file.read_text("utf-8").replace("Monday", "Sunday"), encoding="utf-8")
    learner = lesson_page(HOME)
    wait_ready(learner, timeout=240)
    carry = part(learner, "carry")
    carry.locator('[data-block="by_hand"] input').set_input_files(altered)
    expect(carry).to_contain_text("Nothing was loaded. The signature does not fit.")
    carry.locator('[data-block="by_hand"]').scroll_into_view_if_needed()
    shoot(learner, "sheet-altered")
    carry.locator('[data-block="by_hand"] input').set_input_files(file)
    expect(carry).not_to_contain_text("Nothing was loaded")
    expect(learner.locator('[data-kind="rows"]').first).to_contain_text(
        "Your calls for today: Monday morning"
    )
    assert grave_findings(learner) == []
    assert find_faults(learner) == {}
