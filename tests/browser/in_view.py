"""What of an exercise is in view at five moments, on the page and in the whole window.

``python -m tests.browser.in_view --size 1366x768`` prints how many controls, and which instruments, can be seen whole.
"""

from __future__ import annotations

import argparse
import sys
from typing import Any

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import FLAGS
from tests.browser.walk_out import STATES, Walk
from tests.conftest import find_browser

#: What has to be in view, always; the next step is the open question where there is one.
NEEDED = {"dials": ".dial-face", "curve": ".trend-canvas", "engine bar": ".ex-bar"}
NEXT = ":is(.ex-next, .ex-ask):not([hidden])"
CONTROLS = ":is(button, select, input, canvas)"
MOMENTS = {
    "at the call": "called",
    "while running": "running",
    "at an act's question": "asked",
    "placing markers": "placed",
    "at the debrief": "debrief",
}

_WHOLE = """(parts) => {
  const seen = (part) => {
    const box = part.getBoundingClientRect();
    if (!box.width || !box.height) return false;
    if (box.left < -1 || box.top < -1 || box.right > innerWidth + 1 || box.bottom > innerHeight + 1) return false;
    for (let over = part.parentElement; over; over = over.parentElement) {
      const style = getComputedStyle(over);
      if (style.overflow === 'visible' || style.display === 'contents') continue;
      const frame = over.getBoundingClientRect();
      if (box.top < frame.top - 1 || box.bottom > frame.bottom + 1) return false;
      if (box.left < frame.left - 1 || box.right > frame.right + 1) return false;
    }
    const hit = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    return !hit || part.contains(hit) || hit.contains(part);
  };
  return parts.filter((part) => part.getClientRects().length).map(seen);
}"""


def whole(page: Page, selector: str) -> list[bool]:
    """Of each element that is drawn, whether all of it can be seen: not cut, not scrolled away, not covered."""
    found: list[bool] = page.locator(f".ex-root {selector}").evaluate_all(_WHOLE)
    return found


def counted(page: Page) -> dict[str, Any]:
    """Controls in view and all that are drawn, and whether what is needed can be seen whole."""
    controls = whole(page, CONTROLS)
    needed = {name: bool(found := whole(page, part)) and all(found) for name, part in NEEDED.items()}
    if page.locator("dialog.ex-window").is_visible():
        needed["next step"] = whole(page, NEXT) == [True]
    return {"controls": sum(controls), "of": len(controls), **needed}


def main(arguments: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(prog="in_view", description=__doc__)
    parser.add_argument("--size", default="1366x768", help="of the window, width x height [px]")
    width, height = (int(part) for part in parser.parse_args(arguments).size.split("x"))
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_browser(), args=FLAGS)
        for kind in (False, True):
            page = browser.new_page(viewport={"width": width, "height": height}, reduced_motion="reduce")
            walk = Walk(page, whole_window=kind)
            named = {state: moment for moment, state in MOMENTS.items()}
            for state in STATES:
                walk.reach(state)
                if state in named:
                    page.wait_for_timeout(300)
                    found = ", ".join(f"{name} {what}" for name, what in counted(page).items())
                    where = "window" if kind else "page"
                    sys.stdout.write(f"{width}x{height} {where}, {named[state]}: {found}\n")
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
