"""The own pump's desk in the browser: figures typed, a start pasted, the rig fitted and used in class."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from simulator.panels.lessons.registry import DESKS
from simulator.rig.own_rigs import own_rigs_folder
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import part, set_theme

PUMP, BUILDER = DESKS["pump"].notebook, DESKS["builder"].notebook
SIZES = [(1366, 768), (1920, 1080)]
#: A start of a rig like Osier, lift 4.5 m, hose 16 m: made with the model and rounded as an eye does.
TABLE = "time;vacuum in kPa\n10;7\n20;16\n30;25\n40;35\n50;44\n60;44"
FIGURES = {"hose_bore_mm": "150", "hose_length_m": "10", "casing_volume_l": "45"}
START = {"start.lift_m": "4.5", "start.hose_length_m": "16", "start.prime_s": "1:08"}
MOST_TABS = 200


def field(page: Page, name: str) -> Locator:
    return page.locator(f'[id="desk-{name}"]')


def row(page: Page, name: str) -> Locator:
    return page.locator(f'[data-field="{name}"]')


def open_desk(lesson_page: OpenLesson, size: tuple[int, int] = SIZES[0]) -> Page:
    page = lesson_page(PUMP, size=size, wait=False)
    wait_ready(page, timeout=240)
    return page


def test_a_mistake_is_said_at_its_field_and_a_pasted_start_is_drawn(lesson_page: OpenLesson) -> None:
    page = open_desk(lesson_page)
    expect(page.locator(".mp-svg")).to_have_count(21)
    field(page, "hose_bore_mm").fill("20")
    expect(row(page, "hose_bore_mm")).to_contain_text("this is out of range. Legal: 50 to 400 mm.")
    row(page, "hose_bore_mm").get_by_role("button", name="Take 50").click()
    expect(field(page, "hose_bore_mm")).to_have_value("50")
    for name, value in {**FIGURES, "start.lift_m": "4.5"}.items():
        field(page, name).fill(value)
    field(page, "paste").fill(TABLE + "\n70;deep")
    page.get_by_role("button", name="Put it into the table").click()
    expect(row(page, "paste")).to_contain_text("Line 8 (70;deep): the second figure is no vacuum.")
    expect(field(page, "r.5.v")).to_have_value("44")
    expect(part(page, "desk")).to_contain_text("No time stands there at which water came.")
    assert grave_findings(page) == []
    assert find_faults(page) == {}


def by_pointing(page: Page) -> None:
    for name, value in {**FIGURES, **START}.items():
        field(page, name).fill(value)
    field(page, "paste").fill(TABLE)
    page.get_by_role("button", name="Put it into the table").click()
    expect(field(page, "r.5.v")).to_have_value("44")
    page.get_by_role("button", name="Fit the rig to this start").click()


def tab_to(page: Page, name: str) -> None:
    """Go on by Tab alone until a control has the focus."""
    for _ in range(MOST_TABS):
        if page.evaluate("document.activeElement?.id") == f"desk-{name}":
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{name} is not reached by Tab")


def by_keys(page: Page) -> None:
    page.locator(".lesson-root h1").first.click()
    for name, value in {**FIGURES, **START}.items():
        tab_to(page, name)
        page.keyboard.type(value)
    tab_to(page, "r.1.v")
    for line in TABLE.splitlines()[1:]:  # every ten seconds, where the table has a line every five
        page.keyboard.type(line.split(";")[1])
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")
    expect(field(page, "r.11.v")).to_have_value("44")
    button = page.get_by_role("button", name="Fit the rig to this start")
    expect(button).to_be_visible()
    for _ in range(MOST_TABS):
        if button.evaluate("node => node === document.activeElement"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")


@pytest.mark.full
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("walk", [by_pointing, by_keys])
def test_a_pump_is_measured_timed_fitted_used_in_class_and_offered(
    lesson_page: OpenLesson, size: tuple[int, int], theme: str, walk
) -> None:
    page = open_desk(lesson_page, size)
    set_theme(page, theme)
    walk(page)
    desk = part(page, "desk")
    expect(desk).to_contain_text("It can be used in class.", timeout=120_000)
    expect(desk.locator(".still-plot .main-svg").first).to_be_visible(timeout=120_000)
    name = f"Pump {walk.__name__} {size[0]} {theme}"
    desk.locator(".still-plot").scroll_into_view_if_needed()
    shoot(page, f"own-pump-{walk.__name__}-{size[0]}-{theme}")
    assert grave_findings(page) == []
    assert find_faults(page) == {}
    field(page, "use").fill(name)
    page.keyboard.press("Enter")
    expect(desk).to_contain_text("is in class now")
    (file,) = own_rigs_folder().glob(f"{name.lower().replace(' ', '_')}.rig.yaml")
    assert b"format: pump-rig" in file.read_bytes()
    builder = lesson_page(BUILDER, size=size, wait=False)
    wait_ready(builder, timeout=240)
    builder.locator("#desk-rig").select_option(file.name.removesuffix(".rig.yaml"))
    expect(part(builder, "desk")).to_contain_text("In good order: it primes after")
    page.get_by_role("button", name="Take back the last").click()
    expect(part(page, "what_next")).to_contain_text("as it was before")
    assert not file.exists()
