"""Lays a learner's folder out, and says with which variables and options their server is started.

The hub does it itself where all pages run under its account. Where each learner has one of their own it runs this file
under that account: what it writes lies in a folder that is the learner's to change.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(PROJECT), str(PROJECT / "binder")]

from lesson_server import common_options, own_folders  # noqa: E402

from simulator.classroom import places  # noqa: E402

COMPILED = PROJECT / ".lessons-environment" / "compiled-for-learners"


def lay_out(own: Path, names: list[str], allowed: str) -> tuple[dict[str, str], list[str]]:
    """Variables and options of the server on a folder, which is laid out with notebooks of these names.

    ``allowed`` is the policy of its pages.
    """
    root = places.lay_out(own, PROJECT / "lessons", names)
    state = own / "state"
    return own_folders(state), common_options(state, root, allowed)


def take_compiled(cache: Path) -> None:
    """Begin with the machine code that was made for all, so that nobody waits for the compiler."""
    for made in sorted(COMPILED.glob("compiled-*")):
        if not (cache / made.name).exists():
            shutil.copytree(made, cache / made.name)


if __name__ == "__main__":
    os.umask(0o077)
    asked = json.loads(sys.stdin.read())
    take_compiled(Path(asked["cache"]))
    variables, options = lay_out(Path(asked["own"]), asked["names"], asked["allowed"])
    sys.stdout.write(json.dumps({"variables": variables, "options": options}))
