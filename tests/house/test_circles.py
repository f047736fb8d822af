"""No circle of imports: not inside a layer, not between layers, wherever in a file the import stands.

Imports inside functions count, and those for types alone count too: a file that cannot say what it is given without
naming a file that needs it is half of the other one.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter

import pytest

from tests.house.test_layers import PROJECT, module_of
from tests.house.test_rooms import OPEN_TO_ALL


def modules() -> dict[str, str]:
    """Every module of the package and its source; a package goes by its folder's name."""
    found = {}
    for path in sorted((PROJECT / "simulator").rglob("*.py")):
        found[module_of(path)] = path.read_text(encoding="utf-8")
    return found


def arrows(sources: Mapping[str, str]) -> dict[str, set[str]]:
    """The modules that each one imports.

    ``from a import b`` means the module ``a.b`` where there is one, else the file of the folder ``a``. The package's own
    door is left out: it fetches nothing before it is asked, and whoever imports it wants the version alone (see
    ``test_layers.py``).
    """
    names = {module.removesuffix(".__init__"): module for module in sources}
    out: dict[str, set[str]] = {}
    for module, source in sources.items():
        wanted = set()
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Import):
                wanted |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                near = ".".join(module.split(".")[: -node.level]) if node.level else ""
                start = ".".join(part for part in (near, node.module or "") if part)
                both = [(f"{start}.{alias.name}", start) for alias in node.names]
                wanted |= {full if full in names else start for full, start in both}
        out[module] = {names[name] for name in wanted if name in names and name != "simulator"} - {module}
    return out


def circle(graph: Mapping[str, Iterable[str]]) -> list[str]:
    """One circle, from a module round to itself; [] where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(reversed(error.args[1]))
    return []


@cache
def graph() -> dict[str, set[str]]:
    return arrows(modules())


def test_no_circle_of_imports_anywhere() -> None:
    assert len(graph()) > 200
    assert sum(map(len, graph().values())) > 1000
    assert " -> ".join(circle(graph())) == ""


@pytest.mark.parametrize(("within", "least"), [("simulator", 14), ("simulator.panels", 5)])
def test_layers_and_rooms_make_no_circle_either(within: str, least: int) -> None:
    """Folders as a whole."""
    depth = within.count(".") + 2
    folders: dict[str, set[str]] = {}
    for module, wanted in graph().items():
        if module.startswith(f"{within}."):
            own = ".".join(module.split(".")[:depth])
            into = {
                ".".join(name.split(".")[:depth])
                for name in wanted - {OPEN_TO_ALL}
                if name.startswith(within)
            }
            folders.setdefault(own, set()).update(into - {own})
    assert len(folders) > least
    assert " -> ".join(circle(folders)) == ""


def test_each_kind_of_circle_is_caught() -> None:
    late = {
        "simulator.a.one": "def f():\n    from simulator.a.two import g",
        "simulator.a.two": "import simulator.a.one",
    }
    types = {
        "simulator.a.one": "from simulator.a import two",
        "simulator.a.two": "if TYPE_CHECKING:\n    from simulator.a.one import One",
    }
    door = {
        "simulator.a.__init__": "from simulator.a.one import One",
        "simulator.a.one": "from simulator.a import Two",
    }
    for sources in (late, types, door):
        assert len(circle(arrows(sources))) > 2
    straight = {
        "simulator.a.__init__": "from simulator.a.one import One",
        "simulator.a.one": "from simulator.a import two",
        "simulator.a.two": "import os",
    }
    assert circle(arrows(straight)) == []
