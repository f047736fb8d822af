"""An own rig into the class and out again: its file and what was measured beside it, written as one, taken back as one.

Arguments, the same throughout: ``name`` of a rig.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from simulator.errors import InputError
from simulator.rig.own_rigs import ENDING, own_rigs_folder, read_own_rig
from simulator.rig.plain_yaml import LARGEST_FILE, read_whole
from simulator.rig.presets import shipped_rig_names
from simulator.scenario.files import make_folder, write_whole

MEASURED = ".measured.yaml"
LONGEST = 40


@dataclass(frozen=True)
class Before:
    """What stood in some files before they were written: the bytes, or None where there was no file."""

    files: tuple[tuple[Path, bytes | None], ...]

    def back(self) -> None:
        """Put it all back.

        Raises
        ------
        InputError : a file cannot be written.
        """
        for path, content in self.files:
            if content is None:
                path.unlink(missing_ok=True)
            else:
                write_whole(path, content)


def legal_name(title: str) -> str:
    """The name of a rig, and of its file, from what people call it.

    Parameters
    ----------
    title : as typed.

    Raises
    ------
    InputError : nothing of it can be a name, or a rig of the lessons has it.

    Examples
    --------
    >>> legal_name("Büttel, yard 2"), legal_name("6 inch")
    ('buttel_yard_2', 'rig_6_inch')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    made = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
    made = (f"rig_{made}" if made[:1].isdigit() else made)[:LONGEST].rstrip("_")
    if not made:
        raise InputError(
            f"{title!r} cannot be the name of a rig", "name", "letters and figures, such as Pump 12"
        )
    if made in shipped_rig_names():
        raise InputError(f"{made!r} is a rig that came with the lessons", "name", "another name")
    return made


def kept_names() -> list[str]:
    """Names of the rigs whose figures are kept and can be opened again, in order."""
    try:
        found = sorted(own_rigs_folder().glob(f"*{MEASURED}"))
    except OSError:
        return []
    return [path.name.removesuffix(MEASURED) for path in found]


def rig_path(name: str) -> Path:
    """The file of an own rig."""
    return own_rigs_folder() / f"{name}{ENDING}"


def read_measured(name: str) -> bytes:
    """What was measured of an own rig, the file's bytes.

    Raises
    ------
    InputError : there is none of that name.
    """
    if name not in kept_names():
        raise InputError(f"there is no own pump {name!r}", "the list of pumps", "one that stands in the list")
    return read_whole(own_rigs_folder() / f"{name}{MEASURED}", LARGEST_FILE + 1)


def use_in_class(name: str, rig: bytes, measured: bytes, *, over: bool = False) -> Before:
    """Write a rig and what was measured of it into the own folder; what stood there before, to be put back.

    Parameters
    ----------
    rig, measured : the files' bytes; the rig is read by the reader of rigs before anything is written.
    over : whether one of that name may be written over.

    Raises
    ------
    InputError : it cannot be read as a rig of that name, there is one already, or the folder cannot be written to.
    """
    read_own_rig(rig, name)
    folder = own_rigs_folder()
    paths = (rig_path(name), folder / f"{name}{MEASURED}")
    if not over and any(path.exists() for path in paths):
        raise InputError(f"there is a pump {name!r} already", "name", "another name")
    make_folder(folder)
    before = Before(tuple((p, read_whole(p, LARGEST_FILE + 1) if p.exists() else None) for p in paths))
    try:
        write_whole(paths[0], rig)
        write_whole(paths[1], measured)
    except InputError:
        before.back()
        raise
    return before
