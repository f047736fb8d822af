"""Every state of the exercise screen judged by axe-core, in both themes."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.live_exercise import LiveExercise, debrief_in_short

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


@pytest.mark.full
@pytest.mark.parametrize(("theme", "every"), [("light", 1), ("dark", 1)])
def test_no_state_has_a_grave_finding(page: Page, theme: str, every: int) -> None:
    yard = LiveExercise(page, CALL, theme=theme, debriefer=debrief_in_short)
    assert grave_findings(page) == []  # one question, before the start
    yard.act("check:nrv_lid:nrv").click()
    yard.quiet()
    assert grave_findings(page) == []  # refused, and what it lacks stands out
    yard.start()
    yard.root.get_by_role("button", name=text("panel.bar.hold")).click()
    yard.does("ask_hint")
    for place in yard.root.locator("[data-where]").all()[::every]:
        place.click()
        assert grave_findings(page, ".ex-card-acts") == [], place.get_attribute("data-where")
    yard.does("call", {"markers": {"joint_ring": 7, "something_else": 3}})
    yard.root.locator("canvas").first.focus()
    assert grave_findings(page) == []  # running, asked about the blank-off test
    yard.does("give_up")
    yard.panel._make_debrief()
    yard.quiet()
    expect(yard.root.locator(".ex-part")).to_have_count(1)
    assert grave_findings(page) == []


@pytest.mark.full
def test_every_control_is_reached_by_tab_and_shows_it(page: Page) -> None:
    LiveExercise(page, CALL)
    wanted = page.evaluate(
        """() => {
          const all = [...document.querySelectorAll('[data-exercise] :is(button, select, input, canvas, [tabindex])')]
            .filter((one) => one.offsetParent && !one.disabled && one.tabIndex >= 0);
          all.forEach((one, i) => (one.dataset.seen = String(i)));
          return all.length;
        }"""
    )
    reached: dict[str, bool] = {}
    page.evaluate("document.body.focus()")
    for _ in range(wanted + 5):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => {
              const one = document.activeElement;
              if (!one || !one.dataset.seen) return null;
              const ringed = [one, one.closest('.ex-dots')].filter(Boolean).some((part) => {
                const style = getComputedStyle(part);
                return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
              });
              return [one.dataset.seen, ringed];
            }"""
        )
        if at:
            reached[at[0]] = at[1]
    assert len(reached) == wanted
    assert all(reached.values())


@pytest.mark.full
def test_long_work_on_the_marks_can_be_stopped_and_taken_up(page: Page) -> None:
    yard = LiveExercise(page, CALL, debriefer=debrief_in_short)
    yard.does("give_up")
    yard.panel._debriefer = None  # as if it were still being worked out
    pending = {**yard.panel.page, "debrief_pending": True, "serial": yard.panel.page["serial"] + 1}
    page.evaluate("(page) => model.set('page', page)", pending)
    page.evaluate("model.emit('msg:custom', { kind: 'progress', done: 30, total: 120 }, [])")
    expect(yard.root.get_by_role("progressbar")).to_have_attribute("value", "30")
    assert grave_findings(page) == []
    yard.root.get_by_role("button", name=text("panel.debrief.stop")).click()
    sent = page.evaluate(
        "window.sent.filter((message) => message.kind === 'act').map((message) => message.action)"
    )
    assert sent == ["stop_debrief"]
