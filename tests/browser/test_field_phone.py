"""The field sheet and its result on a phone beside a real pump, and the result on one page of paper."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from simulator.diagnosis.field import FieldSheet as Sheet
from simulator.diagnosis.field import Finding, Needle, Watch, field_set, judge_sheet
from simulator.instruments.checks import CHECKS
from simulator.panels.lessons.field_sheet.form import MAX_ROWS, blank_form, look_groups
from simulator.panels.lessons.field_sheet.printing import print_page
from simulator.panels.lessons.field_sheet.words import Words
from simulator.panels.lessons.registry import LESSONS
from simulator.rig.presets import load_rig, standard_site
from tests.browser.conftest import OpenLesson
from tests.browser.layout import find_overflow, find_small_controls
from tests.browser.test_lessons import part, press
from tests.browser.test_lessons_b import LONG, type_readings
from tests.browser.test_papers_print import WIDTHS, pages

FIELD = LESSONS["field"].notebook
PHONE = (390, 844)
TYPED = (("20", "13", ""), ("40", "21", ""), ("60", "24", ""), ("90", "26", ""))
SIDEWAYS = """() => [document.scrollingElement, document.querySelector('.jp-WindowedPanel-outer')]
  .filter(Boolean).map((each) => each.scrollWidth - each.clientWidth)"""
#: Whether a finger that comes down in the middle of a box meets it, and nothing that lies over it.
MET = """(box) => {
  const at = box.getBoundingClientRect();
  const hit = document.elementFromPoint(at.left + at.width / 2, at.top + at.height / 2);
  const inside = at.left >= 0 && at.right <= innerWidth + 1;
  return inside && Boolean(hit) && (box.contains(hit) || hit.contains(box));
}"""


@pytest.fixture(scope="module")
def usual() -> dict[str, Any]:
    """A kept result as there are many: four readings, four looks, two suspects."""
    rig, site = load_rig("osier"), standard_site()
    needles = tuple(Needle(float(time), 1e3 * float(vacuum)) for time, vacuum, _ in TYPED)
    looks = (Finding("walk_round", "in_order"), Finding("listen_line", "hiss_hose", "", 60.0))
    sheet = Sheet(rig, site, needles, looks, Watch(110.0, 104.0, "pumps_badly"))
    form = blank_form() | {
        "where": "Teal Pond, the old one",
        "rows": [list(row) for row in TYPED],
        "start": "pumps_badly",
        "watched": "110",
        "primed_at": "104",
        "looks": {
            "walk_round|": "in_order",
            "listen_line|": "hiss_hose",
            "exhaust_stream|": "strong_on",
            "relief_listen|": "even",
        },
        "remarks": "Second call this week.",
    }
    said = Words(sheet, judge_sheet(sheet), field_set(rig, site), form).as_dict()
    return said | {"form": form, "made": "29 November"}


def full(result: dict[str, Any]) -> dict[str, Any]:
    """The same with as much as anybody writes down: all lines, two dozen looks and tests, five suspects."""
    out = copy.deepcopy(result)
    keys = [f"{check}|{place}" for group in look_groups(load_rig("osier")).values() for check, place in group]
    out["form"]["looks"] = {key: CHECKS[key.partition("|")[0]].outcomes[-1] for key in keys[:24]}
    out["form"]["rows"] = [[str(10 * n), "20", "5.1"] for n in range(1, MAX_ROWS + 1)]
    out["form"]["remarks"] = "It was wet and cold, and nobody knew what had been done before. " * 4
    first = out["suspects"][0]
    out["suspects"] = [first | {"against": list(first["for"])} for _ in range(5)]
    return out


@pytest.mark.parametrize("paper", WIDTHS)
@pytest.mark.parametrize("made", [lambda result: result, full], ids=["usual", "full"])
def test_the_result_prints_as_one_page(
    browser: Browser, usual: dict[str, Any], made: Callable[[dict[str, Any]], dict[str, Any]], paper: str
) -> None:
    page = browser.new_page()
    page.set_content(print_page(made(usual)))
    assert pages(page.pdf(format=paper, print_background=True)) == 1
    page.close()


def test_the_page_to_print_fits_a_phone(browser: Browser, usual: dict[str, Any]) -> None:
    context = browser.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, is_mobile=True, has_touch=True
    )
    page = context.new_page()
    page.set_content(print_page(full(usual)))
    assert page.evaluate("[document.documentElement.scrollWidth, innerWidth]") == [PHONE[0], PHONE[0]]
    box = page.get_by_role("button").bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 44.0
    context.close()


def reachable(page: Page, box: Locator) -> bool:
    """Whether a box can be brought into the window, where a finger meets it."""
    box.scroll_into_view_if_needed()
    expect(box).to_be_in_viewport()
    return bool(box.evaluate(MET))


@pytest.mark.full
def test_a_sheet_is_filled_in_and_judged_on_a_phone(lesson_page: OpenLesson) -> None:
    page = lesson_page(FIELD, size=PHONE)
    assert max(page.evaluate(SIDEWAYS)) <= 1
    for summary in part(page, "sheet").locator("summary").all():
        summary.click()
    boxes = part(page, "sheet").locator("input:visible, select:visible, textarea:visible").all()
    assert len(boxes) > 30
    assert [box.get_attribute("id") for box in boxes if not reachable(page, box)] == []
    assert (find_overflow(page), find_small_controls(page)) == ([], [])
    type_readings(page)
    press(page, "What does it point to?")
    expect(page.locator(".field-suspects li").first).to_be_visible(timeout=LONG)
    assert max(page.evaluate(SIDEWAYS)) <= 1
    assert (find_overflow(page), find_small_controls(page)) == ([], [])
    assert reachable(page, page.get_by_role("link", name="Open a page to print"))
