"""A whole call-out by touch on a tablet, and nothing on it too small for a gloved finger."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.browser.live_exercise import LiveExercise, find_act

CALL = Scenario(
    title="A call",
    brief="Started it after breakfast, nothing in the hose.",
    site=SiteChoice(name="Teal Pond", lift_m=3.0),
    faults=(choose_fault("joint_ring", 0.007, "joint:1"),),
    mode="practice",
)
SMALLEST = 43.5  # px; 44 but for rounding


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(
        viewport={"width": 820, "height": 1180}, has_touch=True, reduced_motion="reduce"
    )
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(error.stack or str(error)))
    yield page
    context.close()
    assert errors == []


def too_small(yard: LiveExercise) -> list[dict[str, object]]:
    """Controls in sight that are smaller than a fingertip or have no name."""
    return yard.root.evaluate(
        """(root, least) => [...root.querySelectorAll('button, select, input')]
             .filter((control) => control.offsetParent)
             .map((control) => {
               const box = control.getBoundingClientRect();
               const name = control.getAttribute('aria-label') || control.innerText || '';
               return { name: name.trim(), width: box.width, height: box.height };
             })
             .filter((one) => !one.name || Math.min(one.width, one.height) < least)""",
        SMALLEST,
    )


@pytest.mark.full
def test_a_call_out_by_touch(tablet: Page) -> None:
    yard = LiveExercise(tablet, CALL, debriefer=lambda attempt, units, progress: {"total": 80, "parts": []})
    root = yard.root

    def tap_button(name: str) -> None:
        root.get_by_role("button", name=name).first.tap()
        yard.quiet()

    def tap_act(identity: str) -> None:
        before = len(yard.panel.attempt.log)
        find_act(root, identity).tap()
        yard.pump_until(lambda: len(yard.panel.attempt.log) > before)
        yard.quiet()
        assert yard.panel.attempt.log[-1]["accepted"], identity

    def suspect(name: str, markers: int) -> None:
        root.get_by_label(text("panel.call.add")).select_option(name)
        more = root.locator(".ex-suspect", has_text=text(f"faults.names.{name}")).locator(".ex-step").last
        for _ in range(markers):
            more.tap()

    def primed() -> bool:
        return root.locator(".ex-finish").get_attribute("aria-disabled") is None

    assert too_small(yard) == []
    tap_button(text("panel.ask.unsure"))
    tap_act("put_on_ppe")
    tap_act("secure_discharge")
    tap_button(text("panel.bar.rate_spoken", n=20))
    tap_button(text("panel.bar.start"))
    tap_act("check:exhaust_stream:exhaust")
    for place in root.locator("[data-where]").all():
        place.tap()
        assert too_small(yard) == [], place.get_attribute("data-where")
    for _ in range(10):
        root.locator(".ex-suspect").last.locator(".ex-step").last.tap()
    tap_button(text("panel.call.lock_first"))
    tap_button(text("panel.bar.stop"))
    tap_act("isolate_and_tag")
    tap_act("vent_hose")
    tap_act("check:joint_apart:joint:1")
    tap_button(text("panel.call.lock_second"))
    tap_act("remedy:renew_joint_ring:joint:1")
    tap_act("untag_and_close_up")
    tap_button(text("panel.bar.start"))
    yard.pump_until(primed, 1500)
    root.locator(".ex-finish").tap()
    yard.quiet()
    expect(root.get_by_role("heading", name=text("panel.debrief.title"))).to_be_visible()
    assert too_small(yard) == []
    assert yard.panel.attempt.yard.ended == "finished"
