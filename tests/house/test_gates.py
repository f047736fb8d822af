"""The rules that tools look after: style and types of the Python, types, style and unit tests of the page's scripts."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import NO_NODE, REQUIRE_NODE

PROJECT = Path(__file__).parents[2]
SCREEN = PROJECT / "simulator" / "panels" / "screen"
PAGE_EXTENSION = PROJECT / "simulator" / "page_extension"  # its scripts are served as they are written
LEAST_NODE = 20  # as package.json asks


def must_pass(command: list[str], folder: Path = PROJECT) -> None:
    """Run a gate; what it says is the failure."""
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False, timeout=900,
        stdin=subprocess.DEVNULL, env=os.environ | {"NO_COLOR": "1"},
    )  # fmt: skip
    if done.returncode:
        pytest.fail(f"{' '.join(command)}\n{done.stdout}\n{done.stderr}"[:20_000], pytrace=False)


@pytest.mark.parametrize(
    "gate",
    [("ruff", "check", "--quiet", "."), ("ruff", "format", "--check", "--quiet", "."), ("mypy",)],
    ids=["ruff", "ruff format", "mypy"],
)
def test_the_python_keeps_to_its_rules(gate: tuple[str, ...]) -> None:
    must_pass([sys.executable, "-m", *gate])


@pytest.fixture(scope="module")
def node() -> str:
    """Node, with the tools that the scripts' lock names; without it skipped loudly, or failed where it is required."""
    found = shutil.which("node")
    if found:
        said = subprocess.run([found, "--version"], capture_output=True, text=True, check=False).stdout
        number = re.match(r"v(\d+)", said)
        tools = (SCREEN / "node_modules" / ".package-lock.json").is_file()
        if number and int(number[1]) >= LEAST_NODE and tools:
            return found
    if os.environ.get(REQUIRE_NODE):
        pytest.fail(NO_NODE, pytrace=False)
    pytest.skip(NO_NODE)


TOOLS = SCREEN / "node_modules"


@pytest.mark.parametrize("folder", [SCREEN, PAGE_EXTENSION], ids=["screen", "page extension"])
@pytest.mark.parametrize(
    "gate",
    [
        # what it found last time is kept beside the tools: it looks again at what changed
        ("typescript/bin/tsc", "--project", "tsconfig.json", "--incremental", "--tsBuildInfoFile"),
        ("@biomejs/biome/bin/biome", "check", "--error-on-warnings"),
    ],
    ids=["tsc", "biome"],
)
def test_the_scripts_keep_to_their_rules(node: str, gate: tuple[str, ...], folder: Path) -> None:
    kept = [str(TOOLS / ".cache" / f"types-{folder.name}")] if gate[-1] == "--tsBuildInfoFile" else []
    must_pass([node, str(TOOLS / gate[0]), *gate[1:], *kept], folder)


@pytest.mark.parametrize("folder", [SCREEN, PAGE_EXTENSION], ids=["screen", "page extension"])
def test_what_the_scripts_compute(node: str, folder: Path) -> None:
    files = sorted(path.relative_to(folder).as_posix() for path in (folder / "tests").glob("*.test.js"))
    assert files
    must_pass([node, "--test", "--test-reporter=spec", *files], folder)


def test_the_scripts_lock_names_no_index_and_hashes_everything() -> None:
    text = (SCREEN / "package-lock.json").read_text(encoding="utf-8")
    assert "resolved" not in text
    versions = re.findall(r'"node_modules/[^"]+": \{\s*"version": "[^"]+",\s*"(\w+)"', text)
    assert versions
    assert set(versions) == {"integrity"}
