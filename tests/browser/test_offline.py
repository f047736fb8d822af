"""Nothing is fetched from the web."""

from __future__ import annotations

import pytest

from tests.browser.conftest import OpenLesson, Watch, thin


@pytest.mark.parametrize("mode", thin("doc", "lab"))
def test_a_lesson_asks_only_its_own_server(lesson_page: OpenLesson, watch: Watch, mode: str) -> None:
    page = lesson_page(mode=mode)
    page.wait_for_timeout(3000)  # news and update checks would come after the start
    assert watch.outside == []


def test_a_request_to_the_outside_is_seen_and_stopped(lesson_page: OpenLesson, watch: Watch) -> None:
    page = lesson_page(wait=False)
    outcome = page.evaluate("fetch('http://outside.invalid/x').then(() => 'came', () => 'stopped')")
    assert outcome == "stopped"
    assert watch.outside == ["http://outside.invalid/x"]
    watch.outside.clear()
