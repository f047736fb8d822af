"""Pages that are watched: what they ask for, what they say, whether they are ready."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request
from playwright.sync_api import Error as PageError

from tests.browser.served import Server

#: How a request ends.
ENDS = ("requestfinished", "requestfailed")


@dataclass
class Watch:
    """What the pages of one test did that they must not do."""

    server: Server
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    console: list[str] = field(default_factory=list)
    tolerated: list[str] = field(default_factory=list)  # parts of error texts a test expects

    def judge(self, request: Request) -> None:
        """Record a request that left the page for another place than the server; what its policy held back did not.

        No other name is found, see the flags of the browser. A route would stop such a request too, but would also keep
        the browser from keeping any file of the server's.
        """
        held_back = "csp" in (request.failure or "").lower()
        asks = request.url.startswith(("http:", "https:", "ws:", "wss:"))
        if asks and not held_back and not request.url.startswith(self.server.address + "/"):
            self.outside.append(request.url)

    def guard(self, context: BrowserContext) -> None:
        """Record every request of a context's pages that is not to the server."""
        for end in ENDS:
            context.on(end, self.judge)

    def leave(self, context: BrowserContext) -> None:
        """Record the requests of a context's pages no longer."""
        for end in ENDS:
            context.remove_listener(end, self.judge)

    def follow(self, page: Page) -> None:
        """Record errors and console messages of a page."""
        page.on("pageerror", self.hear_error)
        page.on("console", self.hear_console)

    def follow_no_longer(self, page: Page) -> None:
        """Leave what a page says from here on to others."""
        page.remove_listener("pageerror", self.hear_error)
        page.remove_listener("console", self.hear_console)

    def hear_error(self, error: PageError) -> None:
        self.errors.append(error.stack or str(error))

    def hear_console(self, message: ConsoleMessage) -> None:
        self.console.append(f"{message.type}: {message.text}")

    def must_be_clean(self) -> None:
        """Fail when a page asked something of the outside, or raised an error that nobody expects."""
        if self.outside:
            pytest.fail(f"a page asked for something outside: {self.outside}", pytrace=False)
        errors = [error for error in self.errors if not any(part in error for part in self.tolerated)]
        if errors:
            pytest.fail("a page raised an error:\n" + "\n".join(errors), pytrace=False)


def wait_ready(page: Page, runs: int = 1, timeout: float = 90.0) -> None:
    """Wait until the lesson has run all its cells; after ``timeout`` seconds fail with the state it is in."""
    late = time.monotonic() + timeout
    state: dict[str, str] = {}
    while time.monotonic() < late:
        state = page.evaluate("({...document.body.dataset})")
        if state.get("lessonReady") == "true" and int(state.get("lessonRuns", "0")) >= runs:
            return
        if state.get("lessonState") in ("failed", "dead", "changed"):
            break
        page.wait_for_timeout(100)
    shoot(page, "not-ready")
    words = page.locator("body").inner_text()[:2000]
    pytest.fail(f"the lesson was not ready after {timeout:.0f} s: {state}\n{words}")


def shoot(page: Page, name: str) -> None:
    """Take a screenshot into the folder named by SCREENSHOT_DIR; without one, none."""
    folder = os.environ.get("SCREENSHOT_DIR")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png")
