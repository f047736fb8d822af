"""Which tests are likeliest to catch a mistake in a file: those whose imports lead to it in the fewest steps."""

from __future__ import annotations

import ast
import re
from collections import deque
from functools import cache
from pathlib import Path

NEVER = 99


@cache
def imports_of(root: Path, file: Path) -> frozenset[str]:
    """Modules of the project that a Python file names, late imports and dotted words in its strings too."""
    source = file.read_text(encoding="utf-8")
    found: set[str] = set(re.findall(r"\b(?:simulator|tests)(?:\.\w+)+", source))
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return frozenset(found)


@cache
def file_of(root: Path, module: str) -> Path | None:
    """The file of a module of the project."""
    base = root.joinpath(*module.split("."))
    for path in (base.with_suffix(".py"), base / "__init__.py"):
        if path.is_file():
            return path
    return None


@cache
def steps(root: Path, test: Path) -> dict[Path, int]:
    """How many imports away each file of the project is from a test file."""
    away = {test: 0}
    waiting = deque([test])
    conftest = test.parent / "conftest.py"
    if conftest.is_file():
        away[conftest] = 1
        waiting.append(conftest)
    while waiting:
        file = waiting.popleft()
        for module in imports_of(root, file):
            found = file_of(root, module)
            if found is not None and found not in away:
                away[found] = away[file] + 1
                waiting.append(found)
    return away


def test_files(root: Path, folders: list[str]) -> list[Path]:
    """All test files under some folders."""
    out: list[Path] = []
    for folder in folders:
        place = root / folder
        out += [place] if place.is_file() else sorted(place.rglob("test_*.py"))
    return out


def in_order(root: Path, path: str, folders: list[str]) -> list[tuple[int, str]]:
    """Test files with their distance to a file, the nearest first; browser tests last, unless the file is a script.

    Of equal distance those come first that share most words with the file's path.
    """
    target, script = root / path, not path.endswith(".py")
    words = set(re.findall(r"[a-z]+", path.lower())) - {"simulator", "panels", "py", "js", "screen", "src"}
    rows = []
    for test in test_files(root, folders):
        name = test.relative_to(root).as_posix()
        browser = "/browser/" in name
        away = steps(root, test).get(target, NEVER)
        if script:
            away = 1 if browser else 5
        elif browser:
            away = max(away, 8)
        alike = len(words & set(re.findall(r"[a-z]+", name.lower())))
        if away < NEVER or browser:
            rows.append((away, -alike, test.stat().st_size if browser else 0, name))
    return [(away, name) for away, _, _, name in sorted(rows)]
