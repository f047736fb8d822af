"""The page's scripts: what is served was made from the sources beside it, fetches nothing, and finds its words."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from simulator.panels.exercise.page_model import fixed_words
from simulator.panels.page import assets
from simulator.panels.page.part import LessonPart

SOURCES = assets.SCREEN / "src"
#: What the bundles depend on besides the sources; ``tools/build.js`` has the same list.
ALSO = ("package-lock.json", "tools/build.js")
BUNDLES = ("exercise.js", "lesson.js", "exercise.css", "lesson.css")
WORD = re.compile(r'"((?:acts|ask|bar|call|coach|debrief|finish|header|link|notes|sound|yard)\.[a-z_]+)"')
PARTLY = re.compile(r'["`]([a-z]+\.[a-z_]*)(?:" \+|\$\{)')


def sources() -> list[Path]:
    return sorted(path for path in SOURCES.rglob("*") if path.is_file())


def words_of(key: str) -> Any:
    node: Any = fixed_words()["panel"]
    for part in key.split("."):
        node = node.get(part) if isinstance(node, dict) else None
    return node


def test_what_is_served_was_made_from_the_sources_beside_it() -> None:
    found = hashlib.sha256()
    for name in sorted([*(path.relative_to(assets.SCREEN).as_posix() for path in sources()), *ALSO]):
        found.update(name.encode() + b"\0" + (assets.SCREEN / name).read_bytes() + b"\0")
    made = json.loads((assets.SCREEN / "built" / "made_from.json").read_text(encoding="utf-8"))
    assert made["sha256"] == found.hexdigest(), "stale: npm run build in simulator/panels/screen"


def test_made_again_it_is_the_same_byte_for_byte() -> None:
    node = shutil.which("node")
    if node is None or not (assets.SCREEN / "node_modules").is_dir():
        pytest.skip("no Node here, or npm ci has not been run in simulator/panels/screen")
    done = subprocess.run(
        [node, "tools/build.js", "--check"], cwd=assets.SCREEN, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("name", BUNDLES)
def test_a_bundle_is_whole_and_fetches_nothing(name: str) -> None:
    text = assets.built(name)
    if name.endswith(".js"):
        assert text.count("export{") == 1
        assert text.rstrip().endswith("as default};")
        assert not re.search(r"\bimport\s*[({\"'*]|\bimport\s+\w+\s+from\b", text)
    addresses = set(re.findall(r"https?://[^\s\"'`]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of a format, not a place
    assert not re.search(
        r"\b(fetch\(|XMLHttpRequest|WebSocket|importScripts)|@import|url\(\s*['\"]?http", text
    )


def test_every_word_of_the_page_is_in_the_catalogue() -> None:
    script = "".join(path.read_text(encoding="utf-8") for path in (SOURCES / "exercise").glob("*.js"))
    partly = set(PARTLY.findall(script))
    used = set(WORD.findall(script)) - partly
    assert len(used) > 60
    assert sorted(key for key in used if not isinstance(words_of(key), str)) == []
    assert len(partly) > 2
    for start in partly:
        group, stem = start.split(".")
        assert [name for name in words_of(group) if name.startswith(stem)], start


def test_the_sources_stay_small() -> None:
    for path in sources():
        if path.suffix == ".js":
            assert len(path.read_text(encoding="utf-8").splitlines()) <= 470, path.name


def test_the_script_of_lessons_comes_to_a_page_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(LessonPart, "_bearers", {})
    whole, short = assets.lesson_scripts()

    def part(name: str) -> Any:
        return LessonPart(name, list, lambda *_: "")

    one, two, three = part("one"), part("two"), part("three")
    assert (one._esm, bool(one._css)) == (whole, True)
    assert [(other._esm, other._css) for other in (two, three)] == [(short, "")] * 2
    one.close()
    assert part("four")._esm == whole, "the one that brought it is gone"


def test_a_part_gives_the_script_where_it_is_asked_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    part = LessonPart("one", list, lambda *_: "")
    sent: list[dict[str, Any]] = []
    monkeypatch.setattr(type(part), "send", lambda self, message: sent.append(message))
    part._receive(part, {"kind": "script"}, [])
    assert [message["kind"] for message in sent] == ["script"]
    assert sent[0]["script"] == assets.lesson_scripts()[0]
    assert sent[0]["style"] == assets.built("lesson.css")


def test_scripts_that_are_shared_go_by_a_name_of_their_content() -> None:
    whole, short = assets.lesson_scripts()
    names = [re.findall(r"lesson [0-9a-f]{16}", text) for text in (whole, short)]
    assert len(names[0]) == 1
    assert names[0] == names[1]
