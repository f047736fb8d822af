"""Fixed moments of the lessons as a new user meets them: pictures to judge, and the key to them.

Whoever judges sees the pictures alone. Of the twenty of ``moments.yaml`` they say what to do next; each of the forty of
``trial.yaml`` has a question of its own. Both files say what would be right.
"""

from __future__ import annotations

from collections.abc import Sequence
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
TRIAL = DATA.with_name("trial.yaml")
QUESTION = "What do you do next?"  # where a moment brings none of its own
PATIENCE = 60_000  # [ms] for a step: a round of drills is worked out in it, on a busy machine too
SLOW_MACHINE = 300.0  # [s] for a lesson to be ready


def entries(data: Path = DATA) -> list[dict[str, Any]]:
    """The way of the new user, in order; an entry with a ``next`` is a moment."""
    found = yaml.safe_load(data.read_text(encoding="utf-8"))
    assert isinstance(found, list)
    return found


def write_key(path: Path, way: list[dict[str, Any]]) -> None:
    """For whoever compares the answers: what the right one to each picture is."""
    said = [each["next"] for each in way if "next" in each]
    lines = [f"{number:02d}. {sentence}\n" for number, sentence in enumerate(said, start=1)]
    path.write_text("".join(lines), encoding="utf-8")


def write_questions(folder: Path, way: list[dict[str, Any]]) -> None:
    """For whoever looks: beside each picture the one question to answer from it alone."""
    moments = [each for each in way if "next" in each]
    for number, each in enumerate(moments, start=1):
        (folder / f"{number:02d}.txt").write_text(each.get("ask", QUESTION) + "\n", encoding="utf-8")


def picture(
    browser: Browser,
    server: Server,
    folder: Path,
    window: dict[str, int],
    theme: str,
    way: list[dict[str, Any]] | None = None,
    only: Sequence[str] = (),
) -> list[str]:
    """Take the pictures, each of what the window shows, by clicks in the real pages; what went wrong comes back.

    An entry of the way may change the ``size`` of the window and the ``theme``, until the next one that does; only it
    says whether ``faults`` are looked for (they are where it says nothing). ``only``: starts of the names of lessons that
    are walked; the pictures keep their numbers.
    """
    way = entries() if way is None else way
    told: list[str] = []
    context = browser.new_context(viewport=window)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    number, lesson = 0, ""
    try:
        for entry in way:
            lesson = entry.get("lesson", lesson)
            if only and not lesson.startswith(tuple(only)):
                number += "next" in entry
                continue
            if "size" in entry:
                page.set_viewport_size(dict(zip(("width", "height"), entry["size"], strict=True)))
                page.wait_for_timeout(600)
            if "theme" in entry:
                theme = entry["theme"]
                set_theme(page, theme)
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
            faults = find_faults(page) if entry.get("faults", True) else {}
            for what, found in faults.items():
                told += [f"{number:02d}: {what}: {sentence}" for sentence in found]
    except (pytest.fail.Exception, PageError) as error:
        told.append(f"after {number:02d}: not reached: {str(error)[:300]}")
        page.screenshot(path=folder / f"{number + 1:02d}-not-reached.png")
    finally:
        context.close()
        with suppress(OSError):
            server.end_sessions()
    write_key(folder / "key.md", way)
    return told
