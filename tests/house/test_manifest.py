"""The list of notebooks that open as pages is the list of lessons, as they stand."""

from __future__ import annotations

import json
from pathlib import Path

import nbformat
import pytest

from simulator.errors import InputError
from simulator.page_extension import NAME, labextensions_path
from simulator.page_extension.manifest import build, fingerprint, lessons_folder, manifest_path

PROJECT = Path(__file__).parents[2]
LESSONS = sorted(path for path in lessons_folder().rglob("*.ipynb") if ".ipynb_checkpoints" not in path.parts)


def test_the_manifest_is_up_to_date() -> None:
    kept = json.loads(manifest_path().read_text(encoding="utf-8"))
    assert kept == build(lessons_folder()), "run: python -m simulator.page_extension.manifest"
    assert kept["lessons"]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.name)
def test_a_lesson_is_in_order(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    assert notebook.metadata.get("lesson_page") is True
    assert fingerprint(notebook)
    first = notebook.cells[0]
    assert first.cell_type == "markdown"
    assert "Run All Cells" in first.source  # what to do where the page extension is missing
    assert "run-all-hint" in first.metadata.get("tags", [])
    assert "widgets" not in notebook.metadata
    for cell in notebook.cells:
        assert cell.metadata.get("deletable") is False
        assert cell.metadata.get("editable") is False
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


def test_the_extension_carries_the_package_version() -> None:
    import simulator

    described = json.loads((labextensions_path() / NAME / "package.json").read_text(encoding="utf-8"))
    assert described["name"] == NAME
    assert described["version"] == simulator.__version__
    assert (labextensions_path() / NAME / described["jupyterlab"]["_build"]["load"]).is_file()


CELL = {"cell_type": "code", "source": "a = 1\nb = 2", "outputs": [], "metadata": {}}
LESSON = {"metadata": {"lesson_page": True}, "cells": [CELL]}


@pytest.mark.parametrize(
    "same",
    [
        {"source": ["a = 1\n", "b = 2"]},
        {"source": "a = 1\r\nb = 2"},
        {"execution_count": 3, "id": "x"},
        {"metadata": {"trusted": False}},  # the notebook program's own note on a cell of code
        {"attachments": {}},
    ],
)
def test_what_does_not_count(same: dict[str, object]) -> None:
    assert fingerprint(LESSON | {"cells": [CELL | same]}) == fingerprint(LESSON)


@pytest.mark.parametrize(
    "cells",
    [
        [CELL, CELL],
        [],
        [CELL | {"cell_type": "raw"}],
        [CELL | {"source": "a = 1\nb = 3"}],
        [CELL | {"source": "a = 1"}, CELL | {"source": "b = 2"}],
        [CELL | {"metadata": {"tags": ["run-all-hint"]}}],
        [CELL | {"metadata": {"editable": True}}],
    ],
)
def test_what_counts(cells: list[dict[str, object]]) -> None:
    assert fingerprint(LESSON | {"cells": cells}) != fingerprint(LESSON)


@pytest.mark.parametrize(
    "cell",
    [
        CELL | {"outputs": [{"output_type": "stream", "name": "stdout", "text": "x"}]},
        {
            "cell_type": "markdown",
            "source": "",
            "metadata": {},
            "attachments": {"a.svg": {"image/svg+xml": "<svg/>"}},
        },
        CELL | {"attachments": {"a": {}}},
    ],
)
def test_what_acts_or_shows_without_being_run_is_in_no_lesson(cell: dict[str, object]) -> None:
    assert fingerprint(LESSON | {"cells": [CELL, cell]}) is None


@pytest.mark.parametrize("extra", [{"widgets": {}}, {"title": "<b>"}, {"celltoolbar": "Slideshow"}])
def test_a_lesson_has_no_metadata_of_other_kinds(extra: dict[str, object]) -> None:
    assert fingerprint({"metadata": {"lesson_page": True} | extra, "cells": [CELL]}) is None
    kernel = {"kernelspec": {"name": "python3"}, "language_info": {"name": "python", "version": "3.12"}}
    assert fingerprint({"metadata": {"lesson_page": True} | kernel, "cells": [CELL]}) == fingerprint(LESSON)


def test_the_trust_of_other_cells_counts() -> None:
    cell = {"cell_type": "markdown", "source": "", "metadata": {}}
    trusting = cell | {"metadata": {"trusted": True}}
    assert fingerprint(LESSON | {"cells": [cell]}) != fingerprint(LESSON | {"cells": [trusting]})


@pytest.mark.parametrize("flag", [False, None, 1, "true", {}])
def test_only_a_true_flag_marks_a_lesson(flag: object) -> None:
    assert fingerprint({"metadata": {"lesson_page": flag}, "cells": [CELL]}) is None
    assert fingerprint({"metadata": {}, "cells": [CELL]}) is None


def test_a_broken_notebook_is_named(tmp_path: Path) -> None:
    (tmp_path / "torn.ipynb").write_text("{", encoding="utf-8")
    with pytest.raises(InputError, match=r"torn\.ipynb"):
        build(tmp_path)
