"""HTML and script in names, titles, briefs, notes and sheets are shown as text, on the page and in print."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.page_extension.manifest import fingerprint, manifest_path
from simulator.scenario import Scenario, SiteChoice, choose_fault, save_scenario
from tests.browser.conftest import OpenLesson, Server, thin
from tests.panels.hostile_text import CLOSING, HOSTILE, PICTURE, SCRIPT, SHEETS

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
def test_name(lesson_page: OpenLesson) -> None:
    page = lesson_page("00_start_here.ipynb")
    name = PICTURE[:60]
    page.locator(".lesson-name input, input[type=text]").first.fill(name)
    page.keyboard.press("Enter")
    expect(page.locator("body")).to_contain_text(name)
    not_hurt(page)
