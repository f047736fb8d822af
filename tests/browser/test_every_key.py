"""Every control of every lesson by the keyboard alone, as the page opens and where it has come to its end."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import OpenLesson, shoot, wait_ready
from tests.browser.keys import key_faults, tab_faults
from tests.browser.layout import find_nameless, find_small_controls
from tests.browser.test_layout import EVERY
from tests.browser.walking import BUSY, walk

pytestmark = pytest.mark.full


SETTLING = 700  # [ms] after which nothing is drawn anew any more


def faults(page: Page) -> list[str]:
    page.wait_for_timeout(SETTLING)
    page.wait_for_function(f"() => !document.querySelector('{BUSY}')", timeout=120_000)  # marks take a while
    return tab_faults(page) + find_nameless(page) + find_small_controls(page)


@pytest.mark.parametrize("lesson", EVERY, ids=lambda name: name.removesuffix(".ipynb"))
def test_every_control_by_key(lesson_page: OpenLesson, lesson: str) -> None:
    page = lesson_page(lesson, wait=False)
    wait_ready(page, timeout=240)
    page.wait_for_selector(".lesson-root, .ex-root")
    found = [f"opened: {each}" for each in faults(page)]
    for step in walk(page, 90):
        if step % 12 == 0 or page.locator(".ex-root").count():
            found += [f"step {step}: {each}" for each in faults(page)]
    found += [f"at the end: {each}" for each in faults(page) + key_faults(page)]
    shoot(page, f"keys-{lesson.removesuffix('.ipynb')}")
    assert not found, "\n".join(found)
