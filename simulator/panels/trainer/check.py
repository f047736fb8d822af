"""Looks all kinds of a trainer's files over: ``python -m simulator.panels.trainer.check FILE ...``.

Beside call-outs, rigs, sites and figures, what was measured of a pump and call sheets, which the desks write.
"""

from __future__ import annotations

from pathlib import Path

from simulator.classroom.call_sheet import MAX_BYTES, opened, read_file_text
from simulator.errors import InputError
from simulator.panels.trainer.own_pump.draft import FORMAT, Draft, read_fields
from simulator.panels.trainer.own_pump.form import problem_words, told_of
from simulator.rig.command import command
from simulator.rig.plain_yaml import LARGEST_FILE, read_whole
from simulator.scenario import check
from simulator.signing.ring import Ring
from simulator.texts import text

SHEET = ".sheet.json"


def look(path: Path) -> None:
    """Look the file at a path over.

    Parameters
    ----------
    path : of the file.

    Raises
    ------
    InputError : it cannot be used: where, what and what would be legal.
    """
    if path.name.endswith(SHEET):
        opened(read_file_text(read_whole(path, MAX_BYTES + 1), path.name), Ring.load())
    else:
        check.check_file(path, {**check.READERS, FORMAT: look_at_measured})


def look_at_measured(path: Path) -> None:
    """Look over what was measured of a pump.

    Parameters
    ----------
    path : of the file.

    Raises
    ------
    InputError : it cannot be read, or a figure in it cannot be.
    """
    taken = Draft(read_fields(read_whole(path, LARGEST_FILE + 1), path.name)).taken()
    for name, wrong in told_of(taken).items():
        label = text(f"own_pump.fields.{name.replace('.', '_')}")
        said = problem_words(wrong, label)["sentence"].rstrip(".")
        raise InputError(said, f"{path.name}, {name}", wrong.legal)
    for bad in taken.bad_rows:
        raise InputError(text(f"own_pump.bad.{bad.kind}").rstrip("."), f"{path.name}, r.{bad.number - 1}")


def main(arguments: list[str] | None = None) -> int:
    """One sentence a file; 1 where one cannot be used.

    Parameters
    ----------
    arguments : of the command; those of the process by default.
    """
    return check.main(arguments, look)


if __name__ == "__main__":
    raise SystemExit(command(main))
