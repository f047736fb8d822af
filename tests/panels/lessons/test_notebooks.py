"""Lessons are thin notebooks without outputs, one call a cell, and each call is a part of its lesson."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Any

import ipywidgets
import nbformat
import pytest

from simulator.page_extension.manifest import build
from simulator.panels.lessons.registry import DESKS, LESSONS, lesson

FOLDER = Path(__file__).parents[3] / "lessons"
MAX_LINES = 12
PAGES = LESSONS | DESKS


def code_of(number: str) -> list[str]:
    notebook = nbformat.read(FOLDER / PAGES[number].notebook, as_version=4)
    return [cell.source for cell in notebook.cells if cell.cell_type == "code"]


@pytest.mark.parametrize("number", PAGES)
def test_thin_and_clean(number: str) -> None:
    notebook = nbformat.read(FOLDER / PAGES[number].notebook, as_version=4)
    assert notebook.cells[0].cell_type == "markdown"
    assert "Run All Cells" in notebook.cells[0].source
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(cell.outputs == [] and cell.execution_count is None for cell in code)
    lines = [line for cell in code for line in cell.source.splitlines() if line.strip()]
    assert 0 < len(lines) <= MAX_LINES
    # besides the hint, all words come from the catalogue
    assert [cell.cell_type for cell in notebook.cells[1:]] == ["code"] * (len(notebook.cells) - 1)


@pytest.mark.parametrize("number", PAGES)
def test_every_cell_calls_a_part_that_there_is(number: str) -> None:
    page = lesson(number)
    called = [
        node.func.attr
        for source in code_of(number)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    ]
    assert called
    assert all(callable(getattr(page, name)) for name in called)
    assert f'lesson("{number}")' in code_of(number)[0]


@pytest.mark.parametrize("number", PAGES)
def test_all_cells_run_one_after_another(number: str) -> None:
    """In one process and without a page; each cell but the first gives something to put on it."""
    names: dict[str, Any] = {}
    first, *others = code_of(number)
    exec(compile(first, PAGES[number].notebook, "exec"), names)
    assert others
    for source in others:
        assert isinstance(eval(compile(source, PAGES[number].notebook, "eval"), names), ipywidgets.DOMWidget)


def test_every_lesson_notebook_opens_as_a_page() -> None:
    listed = {each["name"] for each in build(FOLDER)["lessons"]}
    assert {entry.notebook for entry in PAGES.values()} <= listed
    assert {path.name for path in FOLDER.glob("*.ipynb")} == {entry.notebook for entry in PAGES.values()}
