"""What is tested is what is wired: a function of the product that nobody in the product names is no way in for tests."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "simulator"
#: Called by their name's beginning, by a library, or from a notebook's cell.
BY_NAME = re.compile(
    r"(^|\.)(on_\w+|upgrade|_jupyter_server_extension_points|_load_jupyter_server_extension)$"
    r"|^ForkProvisioner|^ForkedProcess\."
    # pages of the hub and of its service, who lets people in, what is done to a page: called by tornado and JupyterHub
    r"|^(ClassAuthenticator|OwnAccountSpawner|DoorHandler|RoomHandler|WallHandler|Question|Asked|Sheets|OneSheet|Now|WaitingPage)\."
)
NOTEBOOKS = {"FieldPage.points_to", "StartHere.take_along"}
#: Named nowhere in the product, each for a reason; the list may only become shorter.
KEPT = {
    "speed_of_sound": "a quantity of the gas that tables print, checked against them",
    "Run.air_passed": "for whoever looks at a run by hand",
    "Comparison.same_course": "the measure of tests that hold two integrators side by side",
}


def named(sources: Iterable[ast.Module]) -> set[str]:
    """Every name that code uses, as a name, as what stands behind a dot, or as a word in quotes."""
    found = set()
    for source in sources:
        for node in ast.walk(source):
            if isinstance(node, ast.Name):
                found.add(node.id)
            elif isinstance(node, ast.Attribute):
                found.add(node.attr)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.isidentifier():
                found.add(node.value)
    return found


def defined(source: ast.Module) -> list[str]:
    """Every function, method and class of a file by its full name; those that a decorator hands on are left out."""
    found = []

    def walk(body: list[ast.stmt], within: str) -> None:
        for node in body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            handed_on = any(
                "." in ast.unparse(each) or "(" in ast.unparse(each) for each in node.decorator_list
            )
            dataclass = isinstance(node, ast.ClassDef)
            if not node.name.startswith("__") and (dataclass or not handed_on):
                found.append(within + node.name)
            if isinstance(node, ast.ClassDef):
                walk(node.body, f"{within}{node.name}.")

    walk(source.body, "")
    return found


def test_nothing_is_there_for_tests_alone() -> None:
    sources = {path: ast.parse(path.read_text(encoding="utf-8")) for path in PACKAGE.rglob("*.py")}
    commands = [
        ast.parse(path.read_text(encoding="utf-8")) for path in (PACKAGE.parent / "binder").rglob("*.py")
    ]
    records = [path.read_text(encoding="utf-8") for path in (PACKAGE / "rig" / "data").glob("*.yaml")]
    told = re.findall(
        r"(?:judge|figures|does|finds|by): (\w+)", "\n".join(records)
    )  # functions that a record names
    used = named([*sources.values(), *commands]) | set(told)
    unused = {
        full: path.relative_to(PACKAGE).as_posix()
        for path, source in sources.items()
        for full in defined(source)
        if full.split(".")[-1] not in used and not BY_NAME.search(full) and full not in NOTEBOOKS
    }
    told = [
        f"{where}: nobody in the product calls {full}" for full, where in unused.items() if full not in KEPT
    ]
    assert told == []
    assert set(KEPT) <= set(unused), "the product calls it now: take it off the list"


def test_an_unused_function_is_found() -> None:
    assert defined(ast.parse("def lonely(): ...\nclass A:\n    def alone(self): ...")) == [
        "lonely",
        "A",
        "A.alone",
    ]
    assert named([ast.parse("a.b()"), ast.parse("c = 'd'")]) == {"a", "b", "c", "d"}
