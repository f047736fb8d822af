"""Work saved in a file, and loaded where nothing of it is, by real clicks."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenLesson, Server, shoot, wait_ready
from tests.browser.layout import find_faults

HOME = "00_start_here.ipynb"


def part(page: Page, name: str):
    return page.locator(f'[data-part="{name}"]')


def loader(page: Page):
    """Of work files; call sheets have one of their own beside it."""
    return part(page, "carry").get_by_role("button", name="Load a work file")


def pick(page: Page, file: Path) -> None:
    with page.expect_file_chooser() as chooser:
        loader(page).click()
    chooser.value.set_files(file)


@pytest.mark.full
def test_work_goes_from_one_session_to_the_next(
    lesson_page: OpenLesson, server: Server, tmp_path: Path
) -> None:
    page = lesson_page(HOME, wait=False)
    wait_ready(page, timeout=240)
    page.get_by_label("Your name", exact=True).fill("Ash Reed")
    page.get_by_role("button", name="Keep my name").click()
    page.get_by_role("button", name="I have read this").click()
    expect(part(page, "safety")).to_contain_text("You have read the cautions")
    carry = part(page, "carry")
    carry.scroll_into_view_if_needed()
    shoot(page, "carry-unsaved")
    with page.expect_download() as coming:
        carry.get_by_role("button", name="Save my work in a file").click()
    file = tmp_path / coming.value.suggested_filename
    coming.value.save_as(file)
    assert file.name.startswith("my-work-ash-reed-")
    assert file.suffix == ".json"
    assert '"Ash Reed"' in file.read_text(encoding="utf-8")
    expect(carry).to_contain_text("Your work is in a file now")
    expect(carry).to_contain_text("All your work up to now is in a file")
    page.close()
    server.end_sessions()

    page = lesson_page(HOME, wait=False)
    wait_ready(page, timeout=240)
    expect(part(page, "welcome")).not_to_contain_text("Ash Reed")
    broken = tmp_path / "broken.json"
    broken.write_text(file.read_text(encoding="utf-8")[:-30], encoding="utf-8")
    pick(page, broken)
    expect(part(page, "carry")).to_contain_text("damaged")
    for said in ("Your work is here.", "All that is in this file was here before"):
        pick(page, file)
        expect(part(page, "carry")).to_contain_text(said)
    expect(part(page, "welcome")).to_contain_text("Good to see you, Ash Reed")
    expect(part(page, "safety")).to_contain_text("You have read the cautions")
    assert find_faults(page) == {}
    field = loader(page)
    part(page, "carry").get_by_role("button", name="Save my work in a file").focus()
    page.keyboard.press("Tab")
    expect(field).to_be_focused()
    box = field.bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 40
    page.reload()
    wait_ready(page, timeout=240)
    expect(part(page, "welcome")).to_contain_text("Good to see you, Ash Reed")
