"""The twenty moments of the new user's trial are all reached by clicks, with nothing cut, covered, sideways or empty."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser import moments
from tests.browser.conftest import Server

SIZES = [(1280, 800), (820, 1180)]


def test_each_moment_says_what_is_right() -> None:
    said = [entry["next"] for entry in moments.entries() if "next" in entry]
    assert len(said) == 20
    lessons = [entry["lesson"][:2] for entry in moments.entries() if "lesson" in entry]
    assert set(lessons) == {"00", "01", "03", "10"}


def test_the_trial_asks_forty_questions_over_all_that_a_new_user_meets(tmp_path: Path) -> None:
    way = moments.entries(moments.TRIAL)
    lessons = [entry["lesson"] for entry in way if "lesson" in entry]
    assert {lesson[:2] for lesson in lessons} == {"00", "01", "04", "09", "10", "fi"}
    moments.write_questions(tmp_path, way)
    moments.write_key(tmp_path / "key.md", way)
    assert len(list(tmp_path.glob("??.txt"))) == 40
    assert all(path.read_text(encoding="utf-8").endswith("?\n") for path in tmp_path.glob("??.txt"))
    assert (tmp_path / "key.md").read_text(encoding="utf-8").count("\n") == 40


@pytest.mark.full
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_all_moments_are_reached(
    browser: Browser, server: Server, tmp_path: Path, size: tuple[int, int]
) -> None:
    window = dict(zip(("width", "height"), size, strict=True))
    assert moments.picture(browser, server, tmp_path, window, "light") == []
    assert len(list(tmp_path.glob("??.png"))) == 20
