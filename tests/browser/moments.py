"""Twenty fixed moments of lessons 00, 03 and 10 as a new user meets them: pictures to judge, and the key to them.

Whoever judges sees the pictures alone and says of each what to do next; ``moments.yaml`` says what would be right.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import yaml
from playwright.sync_api import Browser
from playwright.sync_api import Error as PageError

from tests.browser.conftest import Server, at_rest, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import set_theme, step

DATA = Path(__file__).with_name("moments.yaml")
PATIENCE = 20_000  # [ms] for a step; what takes longer is waited for by name
SLOW_MACHINE = 300.0  # [s] for a lesson to be ready


def entries() -> list[dict[str, Any]]:
    """The way of the new user, in order; an entry with a ``next`` is a moment."""
    found = yaml.safe_load(DATA.read_text(encoding="utf-8"))
    assert isinstance(found, list)
    return found


def write_key(path: Path) -> None:
    """For whoever compares the answers: what the right next step of each picture is."""
    said = [each["next"] for each in entries() if "next" in each]
    lines = [f"{number:02d}. {sentence}\n" for number, sentence in enumerate(said, start=1)]
    path.write_text("".join(lines), encoding="utf-8")


def picture(browser: Browser, server: Server, folder: Path, window: dict[str, int], theme: str) -> list[str]:
    """Take the pictures, each of what the window shows, by clicks in the real pages; what went wrong comes back."""
    told: list[str] = []
    context = browser.new_context(viewport=window)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    number = 0
    try:
        for entry in entries():
            if "lesson" in entry:
                page.goto("about:blank")
                for session in server.ask("sessions"):  # the record stays
                    server.ask(f"sessions/{session['id']}", "DELETE")
                page.goto(server.page_address(f"{entry['lesson']}.ipynb"))
                wait_ready(page, timeout=SLOW_MACHINE)
                set_theme(page, theme)
                page.wait_for_timeout(600)
            for what in entry.get("do", ()):
                try:
                    step(page, what)
                except PageError as error:
                    raise PageError(f"{what}: {str(error).splitlines()[0]}") from error
            if "next" not in entry:
                continue
            number += 1
            page.mouse.move(1, 1)  # what lies under the pointer looks pressed
            at_rest(page)
            page.screenshot(path=folder / f"{number:02d}.png")
            for what, found in find_faults(page).items():
                told += [f"{number:02d}: {what}: {sentence}" for sentence in found]
    except (pytest.fail.Exception, PageError) as error:
        told.append(f"after {number:02d}: not reached: {str(error)[:300]}")
        page.screenshot(path=folder / f"{number + 1:02d}-not-reached.png")
    finally:
        context.close()
        with suppress(OSError):
            server.end_sessions()
    write_key(folder / "key.md")
    return told
