"""``python -m tests.mutants --seed 7 --count 60``: draws mistakes, runs the tests on a copy, lists what caught each.

The nearest tests run first and stop at the first failure; what they let through meets the rest of the fast tier, and
what that lets through meets the tests that are marked full. Without ``--paths`` all layers are drawn from in turn.
A spoiled script is bundled anew, as a developer would, and meets the scripts' own gates first; both need Node.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.mutants.choose import in_order
from tests.mutants.draw import Mutant, drawn

PROJECT = Path(__file__).parents[2]
FIRST, NEAR = 4, 2  # files that run first; imports away, at most, of those that run next
FAST = "not full and not benchmark"
SCREEN = Path("simulator/panels/screen")
#: What looks at scripts without a browser.
GATES_OF_SCRIPTS = [
    f"tests/house/test_gates.py::{name}"
    for name in ("test_the_scripts_keep_to_their_rules", "test_what_the_scripts_compute")
]
CAUGHT, LET_THROUGH, OPEN = "caught", "let through", "not decided"


@dataclass(frozen=True)
class Verdict:
    """How one round of tests ended, what it says, and how long it took [s]."""

    outcome: str
    says: str
    seconds: float


def copy_of(project: Path, to: Path) -> None:
    """All files of the project that are tracked, as they are now."""
    listed = subprocess.run(["git", "ls-files"], cwd=project, capture_output=True, text=True, check=True)
    for name in listed.stdout.splitlines():
        if (project / name).is_file():
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(project / name, to / name)
    tools = SCREEN / "node_modules"
    if (project / tools).is_dir():
        (to / tools).symlink_to((project / tools).resolve())


def bundled(folder: Path, path: str) -> None:
    """Make what is served anew, where it is made from this file; a script that no longer bundles is left to its gates."""
    node = shutil.which("node")
    if node and path.startswith(f"{SCREEN.as_posix()}/src/"):
        command = [node, "tools/build.js"]
        subprocess.run(command, cwd=folder / SCREEN, capture_output=True, timeout=120, check=False)


def tried(folder: Path, tests: list[str], tier: str, limit: float, workers: int) -> Verdict:
    """Run tests until one fails."""
    begun = time.monotonic()
    spread = ["-n", str(workers), "--dist", "loadscope", "--no-loadscope-reorder"] if workers > 1 else []
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "--no-header",
        "--tb=line",
        "-p",
        "no:cacheprovider",
    ]
    try:
        done = subprocess.run(
            [*command, *spread, "--benchmark-disable", "-m", tier, *tests],
            cwd=folder, capture_output=True, text=True, timeout=limit, check=False,
            env=os.environ | {"PYTHONPATH": str(folder)},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return Verdict(OPEN, f"over {limit:.0f} s", limit)
    seconds = time.monotonic() - begun
    if done.returncode in (0, 5):
        return Verdict(LET_THROUGH, "", seconds)
    first = re.search(r"^(?:FAILED|ERROR) (\S+)", done.stdout, re.MULTILINE)
    return Verdict(CAUGHT, first.group(1) if first else (done.stdout + done.stderr)[-120:], seconds)


def judged(
    folder: Path,
    mutant: Mutant,
    folders: list[str],
    limit: float,
    browser: bool,
    workers: int,
    examples: bool = True,
    near_only: bool = False,
) -> tuple[Verdict, bool]:
    """What became of a mistake, and whether only the full tier caught it."""
    file = folder / mutant.path
    source = file.read_text(encoding="utf-8")
    rows = [row for row in in_order(folder, mutant.path, folders) if browser or "/browser/" not in row[1]]
    first = [name for _, name in rows[:FIRST]]
    near = [name for away, name in rows[FIRST:] if away <= NEAR]
    rest = [name for away, name in rows[FIRST:] if away > NEAR]
    script = not mutant.path.endswith(".py")
    if examples and not script:
        first.insert(0, mutant.path)  # its own worked examples
    file.write_text(mutant.applied(source), encoding="utf-8")
    if script:
        bundled(folder, mutant.path)
    try:
        rounds = [(GATES_OF_SCRIPTS, FAST)] if script else []
        rounds += [(first, FAST), (near, FAST)]
        rounds += [(first + near, "full")] if near_only else [(rest, FAST), (first + near + rest, "full")]
        for tests, tier in rounds:
            many = workers if len(tests) > FIRST + 1 else 1
            verdict = tried(folder, tests, tier, limit, many) if tests else Verdict(LET_THROUGH, "", 0.0)
            if verdict.outcome != LET_THROUGH:
                return verdict, tier == "full" and verdict.outcome == CAUGHT
        return verdict, False
    finally:
        file.write_text(source, encoding="utf-8")
        if script:
            bundled(folder, mutant.path)


def main() -> int:
    """Draw, run, list."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--paths", nargs="+", default=["simulator"], help="folders or files to spoil")
    parser.add_argument("--tests", nargs="+", default=["tests"], help="folders or files of tests to run")
    parser.add_argument("--limit", type=float, default=900.0, help="seconds a round of tests may take")
    parser.add_argument(
        "--no-browser", action="store_true", help="leave out its tests, and mistakes in scripts"
    )
    parser.add_argument("--workers", type=int, default=1, help="processes for the later, longer rounds")
    parser.add_argument(
        "--near", action="store_true", help="run the nearest tests only: quick, and a lower bound"
    )
    parser.add_argument(
        "--no-examples", action="store_true", help="leave out the worked examples of the spoiled file"
    )
    parser.add_argument("--list", action="store_true", help="only say what would be spoiled")
    parser.add_argument("--only", type=int, nargs="+", help="numbers of mistakes to try again")
    chosen = parser.parse_args()
    mutants = drawn(PROJECT, chosen.paths, chosen.seed, chosen.count)
    counts = {CAUGHT: 0, LET_THROUGH: 0, OPEN: 0}
    full_only = 0
    with tempfile.TemporaryDirectory(prefix="mutants-") as name:
        folder = Path(name)
        if not chosen.list:
            copy_of(PROJECT, folder)
            os.environ.setdefault("SIMULATOR_COMPILED_DIR", str(folder / "compiled"))
        for number, mutant in enumerate(mutants, 1):
            script = not mutant.path.endswith(".py")
            if (chosen.only and number not in chosen.only) or (script and chosen.no_browser):
                continue
            if chosen.list:
                sys.stdout.write(f"{number}. {mutant}\n")
                continue
            verdict, by_full = judged(
                folder,
                mutant,
                chosen.tests,
                chosen.limit,
                not chosen.no_browser,
                chosen.workers,
                not chosen.no_examples,
                chosen.near,
            )
            counts[verdict.outcome] += 1
            full_only += by_full
            tier = " (full tier only)" if by_full else ""
            sys.stdout.write(
                f"{number}. {mutant}\n   {verdict.outcome}{tier} {verdict.says} [{verdict.seconds:.0f} s]\n"
            )
            sys.stdout.flush()
    if not chosen.list:
        tally = ", ".join(f"{count} {outcome}" for outcome, count in counts.items())
        sys.stdout.write(f"{tally}; caught by the full tier only: {full_only}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
