"""What axe-core finds on a page of ours. Only grave findings count, and only inside our own parts of the page."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

#: The parts of a page that are ours; the rest is JupyterLab's.
OURS = "[data-exercise], .lesson-root"
#: Rules of WCAG 2.0 to 2.2, levels A and AA, and axe-core's own advice.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
GRAVE = ("serious", "critical")


def grave_findings(page: Page, within: str = OURS) -> list[str]:
    """The serious and critical findings inside ``within`` (a CSS selector that must match), one sentence each.

    Call it when nothing moves any more: a colour half-way through a fade is judged as it is.
    """
    assert page.locator(within).count(), f"nothing on the page matches {within}"
    options = {"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}
    found: list[dict[str, Any]] = Axe().run(page, context=within, options=options).response["violations"]
    return [
        f"{one['impact']}: {one['id']}, {one['help']}: {node['html'][:160]} | {node['failureSummary'][:200]}"
        for one in found
        if one["impact"] in GRAVE
        for node in one["nodes"]
    ]
