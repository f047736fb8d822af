"""Every lesson gone through to its end, in a made-up language 40 % longer, and looked over at each step.

What is looked for: things sideways, cut, over one another, empty, too small to touch or nameless, in three windows; and
serious or critical findings of axe-core, in both themes.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import yaml
from playwright.sync_api import Error as PageError
from playwright.sync_api import Page

from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, running_server, shoot, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import in_a_row, step
from tests.browser.test_layout import EVERY
from tests.browser.test_lessons import THEMES, set_theme
from tests.browser.walking import SHAPE, walk
from tests.house.language import write_pseudo_language

pytestmark = pytest.mark.full

WINDOWS = [(820, 1180), (1920, 1080), (1280, 800)]  # the last one is walked in
KNOWN = yaml.safe_load(Path(__file__).with_name("states.yaml").read_text(encoding="utf-8"))["lessons"]
#: Steps that are told by what a page says in English; from the first of them on a lesson is left to the walk.
ENGLISH = {"taught", "wait_text", "play_runs", "answer", "wrong", "hand_in"}
SETTLING = 350  # [ms] in which drawings take the size of a new window


@pytest.fixture(scope="module")
def server(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server whose kernels speak the made-up language."""
    language = write_pseudo_language(tmp_path_factory.mktemp("language") / "long")
    with running_server(tmp_path_factory.mktemp("every"), {"SIMULATOR_LANGUAGE": str(language)}) as found:
        yield found


@dataclass
class Inspector:
    """Looks a page over, and keeps what it finds with the state it was found in; nothing is looked at twice."""

    page: Page
    stem: str
    found: list[str] = field(default_factory=list)
    shapes: set[str] = field(default_factory=set)
    judged: set[str] = field(default_factory=set)

    def look(self, state: str) -> None:
        """Look the page over where it shows something of a new shape."""
        blocks = set(self.page.evaluate(SHAPE))
        if blocks <= self.shapes:
            return
        self.shapes |= blocks
        self.layouts(state)
        self.judge(state)

    def layouts(self, state: str) -> None:
        """In every window."""
        for width, height in WINDOWS:
            self.page.set_viewport_size({"width": width, "height": height})
            self.page.wait_for_timeout(SETTLING)
            faults = find_faults(self.page)
            self.found += [
                f"{state} {width}x{height} {what}: {each}"
                for what, all_of in faults.items()
                for each in all_of
            ]
            if faults:
                shoot(self.page, f"{self.stem}-{state}-{width}")

    def judge(self, state: str) -> None:
        """By axe-core in the theme that is on, then in the other one."""
        self.found += [f"{state} one theme: {each}" for each in grave_findings(self.page)]
        light = self.page.locator('body[data-jp-theme-light="true"]').count()
        set_theme(self.page, THEMES[1] if light else THEMES[0])
        self.found += [f"{state} {THEMES[1 if light else 0]}: {each}" for each in grave_findings(self.page)]


def known(stem: str) -> Iterator[dict[str, Any]]:
    """The states of a lesson, up to the first that is reached by English words."""
    for state in in_a_row(KNOWN.get(stem, [{"name": "new"}])):
        if any(ENGLISH & set(what) for what in state.get("do", ())):
            return
        yield state


def go_through(page: Page, inspector: Inspector, states: Iterator[dict[str, Any]]) -> None:
    """The states that are known, then on to the end."""
    for state in states:
        for what in state.get("do", ()):
            step(page, what)
        inspector.look(state["name"])
    for number in walk(page):
        inspector.look(f"step-{number}")


@pytest.mark.parametrize("lesson", EVERY, ids=lambda name: name.removesuffix(".ipynb"))
def test_every_state_is_whole_and_open_to_all(lesson_page: OpenLesson, lesson: str) -> None:
    page = lesson_page(lesson, size=WINDOWS[-1], wait=False)
    wait_ready(page, timeout=240)
    page.wait_for_selector(".lesson-root, .ex-root")
    page.wait_for_timeout(SETTLING)
    stem = Path(lesson).stem
    inspector = Inspector(page, stem)
    try:
        go_through(page, inspector, known(stem))
    except PageError as error:
        shoot(page, f"{stem}-stuck")
        inspector.found.append("stuck: " + " ".join(str(error).split())[:400])
    sys.stdout.write(f"{stem}: {len(inspector.shapes)} blocks looked at\n")
    assert not inspector.found, "\n".join(inspector.found)
