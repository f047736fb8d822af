"""Traces that must not stand in what is published: one machine's paths and left-over notes."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
TEXT = {
    ".py",
    ".md",
    ".toml",
    ".yaml",
    ".yml",
    ".json",
    ".js",
    ".css",
    ".txt",
    ".ipynb",
    ".csv",
    ".svg",
    ".html",
    "",
}
FORBIDDEN = {
    "a path of one machine": r"/(?:work|root)/\w|/opt/\w+/|/tmp/\w",
    "a left-over note": r"\b(?:" + "|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X", "HA" + "CK")) + r")\b",
    "an address of a package host": r"(?:--|\b)(?:extra-)?index-url\b|--find-links",
    "a merge mark": r"^(?:<{7}|>{7}|={7})(?: |$)",
    "a key of someone's": r"-----BEGIN [A-Z ]*PRIVATE KEY-----",
}


def tracked() -> list[Path]:
    """The files that git tracks; without git, all that would be published."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"],
            cwd=PROJECT,
            capture_output=True,
            check=True,
            text=True,
            encoding="utf-8",
        ).stdout.split("\0")
        found = [PROJECT / name for name in listed if name]
    except (OSError, subprocess.CalledProcessError):
        folders = ("simulator", "tests", "lessons", "binder")
        found = [path for folder in folders for path in (PROJECT / folder).rglob("*")]
    return [path for path in found if path.is_file() and "__pycache__" not in path.parts]


def traces(text: str) -> list[str]:
    """What of the forbidden stands in a text, with its line."""
    return [
        f"line {number}: {what}: {line.strip()[:80]}"
        for number, line in enumerate(text.splitlines(), start=1)
        for what, pattern in FORBIDDEN.items()
        if re.search(pattern, line)
    ]


def test_no_tracked_file_holds_a_trace() -> None:
    found = []
    for path in tracked():
        if path.suffix in TEXT and path != Path(__file__):
            name = path.relative_to(PROJECT).as_posix()
            found += [f"{name}, {trace}" for trace in traces(path.read_text(encoding="utf-8"))]
    assert found == []


@pytest.mark.parametrize(
    "sample",
    [
        "see /wo" + "rk/main/notes",
        "open('/t" + "mp/x')",
        "# TO" + "DO later",
        "--extra-index-" + "url https://example.org",
        "<<<<<<< HEAD",
    ],
)
def test_a_bad_sample_is_caught(sample: str) -> None:
    assert traces(sample)
