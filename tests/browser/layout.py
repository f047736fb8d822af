"""What can be wrong with a page at a glance: sideways scrolling, things over each other, cut text, empty panels.

Each function takes a page and gives sentences; an empty list is a good page. They look at our own parts alone.
"""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

_SCRIPT = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")


def _ask(page: Page, what: str) -> list[str]:
    return list(page.evaluate(f"{_SCRIPT.rstrip()}.{what}()"))


def find_overflow(page: Page) -> list[str]:
    """What sticks out sideways: a part wider than its place, or the page itself."""
    return _ask(page, "overflow")


def find_cut_text(page: Page) -> list[str]:
    """Words of which a part cannot be seen because what holds them is too small."""
    return _ask(page, "cutText")


def find_overlaps(page: Page) -> list[str]:
    """Words and controls that lie over one another, outside drawings; and names in a drawing over other names."""
    return _ask(page, "overlaps")


def find_empty_panels(page: Page) -> list[str]:
    """Blocks, cards and figures that are there and hold nothing; outputs of cells that stayed blank."""
    return _ask(page, "emptyPanels")


def find_faults(page: Page) -> dict[str, list[str]]:
    """Everything the others find, by what it is; nothing where the page is good."""
    every = {
        "overflow": find_overflow(page),
        "cut": find_cut_text(page),
        "overlaps": find_overlaps(page),
        "empty": find_empty_panels(page),
    }
    return {name: found for name, found in every.items() if found}
