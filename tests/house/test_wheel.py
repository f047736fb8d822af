"""What is installed: the package, its data files, and the page extension where JupyterLab looks for it."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
NOT_SERVED = {"src", "tests", "tools", "node_modules"}  # what the page's bundles are made of and with


def test_the_wheel_holds_package_and_extension(tmp_path: Path) -> None:
    pytest.importorskip("hatchling", reason="the build tool is not in this environment")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=PROJECT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("callout_simulator-*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    shared = {name.split(".data/data/", 1)[1] for name in names if ".data/data/" in name}
    extension = PROJECT / "simulator" / "page_extension" / "labextension"
    sources = {p.relative_to(extension).as_posix() for p in extension.rglob("*") if p.is_file()}
    assert shared == {f"share/jupyter/labextensions/{name}" for name in sources}
    package = PROJECT / "simulator"
    kept = {
        p.relative_to(PROJECT).as_posix()
        for p in package.rglob("*")
        if p.suffix in {".py", ".yaml", ".js", ".css"} and not NOT_SERVED & set(p.parts)
    }
    assert kept <= names
    assert "simulator/py.typed" in names
    assert not any("/screen/src/" in name or "node_modules" in name for name in names)
    assert not any(name.startswith(("tests/", "lessons/", "binder/")) for name in names)
