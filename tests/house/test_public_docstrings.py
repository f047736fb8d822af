"""Every public thing says what it does with what: each argument is told of, and each error it raises itself.

Public is every function, class and method whose name, and whose class's name, begins without an underscore. An
argument is told of where its name stands in the docstring of the function, of its class or, for one that means the
same throughout a file, of the module. Units are looked after by ``test_docstrings.py`` where quantities are calculated.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "simulator"
Function = ast.FunctionDef | ast.AsyncFunctionDef


def named(word: str, told: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(word)}(?!\w)", told) is not None


def public(body: list[ast.stmt], above: str, within: str = "") -> Iterator[tuple[str, ast.AST, str]]:
    """Every public thing with its full name and what is told above it."""
    for node in body:
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
            yield within + node.name, node, above
            if isinstance(node, ast.ClassDef):
                own = ast.get_docstring(node) or ""
                yield from public(node.body, f"{above}\n{own}", f"{within}{node.name}.")


def raised(function: Function) -> set[str]:
    """The errors that a function itself raises by name."""
    found = set()
    for node in ast.walk(function):
        if (
            isinstance(node, ast.Raise)
            and isinstance(node.exc, ast.Call)
            and isinstance(node.exc.func, ast.Name)
        ):
            found.add(node.exc.func.id)
    return {name for name in found if name[0].isupper()}


def unsaid(source: str) -> list[str]:
    """What the public things of a module leave unsaid."""
    tree = ast.parse(source)
    found = []
    for name, node, above in public(tree.body, ast.get_docstring(tree) or ""):
        own = ast.get_docstring(node) or ""
        where = f"{name} (line {node.lineno})"
        if not own:
            found.append(f"{where} has no docstring")
        if not isinstance(node, Function):
            continue
        given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        silent = [
            one.arg
            for one in given
            if one.arg not in ("self", "cls") and not named(one.arg, f"{above}\n{own}")
        ]
        if silent:
            found.append(f"{where} does not tell of {', '.join(silent)}")
        silent = sorted(error for error in raised(node) if not named(error, f"{above}\n{own}"))
        if silent:
            found.append(f"{where} does not tell when it raises {', '.join(silent)}")
    return found


def layer_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0]


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "node_modules" not in path.parts)
LAYERS = sorted({layer_of(path) for path in MODULES})


@pytest.mark.parametrize("layer", LAYERS)
def test_public_things_tell_of_their_arguments_and_errors(layer: str) -> None:
    found = [
        f"{path.relative_to(PACKAGE).as_posix()}: {each}"
        for path in MODULES
        if layer_of(path) == layer
        for each in unsaid(path.read_text(encoding="utf-8"))
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "sample",
    [
        "def f(): pass",
        'class A:\n    """It."""\n    def g(self): pass',
        'def f(a, b):\n    """With a."""',
        'def f():\n    """It."""\n    raise InputError("x")',
    ],
)
def test_what_is_unsaid_is_found(sample: str) -> None:
    assert len(unsaid(sample)) == 1


@pytest.mark.parametrize(
    "sample",
    [
        'def f(a, *, b):\n    """With a and ``b``."""',
        '"""Throughout: ``a`` this."""\ndef f(a):\n    """It."""',
        'class A:\n    """Of a."""\n    def g(self, a):\n        """It."""',
        'def f():\n    """It.\n\n    Raises\n    ------\n    InputError : always.\n    """\n    raise InputError("x")',
        "def _f(a): pass",
    ],
)
def test_what_is_said_is_seen(sample: str) -> None:
    assert unsaid(sample) == []
