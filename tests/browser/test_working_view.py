"""The call-out in the whole window: it does not scroll, what one watches stays in view, and Esc leads out of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.rig.faults import FAULTS
from simulator.rig.onset import COMES_LATER
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.in_view import NEEDED, NEXT, whole
from tests.browser.live_exercise import LiveExercise
from tests.browser.walk_out import STATES, Walk
from tests.marking.conftest import call_out

SIZES = {
    "small laptop": (1280, 720),
    "laptop": (1366, 768),
    "large": (1920, 1080),
    "tablet upright": (820, 1180),
    "tablet": (1180, 820),
    "phone": (390, 844),
}
REGIONS = (
    ".ex-header",
    ".ex-pictures",
    ".ex-trend",
    ".ex-bar",
    ".ex-status",
    ".ex-lower",
    ".ex-next",
    ".ex-ask",
)


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1366, "height": 768}, reduced_motion="reduce")
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(error.stack or str(error)))
    yield opened
    context.close()
    assert errors == []


def resized(page: Page, size: tuple[int, int]) -> None:
    """Another window, and two frames for the cells to take it in."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.evaluate(
        """async () => {
          for (let i = 0; i < 6; i += 1) await new Promise((done) => requestAnimationFrame(done));
        }"""
    )


def nothing_scrolls(page: Page, where: str) -> None:
    over = page.locator("dialog.ex-window").evaluate(
        "(layer) => [layer.scrollHeight - layer.clientHeight, layer.scrollWidth - layer.clientWidth]"
    )
    assert max(over) <= 1, f"{where}: the window scrolls by {over} px, down and sideways"


def all_in_view(page: Page, where: str) -> None:
    """Dials, curve, engine bar and the next step whole in view; acts and call at most one press away.

    What the caller says lies over the dials until the first act, or until Escape.
    """
    if where.startswith("called") and page.locator(".ex-window .ex-brief").is_visible():
        page.keyboard.press("Escape")
    nothing_scrolls(page, where)
    for name, part in NEEDED.items():
        found = whole(page, part)
        assert found, (where, name)
        assert all(found), (where, name)
    assert whole(page, NEXT) == [True], (where, "the next step")
    assert all(whole(page, f"{NEXT} button")), (where, "the button for it")
    if page.locator(".ex-root").get_attribute("data-phase") == "debrief":
        assert whole(page, ".ex-debrief") == [True], where
        return
    acts, call = page.locator(".ex-card-acts"), page.locator(".ex-card-call")
    assert acts.is_visible() or whole(page, '.ex-tab[data-tab="do"]') == [True], where
    assert call.is_visible() or whole(page, '.ex-tab[data-tab="call"]') == [True], where
    if acts.is_visible():
        places = whole(page, "[data-where]") or whole(page, ".ex-where-pick")
        assert places, (where, "places")
        assert all(places), (where, "places")


def tab_order(page: Page) -> None:
    """Every control that is drawn is reached by Tab, region after region as they are read."""
    wanted = page.evaluate(
        """() => {
          const all = [...document.querySelectorAll('.ex-window :is(button, select, input, canvas, [tabindex])')]
            .filter((one) => one.getClientRects().length && !one.disabled && one.tabIndex >= 0);
          all.forEach((one, i) => (one.dataset.seen = String(i)));
          all[0].focus();
          return all.length;
        }"""
    )
    seen: list[tuple[str, int]] = []
    for _ in range(wanted):
        seen.append(
            tuple(
                page.evaluate(
                    """(regions) => {
                      const one = document.activeElement;
                      return [one.dataset.seen ?? '', regions.findIndex((part) => one.closest(part))];
                    }""",
                    list(REGIONS),
                )
            )
        )
        page.keyboard.press("Tab")
    assert sorted({name for name, _ in seen}, key=int) == [str(i) for i in range(wanted)]
    places = [place for _, place in seen]
    assert places == sorted(places), "the order in which Tab goes is not the order in which one reads"


def test_what_one_watches_is_in_view_from_call_to_debrief(page: Page) -> None:
    walk = Walk(page)
    for state in STATES:
        walk.reach(state)
        all_in_view(page, state)
        if state == "looked":
            tab_order(page)
        if state == "asked":  # by an act
            assert whole(page, ".ex-ask") == [True]
            expect(walk.root.locator(".ex-ask button").first).to_be_focused()


@pytest.mark.full
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_in_every_window_at_every_state(page: Page, theme: str) -> None:
    walk = Walk(page, theme)
    for state in STATES:
        walk.reach(state)
        for name, size in SIZES.items():
            resized(page, size)
            all_in_view(page, f"{state}, {name}")
            assert grave_findings(page) == [], (state, name)
        resized(page, SIZES["laptop"])


@pytest.mark.full
@pytest.mark.parametrize("name", list(SIZES))
def test_every_control_by_tab_in_reading_order(page: Page, name: str) -> None:
    walk = Walk(page)
    resized(page, SIZES[name])
    for state in STATES[: STATES.index("asked")]:
        walk.reach(state)
        tab_order(page)
    small = page.locator(".ex-window :is(button, select)").evaluate_all(
        """(all) => all.filter((one) => one.getClientRects().length)
             .map((one) => [one.innerText, one.getBoundingClientRect()])
             .filter(([, box]) => Math.min(box.width, box.height) < 43.5).map(([name]) => name)"""
    )
    assert small == []


def test_escape_closes_what_lies_on_top_and_then_leads_back(page: Page) -> None:
    walk = Walk(page)
    walk.reach("called")
    expect(walk.root.get_by_role("spinbutton")).to_be_focused()
    expect(walk.root.locator(".ex-brief")).to_be_visible()  # what the caller says is read first
    page.keyboard.press("Escape")
    expect(walk.root.locator(".ex-brief")).to_be_hidden()
    walk.button(text("panel.window.said")).click()
    expect(walk.root.locator(".ex-brief")).to_be_visible()
    page.keyboard.press("Escape")
    expect(walk.root.locator(".ex-brief")).to_be_hidden()
    page.keyboard.press("Escape")  # the question is put aside, and not lost
    expect(walk.root.locator(".ex-ask")).to_be_hidden()
    expect(walk.root.locator(".ex-next")).to_contain_text(text("panel.next.question"))
    page.keyboard.press("Escape")
    expect(walk.window).to_be_hidden()
    enter = walk.button(text("panel.window.enter"))
    expect(enter).to_be_focused()
    expect(walk.root.locator(".ex-ask")).to_be_visible()  # on the page it always stands
    enter.click()
    expect(walk.window).to_be_visible()
    walk.press(walk.next_button())
    expect(walk.root.get_by_role("spinbutton")).to_be_focused()


GO_ON_BELOW = """(root) => {
  const stack = document.createElement('div');
  stack.className = 'lesson-stack';
  stack.style.paddingBottom = '1rem'; // a page goes on below its last button
  root.before(stack);
  stack.innerHTML = '<div class="lesson-root"><button class="lesson-primary">Above</button></div>';
  stack.append(root);
  stack.insertAdjacentHTML('beforeend', '<div class="lesson-root"><button class="lesson-primary">Go on</button></div>');
}"""


def test_back_on_the_page_after_the_call_one_stands_at_what_comes_next(page: Page) -> None:
    walk = Walk(page)
    walk.root.first.evaluate(GO_ON_BELOW)
    walk.reach("called")
    walk.reach("answered")
    if not walk.window.is_visible():  # it was moved: the layer closes with it
        walk.button(text("panel.window.enter")).click()
    walk.tab("call")
    walk.button(text("panel.finish.give_up")).click()
    walk.press(walk.button(text("panel.finish.give_up_yes")))
    walk.yard.pump_until(lambda: walk.yard.panel.page["phase"] == "debrief")
    walk.yard.quiet()
    walk.root.locator(".ex-leave").click()
    on = page.get_by_role("button", name="Go on", exact=True).and_(page.locator(".lesson-primary"))
    expect(on).to_be_focused()
    expect(on).to_be_in_viewport(ratio=1)


@pytest.mark.full
def test_a_question_brought_up_by_an_act_has_the_focus(page: Page) -> None:
    walk = Walk(page)
    for state in STATES[: STATES.index("asked") + 1]:
        walk.reach(state)
    assert whole(page, ".ex-ask") == [True]
    expect(walk.root.locator(".ex-ask button").first).to_be_focused()


def test_a_refused_act_leads_to_what_it_waits_for(page: Page) -> None:
    walk = Walk(page)
    for state in ("called", "answered"):
        walk.reach(state)
    walk.press(walk.root.locator(".ex-engine"))
    first = walk.yard.panel.page["engine"]["first"][0]
    label = next(
        item["label"]
        for place in walk.yard.panel.page["places"]
        for item in place["items"]
        if item["id"] == first
    )
    expect(walk.root.locator(".ex-next")).to_contain_text(
        text("panel.next.lacking", act=label, pressed=text("panel.bar.start"))
    )
    walk.press(walk.next_button())
    assert first not in walk.yard.panel.page["engine"]["first"]


@pytest.mark.full
def test_large_text_scrolls_and_goes_nowhere_sideways(page: Page) -> None:
    walk = Walk(page)
    for state in ("called", "answered", "safe"):
        walk.reach(state)
    page.add_style_tag(content="html { font-size: 200% !important; }")
    for size in SIZES.values():
        resized(page, size)
        wide = page.locator("dialog.ex-window").evaluate("(layer) => layer.scrollWidth - layer.clientWidth")
        assert wide <= 1, size


@pytest.mark.full
def test_the_question_about_the_plate_fits_a_phone_for_every_suspect(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    live = LiveExercise(page, call_out("strainer_plugged", 0.98), whole_window=True)
    live.start()
    live.does("stop_engine")
    live.does("call", {"markers": {"joint_ring": 10}})
    page.keyboard.press("Escape")  # what they said is put away
    live.quiet()
    over = {}
    for fault in FAULTS.values():
        if fault.family != COMES_LATER:
            asked = text("attempt.questions.blank_off_if_right", it=text(f"faults.{fault.id}.say"))
            page.locator(".ex-question").evaluate("(line, words) => { line.textContent = words; }", asked)
            over[fault.id] = page.locator("dialog.ex-window").evaluate(
                "(layer) => layer.scrollHeight - layer.clientHeight"
            )
    assert {name: px for name, px in over.items() if px > 1} == {}
