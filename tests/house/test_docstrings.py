"""Every module says what it is for; public functions and classes say what they do, and in which units.

Public is what the physics modules define and what the other layers export from their ``__init__``.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "simulator"
CALCULATING = ("physics", "rig", "run", "instruments")
UNIT = re.compile(
    r"\[(?:-|[%°]|(?:unit|same|any)\b[^\]]*|"
    r"(?:1|(?:k|M|m|µ|h)?(?:Pa|bar|m|g|s|W|J|N|K|L|min|rad|mol|Hz)\d?|°C|psi|inHg|ft|in)"
    r"(?:[ /·*^()\d-]+(?:(?:k|m)?(?:Pa|m|g|s|W|J|N|K|L|min|rad|mol)\d?)?)*"
    r")(?:[ ,;][^\]]*)?\]"
)


def takes_numbers(function: ast.FunctionDef) -> bool:
    """Whether a parameter is a float."""
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    notes = [ast.unparse(a.annotation) for a in arguments if a.annotation is not None]
    return any(re.search(r"\bfloat\b", note) for note in notes)


def shortcomings(source: str, public: set[str] | None, *, units: bool = True) -> list[str]:
    """What a module leaves unsaid; ``public`` None means that all it defines is public."""
    tree = ast.parse(source)
    found = [] if ast.get_docstring(tree) else ["the module says nothing of itself"]
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        if public is not None and node.name not in public:
            continue
        text, where = ast.get_docstring(node) or "", f"{node.name} (line {node.lineno})"
        if not text:
            found.append(f"{where} has no docstring")
        elif units and isinstance(node, ast.FunctionDef) and takes_numbers(node) and not UNIT.search(text):
            found.append(f"{where} takes numbers and names no unit such as [Pa] or [-]")
    return found


def exported(layer: Path) -> set[str]:
    """The names a layer's ``__init__`` takes from its own modules."""
    door = layer / "__init__.py"
    if not door.is_file():
        return set()
    tree = ast.parse(door.read_text(encoding="utf-8"))
    froms = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {alias.name for node in froms for alias in node.names}


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if not path.name.startswith("_"))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_public_things_are_described(path: Path) -> None:
    layer = path.relative_to(PACKAGE).parts[0]
    public = None if layer == "physics" or path.parent == PACKAGE else exported(PACKAGE / layer)
    assert shortcomings(path.read_text(encoding="utf-8"), public, units=layer in CALCULATING) == []


@pytest.mark.parametrize(
    "sample",
    [
        "def f(p: float) -> float:\n    return p",
        '"""Module."""\ndef f(p: float) -> float:\n    """The pressure."""\n    return p',
        '"""Module."""\ndef f(p: float) -> float:\n    """The list [p]."""\n    return p',
        '"""Module."""\nclass Thing:\n    x = 1',
    ],
)
def test_a_bad_sample_is_caught(sample: str) -> None:
    assert shortcomings(sample, None)


UNITS = "Pa|-|m3/s|kg/s|J/(kg K)|m/s2|Pa abs|K|1/s|Pa s|kg/m3|s|unit of x"


@pytest.mark.parametrize("unit", UNITS.split("|"))
def test_units_are_recognised(unit: str) -> None:
    assert UNIT.search(f"a thing [{unit}]")
