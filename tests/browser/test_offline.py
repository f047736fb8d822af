"""Nothing is fetched from the web."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.conftest import OpenLesson
from tests.browser.watched import Watch
from tests.browser.workbench import Workbench


def test_a_lesson_asks_only_its_own_server(home_as_opened: Callable[[], Workbench]) -> None:
    assert home_as_opened().opening.outside == []


@pytest.mark.full
def test_a_lesson_inside_jupyterlab_asks_only_its_own_server(lesson_page: OpenLesson, watch: Watch) -> None:
    page = lesson_page(mode="lab")
    page.wait_for_timeout(3000)  # news and update checks would come after the start
    assert watch.outside == []


def test_a_request_to_the_outside_is_held_back_by_the_page(lesson_in_place: OpenLesson, watch: Watch) -> None:
    page = lesson_in_place(wait=False)
    outcome = page.evaluate("fetch('http://outside.invalid/x').then(() => 'came', () => 'stopped')")
    assert outcome == "stopped"
    told = [line for line in watch.console if "outside.invalid" in line]
    assert any("Content Security Policy" in line for line in told), told
    assert watch.outside == []


@pytest.mark.full
def test_what_the_policy_does_not_rule_is_seen_too(lesson_page: OpenLesson, watch: Watch) -> None:
    page = lesson_page(wait=False)
    with page.expect_event("requestfailed", lambda request: "outside.invalid" in request.url):
        page.evaluate(
            "location.assign('http://outside.invalid/x')"
        )  # a policy does not rule where a page goes
    assert watch.outside == ["http://outside.invalid/x"]
    watch.outside.clear()
