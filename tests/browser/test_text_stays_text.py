"""HTML and script in names, titles, briefs, notes and sheets are shown as text, on the page and in print."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.page_extension.manifest import fingerprint, manifest_path
from simulator.panels.lessons.registry import LESSONS
from simulator.records import Store, export_csv
from simulator.scenario import Scenario, SiteChoice, choose_fault, save_scenario
from tests.browser.conftest import OpenLesson, Server, thin
from tests.browser.test_lessons import press
from tests.browser.test_lessons_b import LONG, type_readings
from tests.panels.hostile_text import CLOSING, HOSTILE, PICTURE, SCRIPT, SHEETS, TEXTS

LESSON = "odd_call.ipynb"
CALL = Scenario(
    title=HOSTILE[:80],
    brief=f"It will not draw. {SCRIPT} {CLOSING}",
    site=SiteChoice(name=PICTURE, lift_m=3.0),
    faults=(choose_fault("drain_open", 0.5),),
)
NOT_HURT = """() => window.hurt === undefined
  && ![...document.querySelectorAll('img')].some((each) => each.getAttribute('src') === 'x')
  && ![...document.querySelectorAll('svg')].some((each) => each.hasAttribute('onload'))"""


def not_hurt(page: Page) -> None:
    assert page.evaluate(NOT_HURT)
    page.emulate_media(media="print")
    assert page.evaluate(NOT_HURT)
    assert page.pdf().startswith(b"%PDF")
    page.emulate_media(media="screen")


@pytest.mark.parametrize("name", thin(*SHEETS))
def test_sheets(tmp_path: Path, browser: Browser, name: str) -> None:
    file = tmp_path / "sheet.html"
    file.write_text(SHEETS[name](), encoding="utf-8")
    page, asked = browser.new_page(), []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    expect(page.locator("body")).to_contain_text(SCRIPT)
    not_hurt(page)
    assert asked == [file.as_uri()]
    page.close()


@pytest.fixture
def odd_call(server: Server) -> Iterator[dict[str, Any]]:
    """A call-out with odd words among the server's lessons, done by somebody with an odd name."""
    lines = [
        "from simulator.panels.exercise.panel import open_exercise",
        f"open_exercise('scenarios/odd.scenario.yaml', learner={HOSTILE[:60]!r}, slot='odd')",
    ]
    cell = {"cell_type": "code", "id": "one", "metadata": {}, "source": "\n".join(lines), "outputs": []}
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    content = {
        "cells": [{**cell, "execution_count": None}],
        "metadata": {"kernelspec": kernel, "lesson_page": True},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    laid = [server.lessons / LESSON, server.lessons / "scenarios" / "odd.scenario.yaml"]
    laid[0].write_text(json.dumps(content), encoding="utf-8")
    save_scenario(CALL, laid[1])
    yield content
    for path in laid:
        path.unlink(missing_ok=True)


@pytest.mark.full
def test_title_brief_and_notes(lesson_page: OpenLesson, odd_call: dict[str, Any]) -> None:
    manifest = json.loads(manifest_path().read_text(encoding="utf-8"))
    manifest["lessons"].append({"name": LESSON, "sha256": fingerprint(odd_call)})
    page = lesson_page(
        LESSON, before=lambda page: page.route("**/manifest.json", lambda route: route.fulfill(json=manifest))
    )
    root = page.locator("[data-exercise]")
    expect(root).to_be_visible()
    expect(root).to_contain_text("It will not draw. " + SCRIPT)
    expect(root).to_contain_text(PICTURE)  # where the call comes from stands in its head
    not_hurt(page)


@pytest.mark.full
def test_a_name_and_a_watched_job(lesson_page: OpenLesson, server: Server) -> None:
    """The name on home and on the assessment's page; a job somebody typed in, in its list; all jobs as a table."""
    page = lesson_page("00_start_here.ipynb")
    page.get_by_label("Your name").fill(PICTURE)
    page.keyboard.press("Enter")
    expect(page.locator("[data-part=welcome]")).to_contain_text(f"Good to see you, {PICTURE}")
    page.get_by_role("button", name="Type in a watched job").click()
    for label, typed in {
        "Who did the job": PICTURE,
        "Who watched": SCRIPT,
        "Site": HOSTILE,
        "What the caller said": CLOSING,
        "Steps in order": f"{SCRIPT}\n{PICTURE}",
        "What it was": f'=HYPERLINK("http://outside.example","{SCRIPT}")',
        "One thing to practise next": CLOSING,
    }.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Found and fixed, out of 45").fill("36")  # its hint belongs to the label
    page.get_by_role("button", name="Keep this job").click()
    line = page.locator("[data-part=watched] li").first
    expect(line).to_contain_text(PICTURE)
    expect(line).to_contain_text(SCRIPT)
    not_hurt(page)
    with Store.open(server.data / "records.sqlite3") as store:
        table = export_csv(store, "observed_jobs")
    assert SCRIPT in table
    (server.lessons / "jobs.csv").write_text(table, encoding="utf-8")
    shown = lesson_page("jobs.csv", mode="lab", wait=False)
    expect(shown.locator(".jp-CSVViewer, .jp-CSVDelimiter").first).to_be_visible(timeout=60_000)
    shown.wait_for_timeout(1000)
    not_hurt(shown)
    page = lesson_page("10_assessment.ipynb")
    expect(page.locator("body")).to_contain_text(f"{PICTURE}, have you done")
    not_hurt(page)


@pytest.mark.full
def test_a_field_sheet_typed_and_printed(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSONS["field"].notebook)
    type_readings(page)
    page.get_by_label("Where, and which pump").fill(HOSTILE)
    page.get_by_label("Anything else you noticed").fill("\n".join(TEXTS))
    press(page, "What does it point to?")
    expect(page.locator(".field-suspects li").first).to_be_visible(timeout=LONG)
    not_hurt(page)
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open a page to print").click()
    paper = opened.value
    paper.wait_for_load_state()
    for typed in (PICTURE, SCRIPT, *TEXTS):
        expect(paper.locator("body")).to_contain_text(typed)
    not_hurt(paper)
