"""``python -m simulator.classroom backup|restore``: a class copied, or put back; sentences, and 0 where all is well.

Throughout: ``arguments`` are those of the command line; without them those it was called with.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from simulator.classroom.keeping import backup_class, restore_class
from simulator.classroom.places import class_folder
from simulator.classroom.record_desk import place_of
from simulator.errors import SimulatorError
from simulator.rig.command import Words, as_typed
from simulator.texts import text

PROXY = "proxy.pid"  # there while a class is open


def main(arguments: list[str] | None = None) -> int:
    """Do what a command asks for; 0 where it is done, 2 where it could not be."""
    asked = _parser().parse_args(arguments)
    folder = (asked.folder or class_folder()).expanduser().absolute()
    try:
        if asked.act == "backup":
            kept = backup_class(folder, place_of(folder), asked.to and asked.to.expanduser().absolute())
        elif is_open(folder):
            sys.stdout.write(f"{text('classroom.keeping.open')}\n")
            return 2
        else:
            kept = restore_class(asked.copy.expanduser().absolute(), folder, place_of(folder))
    except (SimulatorError, OSError) as error:
        sys.stdout.write(f"{error}\n")
        return 2
    done = "backed_up" if asked.act == "backup" else "restored"
    said = text(f"classroom.keeping.{done}", attempts=kept.attempts, rows=kept.rows, place=kept.place)
    sys.stdout.write(f"{said}\n")
    return 0


def is_open(folder: Path) -> bool:
    """Whether a class is open on a folder: the proxy of its hub runs.

    Parameters
    ----------
    folder : of the class.

    Examples
    --------
    >>> is_open(Path("no such class"))
    False
    """
    try:
        os.kill(int((folder / PROXY).read_text(encoding="ascii")), 0)
    except (OSError, ValueError, OverflowError):
        return False
    return True


def _parser() -> argparse.ArgumentParser:
    def said(key: str) -> str:
        return text(f"classroom.keeping.{key}")

    parser = Words(prog=as_typed("simulator.classroom"), description=said("about"))
    commands = parser.add_subparsers(required=True, dest="act", metavar="backup | restore")
    for name in ("backup", "restore"):
        typed = as_typed(f"simulator.classroom {name}")
        command = commands.add_parser(name, prog=typed, help=said(name), description=said(name))
        command.add_argument("--folder", type=Path, metavar="FOLDER", help=said("folder"))
        if name == "backup":
            command.add_argument("to", type=Path, nargs="?", metavar="TO", help=said("to"))
        else:
            command.add_argument("copy", type=Path, metavar="COPY", help=said("copy"))
    return parser


if __name__ == "__main__":
    sys.exit(main())
