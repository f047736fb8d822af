#!/usr/bin/env python3
"""Make the locks anew after a change in pyproject.toml: python3 binder/make_locks.py [--upgrade] [--check].

A lock names one version of each package and the SHA-256 of every file of it, wheels for Linux, macOS and Windows
and the source, so that nothing else can be installed in its place. What is pinned stays pinned, unless it no longer
fits or an upgrade is asked for. A lock never names the index it was made from.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit("The locks need Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import shutil
import subprocess
import tempfile
from pathlib import Path

from environment import LOCKS, PROJECT, StartError, clean_variables, ensure, in_use, say, stop_with_a_sentence

EXTRAS = {"run": ("build",), "class": ("build", "classroom"), "test": ("build", "dev")}
BOUND_BY = {"class": "run", "test": "class"}  # a lock keeps to the versions that another one names
MADE_BY = "python3 binder/make_locks.py"


def command(part: str, python: Path, lock: Path, more: list[str]) -> list[str]:
    """What makes one lock; all keep to the versions that the lessons' lock names."""
    bound = ["--constraints", str(LOCKS[BOUND_BY[part]])] if part in BOUND_BY else []
    extras = [word for extra in EXTRAS[part] for word in ("--extra", extra)]
    return [
        str(python), "-m", "uv", "pip", "compile", "--universal", "--python-version", "3.11",
        "--generate-hashes", "--no-annotate", "--no-header",
        "--quiet", "--color", "never", *extras, *bound, *more,
        "--output-file", str(lock), str(PROJECT / "pyproject.toml"),
    ]  # fmt: skip


def make(part: str, python: Path, more: list[str], folder: Path) -> str:
    """The text of a lock, begun from the one that stands.

    Raises
    ------
    StartError : the packages do not go together, or the index could not be asked; with what was said about it.
    """
    draft = folder / LOCKS[part].name
    shutil.copyfile(LOCKS[part], draft)
    made = subprocess.run(
        command(part, python, draft, more), cwd=PROJECT, capture_output=True, text=True, encoding="utf-8",
        check=False, env=clean_variables(),
    )  # fmt: skip
    if made.returncode:
        raise StartError(f"{LOCKS[part].name} could not be made; nothing was changed.\n{made.stderr.strip()}")
    return f"# Made by {MADE_BY}: change pyproject.toml, not this file.\n" + draft.read_text(encoding="utf-8")


def main() -> int:
    parser = argparse.ArgumentParser(description="Make the locks in binder anew from pyproject.toml.")
    parser.add_argument("--upgrade", action="store_true", help="the newest fitting version of everything")
    parser.add_argument(
        "--upgrade-package", action="append", default=[], metavar="NAME", help="of this one only"
    )
    parser.add_argument("--check", action="store_true", help="only say whether the locks fit pyproject.toml")
    options = parser.parse_args()
    more = ["--upgrade"] if options.upgrade else []
    more += [word for name in options.upgrade_package for word in ("--upgrade-package", name)]
    environment = ensure("test")
    stale = []
    with in_use(environment), tempfile.TemporaryDirectory() as folder:
        for part, lock in LOCKS.items():
            text = make(part, environment.python, more, Path(folder))
            if text == lock.read_text(encoding="utf-8"):
                continue
            stale.append(lock.name)
            if not options.check:
                lock.write_text(text, encoding="utf-8", newline="\n")
    if not stale:
        say("The locks are up to date.")
    elif options.check:
        say(f"Out of date: {', '.join(stale)}. Run {MADE_BY}")
    else:
        say(f"Made anew: {', '.join(stale)}. The next start installs what changed.")
    return 1 if stale and options.check else 0


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
