"""Data go one way: a file imports only from its own folder and from the layers above it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
BASE = ("errors", "units", "compiled", "texts")
ORDER = (
    "physics",
    "rig",
    "run",
    "charts",
    "validation",
    "instruments",
    "measured",
    "signing",
    "scenario",
    "attempt",
    "diagnosis",
    "marking",
    "records",
    "classroom",
    "panels",
    "sealed",
)
BESIDE = ("page_extension", "fork_server")  # stand apart: they see the base, and no layer sees them
STUDIES = "studies"  # sees every layer but the page, and no layer sees it
FOLDERS = {*BASE, *ORDER, *BESIDE, STUDIES}


def imported(source: str, module: str) -> Iterator[tuple[int, str]]:
    """Every module of the package a file names in an import, with its line.

    ``from simulator.rig import faults`` may name a module or a thing in one: both readings are given.
    """
    package = module.split(".")
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            near = ".".join(package[: len(package) - node.level]) if node.level else ""
            start = ".".join(part for part in (near, node.module or "") if part)
            names = [start, *(f"{start}.{alias.name}" for alias in node.names)]
        else:
            continue
        yield from ((node.lineno, name) for name in names if name.split(".")[0] == "simulator")


def allowed(folder: str) -> set[str]:
    """The folders (or files) at the package's top that a file of a folder may import."""
    if folder in BASE:
        return set(BASE)
    if folder in BESIDE:
        return {*BASE, folder}
    if folder == STUDIES:
        return {*BASE, *ORDER, STUDIES} - {"panels", "sealed"}
    return {*BASE, *ORDER[: ORDER.index(folder) + 1]}


def wrong_arrows(source: str, module: str) -> list[str]:
    """The imports of one file that go against the flow, as sentences."""
    folder = module.split(".")[1]
    if folder not in FOLDERS:
        return [f"{module}: the folder {folder!r} stands in no layer"]
    found = []
    for line, name in imported(source, module):
        parts = name.split(".")
        target = parts[1] if len(parts) > 1 else ""
        known = target in FOLDERS
        if known and target not in allowed(folder):
            found.append(f"{module}, line {line}: {folder} must not import {name}")
        if not known and target not in ("", "__version__"):
            found.append(f"{module}, line {line}: import {name} from where it is defined, not from the door")
        fault = parts[1:3] == ["rig", "faults"] or (
            parts[1:2] == ["rig"] and parts[-1] in ("FAULTS", "Fault")
        )
        if folder == "instruments" and fault:
            found.append(f"{module}, line {line}: an instrument must not know the faults ({name})")
    return found


def package_files() -> list[Path]:
    return [
        path for path in sorted((PROJECT / "simulator").rglob("*.py")) if path.parent != PROJECT / "simulator"
    ]


def module_of(path: Path) -> str:
    return ".".join(path.relative_to(PROJECT).with_suffix("").parts)


def test_every_import_goes_with_the_flow() -> None:
    top = [path for path in (PROJECT / "simulator").glob("*.py") if path.name != "__init__.py"]
    files = [*top, *package_files()]
    assert len(files) > 10
    assert [
        s for path in files for s in wrong_arrows(path.read_text(encoding="utf-8"), module_of(path))
    ] == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("simulator.physics.gas", "from simulator.rig.rig import Rig"),
        ("simulator.physics.gas", "import simulator.run.result"),
        ("simulator.rig.rig", "def late():\n    from ..run import simulate"),
        ("simulator.run.result", "if TYPE_CHECKING:\n    from simulator.attempt import Attempt"),
        ("simulator.instruments.checks", "from simulator.rig.faults import FAULTS"),
        ("simulator.instruments.checks", "from simulator.rig import faults"),
        ("simulator.instruments.checks", "from simulator.rig import FAULTS"),
        ("simulator.instruments.checks", "from ..rig import faults as f"),
        ("simulator.attempt.attempt", "from simulator.records import Store"),
        ("simulator.marking.marks", "from simulator import panels"),
        ("simulator.diagnosis.belief", "from .. import marking"),
        ("simulator.rig.rig", "from simulator import load_rig"),
        ("simulator.errors", "from simulator.physics import gas"),
        ("simulator.page_extension.manifest", "from simulator.panels import exercise"),
        ("simulator.panels.exercise.panel", "from simulator.page_extension import NAME"),
        ("simulator.tools.thing", "import os"),
        ("simulator.marking.bank", "def late():\n    from simulator.studies.trainees import Expert"),
        ("simulator.panels.exercise.panel", "from simulator import studies"),
        ("simulator.studies.skill", "from simulator.panels.exercise import panel"),
        ("simulator.panels.exercise.elsewhere", "from simulator.sealed.played_calls import PlayedCalls"),
        ("simulator.classroom.service", "from simulator.sealed import desk"),
        ("simulator.charts.runs", "from simulator.validation.rows import Row"),
    ],
)
def test_a_bad_sample_is_caught(module: str, source: str) -> None:
    assert wrong_arrows(source, module)


@pytest.mark.parametrize(
    ("module", "source"),
    [
        (
            "simulator.rig.rig",
            "import numpy\nfrom simulator.errors import InputError\nfrom .parts import Hose",
        ),
        (
            "simulator.instruments.gauges",
            "from simulator.rig import Rig\nfrom simulator.run.result import Run",
        ),
        (
            "simulator.panels.exercise.panel",
            "from simulator.records import Store\nfrom simulator.rig.faults import FAULTS",
        ),
        ("simulator.attempt.log", "from simulator import __version__"),
        ("simulator.validation.report", "from simulator.charts import runs"),
        ("simulator.studies.skill", "from simulator.marking.bank import bank"),
    ],
)
def test_a_good_sample_passes(module: str, source: str) -> None:
    assert wrong_arrows(source, module) == []
