"""The demonstration bench in the browser: a trainer's window and the wall, two windows on one run."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import DESKS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import set_theme

BENCH = DESKS["bench"].notebook
SIZES = [(1366, 768), (1920, 1080)]
NAMES = ("torn ring", "ring at", "joint_ring")  # of what is let in here
MOST_TABS = 120
OURS = ".lesson-root, .bench-root"
LISTEN = """() => {
  window.heard = [];
  const channel = new BroadcastChannel(document.getElementById('wall').dataset.channel);
  channel.onmessage = ({ data }) => window.heard.push(data);
}"""
KEPT_BY_THE_PAGE = """async () => JSON.stringify([
  { ...localStorage }, { ...sessionStorage }, document.cookie,
  (await indexedDB.databases()).map((each) => each.name), window.name, location.href,
])"""


def open_both(lesson_page: OpenLesson, size: tuple[int, int] = SIZES[0]) -> tuple[Page, Page]:
    page = lesson_page(BENCH, size=size, wait=False)
    wait_ready(page, timeout=240)
    with page.expect_popup() as found:
        page.get_by_role("button", name="Open the wall").click()
    wall = found.value
    wall.set_viewport_size({"width": size[0], "height": size[1]})
    expect(wall.locator(".wall-clock")).to_have_text("The engine has not been started.")
    wall.evaluate(LISTEN)
    expect(page.locator(".bench-tools")).to_contain_text("The wall is open.")
    return page, wall


def let_in(page: Page, fault: str, over: str = "0", **fields: str) -> None:
    page.locator("#bench-fault").select_option(fault)
    for name, value in fields.items():
        field = page.locator(f"#bench-{name}")
        if field.evaluate("e => e.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
    page.locator("#bench-over").select_option(over)
    page.get_by_role("button", name="Let it in").click()


def seconds(page: Page, selector: str) -> int:
    return int("".join(c for c in page.locator(selector).first.inner_text() if c.isdigit()) or "0")


def played(page: Page, until: int) -> None:
    """Wait until the trainer's clock has passed some seconds of the run."""
    page.wait_for_function(
        "n => parseInt(document.querySelector('.ex-now').textContent.replace(/\\D/g, '')) >= n",
        arg=until,
        timeout=120_000,
    )


def needle(wall: Page, number: int = 0) -> Any:
    return wall.locator(".ex-gauge").nth(number).locator("svg").first.evaluate("e => e.outerHTML")


def names_in(written: str) -> list[str]:
    return [name for name in NAMES if name in written.lower()]


def test_a_fault_let_in_shows_on_the_wall_without_its_name_until_it_is_told(
    lesson_in_place: OpenLesson, server: Server
) -> None:
    page, wall = open_both(lesson_in_place)
    kernels = len(server.ask("kernels"))
    page.get_by_role("button", name="Start the engine").click()
    played(page, 12)
    let_in(page, "joint_ring", size="9", place="joint:2")
    expect(page.locator(".bench-standing")).to_contain_text("Torn ring", ignore_case=True)
    played(page, 30)
    page.get_by_role("button", name="Hold", exact=True).click()
    expect(wall.locator(".wall-state")).to_have_text(" held")
    shoot(page, "bench-let-in")
    shoot(wall, "wall-let-in")
    assert seconds(wall, ".wall-clock") == seconds(page, ".ex-now")
    heard = wall.evaluate("JSON.stringify(window.heard.map(({ floats, ...rest }) => rest))")
    assert {each["kind"] for each in json.loads(heard)} >= {"page", "samples", "clock"}
    inside = {
        name
        for each in json.loads(heard)
        if each["kind"] == "samples"
        for name in each["message"]["channels"]
    }
    assert inside == {"suction_shown", "motive_shown", "discharge_shown", "speed", "drain_spray"}
    pages = "".join(json.dumps(each["page"]) for each in json.loads(heard) if "page" in each)
    assert names_in(wall.locator("body").inner_text()) == []
    assert names_in(pages) == []
    assert "joint_ring" not in heard
    assert names_in(wall.evaluate(KEPT_BY_THE_PAGE)) == []
    assert len(server.ask("kernels")) == kernels == 1
    page.get_by_role("button", name="Tell the wall").click()
    expect(wall.locator(".wall-told")).to_contain_text("orn ring")
    assert grave_findings(page, OURS) == []
    assert grave_findings(wall, "#wall") == []
    assert find_faults(page) == {}


@pytest.mark.full
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_demonstration_from_start_to_replay(
    lesson_page: OpenLesson, server: Server, size: tuple[int, int], theme: str
) -> None:
    page, wall = open_both(lesson_page, size)
    set_theme(page, theme)
    name = f"{size[0]}-{theme}"
    page.get_by_role("button", name="Start the engine").click()
    played(page, 10)
    let_in(page, "drain_open", size="20")
    expect(page.locator(".bench-standing")).to_contain_text("Casing drain")
    entered = seconds(page, ".ex-now") + 1
    played(page, entered + 5)
    page.locator("#bench-size-0").fill("60")
    page.locator("#bench-over-0").select_option("30")
    page.get_by_role("button", name="Change A").click()
    played(page, entered + 15)
    page.get_by_role("button", name="Hold and ask").click()
    expect(wall.locator(".wall-ask")).to_contain_text("What will the needle do?")
    expect(wall.locator(".wall-state")).to_have_text(" held")
    for option, hands in (("climbs", "3"), ("stands", "5"), ("falls", "11")):
        page.locator(f"#bench-hands-{option}").fill(hands)
        page.locator(f"#bench-hands-{option}").press("Tab")
    for told in ("It climbs on3 hands", "It stands still5 hands", "It falls back11 hands"):
        expect(wall.locator(".wall-ask")).to_contain_text(told)
    shoot(page, f"bench-asked-{name}")
    shoot(wall, f"wall-asked-{name}")
    page.locator(".bench-ask").get_by_role("button", name="Go on").click()
    played(page, 45)
    page.get_by_role("button", name="Clear it A").click()
    expect(page.locator(".bench-standing")).to_contain_text("Nothing is wrong with the rig.")
    expect(page.locator(".bench-standing")).to_contain_text("Cleared: A:")
    page.get_by_role("button", name="on the wall", exact=True).click()
    played(page, 55)
    page.get_by_role("button", name="Hold", exact=True).click()
    shoot(wall, f"wall-inside-{name}")
    page.get_by_role("button", name="on the wall", exact=True).click()
    then = seconds(page, ".ex-now")
    at_end = needle(wall)
    wall.get_by_role("button", name="10 s back").click()
    expect(wall.locator(".wall-state")).to_have_text(" looking back")
    assert abs(seconds(page, ".ex-now") - (then - 10)) <= 1
    page.get_by_role("button", name="Go on", exact=True).first.click()
    played(page, then)
    page.wait_for_timeout(500)
    page.get_by_role("button", name="Hold", exact=True).click()
    page.locator(".ex-slider").fill(str(entered))
    expect(page.locator(".ex-status")).to_contain_text(f"You look at {entered} s")
    shoot(page, f"bench-back-{name}")
    assert grave_findings(page, OURS) == []
    assert grave_findings(wall, "#wall") == []
    assert find_faults(page) == {}
    page.get_by_role("button", name="Go on from here").click()
    expect(page.locator(".ex-status")).to_contain_text(f"The run goes on from {entered} s")
    expect(page.locator(".bench-standing")).to_contain_text("rain")
    page.locator("#bench-name").fill(f"class {name}")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator(".ex-status")).to_contain_text("Kept as")
    page.get_by_role("button", name="Begin anew").click()
    expect(wall.locator(".wall-clock")).to_have_text("The engine has not been started.")
    page.get_by_role("button", name="Take up again").click()
    expect(page.locator(".ex-now")).to_have_text(f"{entered} s")
    expect(wall.locator(".wall-clock")).to_contain_text(f"{entered} s")
    assert at_end


def tab_to(page: Page, selector: str) -> None:
    for _ in range(MOST_TABS):
        if page.evaluate("s => document.activeElement?.matches(s)", selector):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{selector} is not reached by Tab")


@pytest.mark.full
def test_a_fault_is_let_in_and_cleared_by_keys_alone(lesson_page: OpenLesson) -> None:
    page, wall = open_both(lesson_page)
    page.bring_to_front()
    page.locator(".bench-rig").click()
    tab_to(page, ".ex-engine")
    page.keyboard.press("Enter")
    played(page, 8)
    tab_to(page, "#bench-fault")
    page.keyboard.type("casing drain")
    tab_to(page, ".bench-let-in .ex-primary")
    page.keyboard.press("Enter")
    expect(page.locator(".bench-standing .bench-letter")).to_have_text("A")
    tab_to(page, "[aria-label='Clear it A']")
    page.keyboard.press("Enter")
    expect(page.locator(".bench-standing")).to_contain_text("Cleared")
    wall.bring_to_front()
    wall.locator(".wall-clock").click()
    tab_to(wall, ".wall-foot button")
    wall.keyboard.press("Enter")
    expect(wall.locator(".wall-state")).to_have_text(" held")
    assert page.get_by_role("button", name="Go on", exact=True).count() >= 1


@pytest.mark.benchmark
def test_a_change_on_one_window_stands_on_the_other(lesson_page: OpenLesson) -> None:
    """From the press on the trainer's page to the wall, and back: half a second is wanted."""
    page, wall = open_both(lesson_page)
    page.get_by_role("button", name="Start the engine").click()
    played(page, 10)
    took = []
    stamp = "() => performance.timeOrigin + performance.now()"
    for held in (True, False) * 5:
        wall.evaluate(
            """held => { window.seen = new Promise((done) => { const look = () => {
              const there = Boolean(document.querySelector('.wall-state'));
              if (there === held) done(performance.timeOrigin + performance.now()); else requestAnimationFrame(look);
            }; look(); }); }""",
            held,
        )
        begun = page.evaluate(
            f"() => {{ const t = ({stamp})(); document.querySelector('.ex-hold').click(); return t; }}"
        )
        took.append(wall.evaluate("window.seen") - begun)
    let = []
    for size in ("20", "90", "30"):
        before = wall.evaluate("window.heard.length")
        if size == "20":
            let_in(page, "drain_open", size=size)
        else:
            page.locator("#bench-size-0").fill(size)
            page.get_by_role("button", name="Change A").click()
        begun = time.monotonic()
        wall.wait_for_function(
            "n => window.heard.slice(n).some((each) => each.kind === 'samples' && each.message.replace_from !== null)",
            arg=before,
        )
        let.append(1e3 * (time.monotonic() - begun))
    assert max(took) < 500.0, f"hold and go on: {max(took):.0f} ms"
    assert max(let) < 500.0, f"changed samples at the wall: {max(let):.0f} ms"
