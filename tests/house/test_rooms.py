"""Rooms of the pages: few, in floors, each lesson by itself; names that say what is in a file."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.house.test_layers import PROJECT, imported, module_of

PANELS = PROJECT / "simulator" / "panels"
#: From the ground up: a room imports from itself and from those before it.
ROOMS = ("page", "learner", "exercise", "teaching", "papers", "lessons", "trainer")
WITHOUT_PYTHON = ("screen",)
#: A list of plain data that imports nothing of the pages: every room may look something up in it.
OPEN_TO_ALL = "simulator.panels.lessons.registry"
MAX_ROOMS = 10
EMPTY_NAMES = ("_more", "_parts", "_base", "_misc", "_utils", "_helpers")
PARTS_OF_A_PUMP = {"open_parts.py", "checks_of_opened_parts.py", "shown_parts.py"}


def wrong_way(source: str, module: str) -> list[str]:
    """Imports of a file of the pages that go up a floor, or from one lesson into another, as sentences."""
    parts = module.split(".")
    room, lesson = parts[2], parts[3] if parts[2] == "lessons" else ""
    if room not in ROOMS:
        return [f"{module}: {room!r} is no room of the pages"]
    found = []
    for line, name in imported(source, module):
        where = name.split(".")
        if where[1:2] != ["panels"] or len(where) < 3 or name.startswith(OPEN_TO_ALL):
            continue
        if where[2] not in ROOMS:
            found.append(f"{module}, line {line}: {name} is in no room")
        elif ROOMS.index(where[2]) > ROOMS.index(room):
            found.append(f"{module}, line {line}: {room} must not import {name}")
        elif lesson and where[2] == "lessons" and len(where) > 3 and where[3] not in (lesson, "registry"):
            found.append(f"{module}, line {line}: a lesson must not import another one ({name})")
    return found


def files() -> list[Path]:
    return [path for path in sorted(PANELS.rglob("*.py")) if path.parent != PANELS]


def test_every_import_goes_down_a_floor() -> None:
    assert len(files()) > 50
    told = [s for path in files() for s in wrong_way(path.read_text(encoding="utf-8"), module_of(path))]
    assert told == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("simulator.panels.page.part", "from simulator.panels.learner.session import LearnerSession"),
        ("simulator.panels.teaching.plan", "def late():\n    from simulator.panels.lessons.air_gets_in import page"),
        ("simulator.panels.lessons.air_gets_in.page", "from simulator.panels.lessons.start_here.page import X"),
        ("simulator.panels.cellar.thing", "import os"),
        ("simulator.panels.page.part", "from simulator.panels import cellar"),
    ],
)  # fmt: skip
def test_a_bad_sample_is_caught(module: str, source: str) -> None:
    assert wrong_way(source, module)


def test_the_registry_imports_no_page() -> None:
    source = (PANELS / "lessons" / "registry.py").read_text(encoding="utf-8")
    assert not [name for _, name in imported(source, OPEN_TO_ALL) if "panels" in name]


def test_the_rooms_are_few_and_hold_all() -> None:
    rooms = {path.name for path in PANELS.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert rooms <= {*ROOMS, *WITHOUT_PYTHON}
    assert len(rooms) <= MAX_ROOMS
    assert [path.name for path in PANELS.glob("*.py")] == ["__init__.py"]


def test_no_name_says_nothing() -> None:
    named = [path for path in (PROJECT / "simulator").rglob("*") if path.suffix in (".py", ".js", ".css")]
    empty = {path.name for path in named if path.stem.endswith(EMPTY_NAMES)}
    assert empty - PARTS_OF_A_PUMP == set()


def test_no_lesson_page_does_everything_itself() -> None:
    """A page puts parts together; what a part does stands in a class of its own."""
    most = 0
    for path in (PANELS / "lessons").glob("*/page.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef):
                most = max(most, sum(isinstance(each, ast.FunctionDef) for each in node.body))
    assert 5 < most <= 30
