"""Every state of the exercise screen judged by axe-core, in both themes."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from simulator.scenario import Scenario, SiteChoice, choose_fault
from tests.browser.axe import grave_findings
from tests.browser.live_exercise import LiveExercise

CALL = Scenario(
    title="A call",
    brief="It will not draw.",
    site=SiteChoice(name="Teal Pond", lift_m=3.0),
    faults=(choose_fault("joint_ring", 0.007, "joint:1"),),
    mode="guided",
    see_through=True,
)


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(error.stack or str(error)))
    yield opened
    context.close()
    assert errors == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_state_has_a_grave_finding(page: Page, theme: str) -> None:
    LiveExercise(page, CALL, theme=theme)
    assert grave_findings(page) == []  # one question, before the start
