"""The board and the page for after class in the browser: a class that has worked, on the records of this machine."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from simulator.attempt import Attempt
from simulator.panels.lessons.registry import DESKS
from simulator.records import Store
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import part, set_theme
from tests.browser.workbench import HOME
from tests.classroom.taught import ADA, BO, CY, book_call, watch, worked

BOARD, AFTER = DESKS["board"].notebook, DESKS["after"].notebook
SIZES = [(1366, 768), (1920, 1080)]


def taught(server: Server) -> dict[str, str]:
    """The records of the server's machine: three people, six plays, one of them open; begun just now."""
    with Store.open(server.data / "records.sqlite3") as store:
        return worked(store)


def open_desk(opener: OpenLesson, desk: str, size: tuple[int, int] = SIZES[0]) -> Page:
    page = opener(desk, size=size, wait=False)
    wait_ready(page, timeout=240)
    return page


def sound(page: Page) -> None:
    assert grave_findings(page) == []
    assert find_faults(page) == {}


def test_the_board_follows_by_itself(lesson_in_place: OpenLesson, server: Server) -> None:
    lesson_in_place(HOME)  # what was there before is gone once a page is opened
    ids = taught(server)
    page = open_desk(lesson_in_place, BOARD)
    rows = page.locator('[data-block="people"] tbody tr')
    expect(rows).to_have_count(3)
    drain = book_call("drain_open")
    expect(rows.nth(2)).to_contain_text(text("class_board.call", title=drain.title))
    expect(rows.nth(2)).to_contain_text("runs, 30 s")
    page.get_by_role("button", name=f"Look at the work of {CY}").click()
    notes = page.locator('[data-block="notes"] tbody tr')
    expect(notes.first).to_be_visible()
    expect(page.locator('[data-block="dials"]')).to_be_visible()
    before = notes.count()
    sound(page)
    with page.expect_popup() as opened:
        page.get_by_role("button", name=text("class_board.wall.open")).click()
    wall = opened.value
    expect(wall.locator(".wall-clock")).to_contain_text("30 s")
    expect(wall.locator("body")).not_to_contain_text(CY)
    expect(wall.get_by_role("button", name=text("bench.wall.hold"), exact=True)).to_have_count(0)
    shoot(wall, "board-wall")
    shoot(page, "board-one")
    with Store.open(server.data / "records.sqlite3") as store:
        attempt = Attempt.resume(store, ids["cy now"])
        watch(attempt, 45)
        attempt.act("stop_engine")
        attempt.act("check", {"check": "belt"})
    expect(rows.nth(2)).to_contain_text("stopped")  # nobody pressed anything
    expect(rows.nth(2)).to_contain_text("serious breach of safety")
    expect(notes).not_to_have_count(before)
    expect(wall.locator(".wall-clock")).to_contain_text("40 s")  # it follows: looked at in tens
    wall.close()
    page.set_viewport_size({"width": 390, "height": 844})  # each row a block as tall as what is in it
    tall = "rows => rows.map(row => row.scrollHeight <= row.clientHeight && row.clientHeight >= 44)"
    assert all(rows.evaluate_all(tall))
    assert page.locator("[data-block=people] .lesson-scroll").evaluate(
        "box => box.scrollWidth <= box.clientWidth"
    )
    page.get_by_role("button", name="who stands still, or was unsafe").click()
    expect(rows).to_have_count(1)


def test_after_class_by_pointing(lesson_in_place: OpenLesson, server: Server, tmp_path: Path) -> None:
    lesson_in_place(HOME)
    taught(server)
    page = open_desk(lesson_in_place, AFTER)
    mine = page.get_by_label("Your name, as it stands under remarks and sign-offs")
    expect(mine.or_(page.locator('[data-block="again"]')).first).to_be_visible()
    if mine.count():  # who has a key of this name already, from handing out a sheet, is not asked
        mine.fill("R. Ferrow")
        page.get_by_role("button", name="Keep my name").click()
    expect(page.get_by_role("button", name="Keep my name")).to_have_count(0)
    page.get_by_label("Person", exact=True).select_option(BO)
    plays = page.locator('[data-block="plays"] tbody tr')
    expect(plays).to_have_count(2)
    drain = book_call("drain_open")
    page.get_by_role("button", name=f"Open {drain.title} of {BO}").click()
    expect(page.locator('[data-block="play_marks"]')).to_contain_text("41")
    expect(
        page.locator('[data-block="play_curve"] canvas, [data-block="play_curve"] svg').first
    ).to_be_visible()
    page.get_by_label("Your remark").fill("Look at the drain first.")
    page.get_by_label("Your marks").fill("55")
    page.get_by_role("button", name="Keep remark").click()
    expect(page.locator('[data-block="play_said"]')).to_contain_text("55 of 100: Look at the drain first.")
    expect(page.locator(".lesson-status + .lesson-block-safe")).not_to_have_count(0)  # the answer comes first
    expect(page.get_by_label("Your remark")).to_have_value("")
    expect(plays.filter(has_text=drain.title)).to_contain_text("55")
    sound(page)
    shoot(page, "after-one")
    page.get_by_label("Person", exact=True).select_option("")
    page.get_by_role("button", name=f"Sign {ADA} off").first.click()
    expect(page.locator('[data-block="sign_offs"]')).to_contain_text("R. Ferrow")
    with page.expect_popup() as printed:
        page.get_by_role("link", name="Print the sign-off table").click()
    expect(printed.value.locator("table")).to_contain_text("R. Ferrow")
    printed.value.close()
    page.get_by_role("button", name="Make the files").click()
    with page.expect_download() as kept:
        page.get_by_role("link", name="Calls as a table (CSV)").click()
    table = Path(kept.value.path()).read_text(encoding="utf-8")
    assert kept.value.suggested_filename.startswith("calls-")
    assert "yard_min" in table.splitlines()[0]
    assert "Look at the drain first." in table
    with page.expect_download() as kept:
        page.get_by_role("link", name=text("after_class.out.statements")).click()
    assert len(json.loads(Path(kept.value.path()).read_text(encoding="utf-8"))) > 10
    with page.expect_popup() as printed:
        page.get_by_role("link", name="Print the class report").click()
    expect(printed.value.locator("body")).to_contain_text("Look at the drain first.")
    printed.value.close()
    page.get_by_role("button", name="Back up the class").click()
    expect(part(page, "keep")).to_contain_text("The copy lies in")
    assert list((server.data / "backups").glob("*.sqlite3"))
    page.get_by_label("Type the whole name").fill(BO)
    remove = page.get_by_role("button", name="Remove this person…")
    remove.click()
    expect(part(page, "keep")).to_contain_text(f"Press once more to remove {BO}")
    remove.click()
    expect(part(page, "keep")).to_contain_text("One person is removed")
    expect(page.locator('[data-block="by_person"]')).not_to_contain_text(BO)
    with Store.open(server.data / "records.sqlite3") as store:
        assert {row.learner for row in store.list_attempts()} == {ADA, CY, f"on  {ADA}"}


@pytest.mark.full
@pytest.mark.parametrize("desk", [BOARD, AFTER])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("theme", ["light", "dark"])  # the server keeps the theme: the dark one comes last
def test_in_both_themes_and_sizes(
    lesson_page: OpenLesson, server: Server, size: tuple[int, int], theme: str, desk: str
) -> None:
    taught(server)
    page = open_desk(lesson_page, desk, size)
    set_theme(page, theme)
    if desk == BOARD:
        page.get_by_role("button", name=f"Look at the work of {CY}").press("Enter")
        expect(page.locator('[data-block="notes"] tbody tr').first).to_be_visible()
    else:
        page.get_by_role("button", name=f"Open {book_call('drain_open').title} of {BO}").press("Enter")
        expect(page.locator('[data-block="play_marks"]')).to_contain_text("41")
    page.locator(
        "[data-block$=curve]"
    ).first.scroll_into_view_if_needed()  # it is drawn as it comes into sight
    expect(page.locator("[data-block$=curve] svg.main-svg").first).to_be_visible()
    shoot(page, f"{desk.removesuffix('.ipynb')}-{theme}-{size[0]}")
    sound(page)
