"""Papers on lesson 00: a sheet opens to be printed, and a watched job is typed in and stands there after a reload."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import OpenLesson, wait_ready
from tests.browser.layout import find_faults

HOME = "00_start_here.ipynb"


@pytest.mark.full
def test_a_watched_job_is_typed_in_and_a_form_opens_to_print(lesson_page: OpenLesson) -> None:
    page = lesson_page(HOME, wait=False)
    wait_ready(page, timeout=240)
    papers = page.locator('[data-part="papers"]')
    papers.get_by_role("button", name="A real job, watched").click()
    link = papers.get_by_role("link", name=re.compile("^Open to print"))
    expect(link).to_have_attribute("href", re.compile("^blob:"))
    with page.context.expect_page() as opened:
        link.click()
    expect(opened.value.get_by_role("heading", name="A real job, watched")).to_be_visible()
    opened.value.close()

    page.get_by_role("button", name="Type in a watched job").click()
    page.get_by_label("Who did the job").fill("Ash Reed")
    page.get_by_role("button", name="Keep this job").click()
    expect(page.get_by_role("alert")).to_contain_text("The name of the one who watched is missing")
    assert find_faults(page) == {}
    page.get_by_label("Who watched").fill("Wren")
    page.get_by_label("Steps in order").fill("7:10 Walk round, drain shut\n7:12 Gauges, 12 kPa")
    page.get_by_label("Proof: it pumped after").fill("41")
    page.get_by_label("Found and fixed, out of 45").fill("36")
    page.get_by_role("button", name="Keep this job").click()
    line = page.locator('[data-part="watched"] li').first
    expect(line).to_contain_text("80 of 100 by Wren")
    page.reload()
    wait_ready(page, timeout=240)
    expect(page.locator('[data-part="watched"] li').first).to_contain_text("Ash Reed")
