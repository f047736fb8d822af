"""The public door: quick to open, and every name behind it exists."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import simulator

PROJECT = Path(__file__).parents[2]
HEAVY = ("numba", "scipy", "numpy", "plotly", "ipywidgets", "anywidget", "sqlalchemy", "pydantic", "IPython")


@pytest.mark.parametrize("name", simulator.__all__)
def test_every_name_exists(name: str) -> None:
    assert getattr(simulator, name) is not None
    assert name in dir(simulator)


def test_editors_are_told_the_same_names() -> None:
    tree = ast.parse((PROJECT / "simulator" / "__init__.py").read_text(encoding="utf-8"))
    told = {
        alias.name: node.module
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("simulator.")
        for alias in node.names
    }
    assert told == simulator._DOOR


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no_such_name"):
        _ = simulator.no_such_name


def test_importing_the_package_loads_nothing_heavy() -> None:
    ask = f"import sys, simulator; sys.stdout.write(','.join(m for m in {HEAVY!r} if m in sys.modules))"
    answer = subprocess.run(
        [sys.executable, "-c", ask], cwd=PROJECT, capture_output=True, text=True, check=True
    )
    assert answer.stdout == ""


def test_a_lesson_loads_no_solver_and_no_statistics() -> None:
    """They are some 45 MB for each of a class of thirty; who asks for them gets them. Nor does importing one read a
    file of records: a broken one breaks no page that does without it."""
    ask = (
        "import sys; from simulator.panels.lessons.registry import lesson; page = lesson('03');"
        "from simulator.rig.record_files import record_file; sys.stdout.write('.' * record_file.cache_info().currsize);"
        "page.aim();"
        "sys.stdout.write(','.join(m for m in ('integrate', 'optimize', 'stats') if 'scipy.' + m in sys.modules))"
    )
    answer = subprocess.run(
        [sys.executable, "-c", ask], cwd=PROJECT, capture_output=True, text=True, check=True
    )
    assert answer.stdout == ""
