"""Two people at one running server: the second name is told so, takes nothing over, and no click of either is lost."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenLesson, Server, wait_ready


def give_name(page: Page, name: str) -> None:
    page.get_by_label("Your name").fill(name)
    page.keyboard.press("Enter")


@pytest.mark.full
def test_a_second_person(server: Server, lesson_page: OpenLesson) -> None:
    first = lesson_page("00_start_here.ipynb")
    give_name(first, "Ash")
    expect(first.locator("body")).to_contain_text("Good to see you, Ash")
    second = lesson_page("00_start_here.ipynb")  # a browser of its own: no cookie, no storage in common
    expect(second.locator("body")).to_contain_text("Good to see you, Ash")
    read = first.get_by_role("button", name="I have read this")
    read.click()
    expect(read).to_have_count(0)
    give_name(second, "Elm")
    expect(second.locator("body")).to_contain_text("in use under the name Ash")
    kept = json.loads((server.data / "learner.json").read_text(encoding="utf-8"))
    assert kept["name"] == "Ash"
    first.get_by_text("inHg, psi, ft").first.click()
    first.wait_for_timeout(1000)
    for page in (first, second):
        page.reload()
        wait_ready(page)
        expect(page.locator("body")).to_contain_text("Good to see you, Ash")
        expect(page.locator("body")).not_to_contain_text("Good to see you, Elm")
        expect(page.get_by_role("button", name="I have read this")).to_have_count(0)
    assert json.loads((server.data / "learner.json").read_text(encoding="utf-8"))["units"] == "us"
