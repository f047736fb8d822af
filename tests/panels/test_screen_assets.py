"""The page's script and style as they are put together."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import pytest

from simulator.panels.exercise import assets
from simulator.panels.exercise.page_model import fixed_words

TOP_LEVEL = re.compile(r"^(?:async )?(?:function|const|let|class) ([A-Za-z_$][\w$]*)", re.MULTILINE)
WORD = re.compile(r'"((?:acts|ask|bar|call|coach|debrief|finish|header|link|notes|sound|yard)\.[a-z_]+)"')
PARTLY = re.compile(r'"([a-z]+\.[a-z_]*)" \+')


def words_of(key: str) -> Any:
    node: Any = fixed_words()["panel"]
    for part in key.split("."):
        node = node.get(part) if isinstance(node, dict) else None
    return node


def test_one_scope_holds_every_name_once() -> None:
    names = Counter(TOP_LEVEL.findall(assets.exercise_script()))
    assert [name for name, count in names.items() if count > 1] == []
    assert names["render"] == 1


def test_the_script_is_one_module_that_fetches_nothing() -> None:
    script = assets.exercise_script()
    assert script.count("export default") == 1
    assert not re.search(r"^\s*import\b", script, re.MULTILINE)
    addresses = set(re.findall(r"https?://[^\s\"'`]+", script + assets.exercise_style()))
    assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of a format, not a place
    assert not re.search(
        r"\b(fetch|XMLHttpRequest|WebSocket|importScripts)\b|@import|url\(\s*['\"]?http", script
    )


def test_every_word_of_the_page_is_in_the_catalogue() -> None:
    script = "".join(
        path.read_text(encoding="utf-8") for path in assets.screen_files(".js") if "exercise" in path.name
    )
    partly = set(PARTLY.findall(script))
    used = set(WORD.findall(script)) - partly
    assert len(used) > 60
    assert sorted(key for key in used if not isinstance(words_of(key), str)) == []
    for start in partly:
        group, stem = start.split(".")
        assert [name for name in words_of(group) if name.startswith(stem)], start


@pytest.mark.parametrize("suffix", [".js", ".css"])
def test_the_screen_files_stay_small(suffix: str) -> None:
    mine = [path for path in assets.screen_files(suffix) if path.name.startswith("exercise")]
    assert mine
    for path in mine:
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 450, path.name
