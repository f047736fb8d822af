"""What can be wrong with a page at a glance: sideways scrolling, things over each other, cut text, empty panels,
controls that are too small to touch or have no name.

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


def find_small_controls(page: Page) -> list[str]:
    """Controls under 44 px high or wide (but for rounding), words in a running text left out."""
    return _ask(page, "smallControls")


def find_nameless(page: Page) -> list[str]:
    """Controls without a spoken name."""
    return _ask(page, "nameless")


def find_faults(page: Page) -> dict[str, list[str]]:
    """Everything the others find, by what it is; nothing where the page is good."""
    every = {
        "overflow": find_overflow(page),
        "cut": find_cut_text(page),
        "overlaps": find_overlaps(page),
        "empty": find_empty_panels(page),
        "small": find_small_controls(page),
        "nameless": find_nameless(page),
    }
    return {name: found for name, found in every.items() if found}
