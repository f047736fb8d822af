"""Every control under the mouse and with the focus, in both themes: nothing becomes unreadable."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import OpenLesson, shoot, wait_ready
from tests.browser.pointing import pointing_faults
from tests.browser.test_layout import EVERY
from tests.browser.test_lessons import HOME, THEMES, set_theme
from tests.browser.walking import walk

SETTLING = 700  # [ms] after which nothing is drawn anew any more
#: One link of each look that our pages give a link, laid into a page beside what it shows.
LINKS = """() => {
  const root = document.querySelector('.lesson-root');
  for (const look of ['lesson-primary', 'lesson-secondary', 'lesson-link', 'lesson-contents-name']) {
    const link = document.createElement('a');
    link.className = look;
    link.href = '#';
    link.textContent = 'Open the next page';
    root.prepend(link);
  }
}"""


def both_themes(page: Page, seen: set[str] | None = None) -> list[str]:
    found = []
    for theme in THEMES:
        set_theme(page, theme)
        page.wait_for_timeout(SETTLING)
        found += [f"{theme}: {each}" for each in pointing_faults(page, seen=seen)]
    return found


@pytest.mark.full
def test_no_control_becomes_unreadable_when_it_is_pointed_at(lesson_page: OpenLesson) -> None:
    page = lesson_page(HOME)
    page.evaluate(LINKS)
    found = both_themes(page)
    shoot(page, "pointing-home")
    assert not found, "\n".join(found)


@pytest.mark.full
@pytest.mark.parametrize("lesson", EVERY, ids=lambda name: name.removesuffix(".ipynb"))
def test_every_control_pointed_at(lesson_page: OpenLesson, lesson: str) -> None:
    page = lesson_page(lesson, wait=False)
    wait_ready(page, timeout=240)
    page.wait_for_selector(".lesson-root, .ex-root")
    seen: set[str] = (
        set()
    )  # inks are part of a look: what is judged in one theme is not left out in the other
    found = [f"opened, {each}" for each in both_themes(page, seen)]
    for step in walk(page, 90):
        if step % 12 == 0:
            found += [f"step {step}, {each}" for each in both_themes(page, seen)]
    found += [f"at the end, {each}" for each in both_themes(page, seen)]
    assert not found, "\n".join(found)
