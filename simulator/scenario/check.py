"""Looks files of a trainer over: ``python -m simulator.scenario.check FILE ...`` says of each whether it can be used.

A call-out, a rig, a site or a trainer's figures; which one it is stands in its first line, ``format``. With
``--settings`` what the environment names is looked over instead: the trainer's file and the language.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.rig import trainer
from simulator.rig.command import Words, as_typed, command
from simulator.rig.plain_yaml import read_file
from simulator.rig.presets import read_rig_file, read_site_file
from simulator.scenario.files import load_scenario
from simulator.scenario.model import FORMAT
from simulator.texts import catalogue, language, text

ABOUT = (
    "Says of each file whether it can be used, and if not, which line is wrong and what would be legal. With --settings: "
    "whether your file of figures and the language can be used."
)
READERS: dict[str, Callable[[Path], Any]] = {
    FORMAT: load_scenario,
    "pump-rig": read_rig_file,
    "pump-site": read_site_file,
    "trainer-figures": trainer.read_overrides,
}


def check_file(path: Path, readers: Mapping[str, Callable[[Path], Any]] = READERS) -> None:
    """Look the file at a path over.

    Parameters
    ----------
    path : of the file.
    readers : what reads a file of each format.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    document = read_file(path)
    kind = document.data.get("format") if isinstance(document.data, dict) else None
    if not isinstance(kind, str) or kind not in readers:
        raise InputError("this is no file of a trainer", document.where(()), f"format: {', '.join(readers)}")
    readers[kind](path)


def plain_name(path: Path) -> str:
    """The name of a file with what no screen can show written out.

    Parameters
    ----------
    path : of the file.

    Examples
    --------
    >>> plain_name(Path("mine.yaml"))
    'mine.yaml'
    """
    return path.name.encode("utf-8", "backslashreplace").decode("utf-8")


def wrong_settings() -> list[str]:
    """Sentences about what the environment names and cannot be used.

    Examples
    --------
    >>> wrong_settings()
    []
    """
    wrong: list[str] = []
    try:
        wrong += [f"SIMULATOR_LANGUAGE, {error}" for error in catalogue(language()).broken.values()]
    except InputError as error:
        wrong.append(f"SIMULATOR_LANGUAGE, {error}")
    if wrong:
        os.environ["SIMULATOR_LANGUAGE"] = "en"  # what follows needs words
    trouble = trainer.trouble()
    return [*wrong, *([str(trouble)] if trouble is not None else [])]


def figures_in_use() -> str:
    """Whether a trainer's file of figures is in use, and what it changes, in a sentence.

    Examples
    --------
    >>> figures_in_use().count(".") > 0
    True
    """
    file, own = trainer.figures_file(), trainer.overrides()
    if not file.exists():
        return text("figures.use.no_file", file=file)
    kinds = [text(f"figures.use.{group}") for group in trainer.GROUPS if getattr(own, group)]
    return text("figures.use.in_use" if kinds else "figures.use.empty", file=file, what=", ".join(kinds))


def main(arguments: list[str] | None = None, look: Callable[[Path], None] = check_file) -> int:
    """One sentence a file that ``arguments`` name (the command line's without them); 1 where one cannot be used.

    Parameters
    ----------
    arguments : of the command.
    look : looks a file over, as :func:`check_file` does.
    """
    parser = Words(prog=as_typed("simulator.scenario.check"), description=ABOUT)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="files to look over")
    parser.add_argument("--settings", action="store_true", help="look over what the environment names")
    chosen = parser.parse_args(arguments)
    if chosen.settings == bool(chosen.files):
        parser.error(
            "name the files to look over, or ask for --settings"
            if not chosen.files
            else "your figures are found by themselves, so name no file"
        )
    said = wrong_settings() if chosen.settings else []
    if chosen.settings and not said:
        sys.stdout.write(f"{figures_in_use()}\n")
    for path in chosen.files:
        try:
            look(path)
        except InputError as error:
            said.append(str(error))
        else:
            sys.stdout.write(f"{plain_name(path)}: this file can be used.\n")
    for sentence in said:
        sys.stderr.write(f"{sentence}\n")
    return 1 if said else 0


if __name__ == "__main__":
    raise SystemExit(main() if "--settings" in sys.argv else command(main))
