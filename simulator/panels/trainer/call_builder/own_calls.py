"""The trainer's own call-outs: a folder of readable files beside those that came with the lessons.

Arguments, the same throughout: ``name`` of a call-out, its file's name without the ending; ``folder`` the trainer's own.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections import Counter
from functools import lru_cache
from pathlib import Path

from simulator.errors import InputError
from simulator.panels.lessons.practice_yard.call_book import book_folder, own_folder
from simulator.rig.plain_yaml import LARGEST_FILE, read_whole
from simulator.rig.presets import load_rig
from simulator.scenario import load_scenario
from simulator.scenario.files import ENDING, make_folder, write_whole
from simulator.texts import text

LONGEST_NAME = 60
_LEGAL = re.compile(r"[a-z0-9][a-z0-9_-]*")
#: Names of devices that some systems keep to themselves.
_RESERVED = {"con", "prn", "aux", "nul", *(f"{kind}{n}" for kind in ("com", "lpt") for n in range(1, 10))}
MOST = 500


def own_names() -> list[str]:
    """The trainer's own call-outs, in order; none while the folder is not there."""
    return _names(own_folder())


def book_names() -> list[str]:
    """The call-outs that came with the lessons, in order."""
    folder = book_folder()
    return [] if folder is None else _names(folder)


def call_labels(*, own: bool) -> list[tuple[str, str]]:
    """Name and label of each call-out, in order: its title, rig and level; the name too where two would read alike.

    A file that cannot be used goes by its name: opening it says what is wrong.

    Parameters
    ----------
    own : those of the trainer; else those that came with the lessons.

    Examples
    --------
    >>> call_labels(own=False)[0]
    ('alder_ditch', 'Alder Ditch, before noon: Osier, level 4')
    """
    folder = own_folder() if own else book_folder()
    names = own_names() if own else book_names()
    labels = [name if folder is None else _label(folder / f"{name}{ENDING}") for name in names]
    often = Counter(labels)
    return [
        (name, label if often[label] == 1 else text("desks.call_twice", label=label, name=name))
        for name, label in zip(names, labels, strict=True)
    ]


def _label(path: Path) -> str:
    try:
        state = path.stat()
        return _label_at(path, state.st_mtime_ns, state.st_size)
    except (OSError, InputError):
        return path.name.removesuffix(ENDING)


@lru_cache(maxsize=MOST)
def _label_at(path: Path, _changed: int, _size: int) -> str:
    """What a file's call-out is called, read once for as long as the file stays as it is."""
    scenario = load_scenario(path)
    fields = {"title": scenario.title, "rig": load_rig(scenario.rig).title, "level": scenario.level}
    return text("desks.call_option" if scenario.level else "desks.call_option_plain", **fields)


def _names(folder: Path) -> list[str]:
    try:
        found = sorted(item.name for item in os.scandir(folder) if not item.name.startswith("."))
    except OSError:
        return []
    return [name.removesuffix(ENDING) for name in found if name.endswith(ENDING)][:MOST]


def read_call(name: str, *, own: bool) -> bytes:
    """The bytes of a call-out.

    Parameters
    ----------
    own : one of the trainer's own; else one that came with the lessons.

    Raises
    ------
    InputError : there is none of that name, or it cannot be read.
    """
    names = own_names() if own else book_names()
    if name not in names:
        raise InputError(
            f"there is no call-out {name!r}", "the list of call-outs", "one that stands in the list"
        )
    folder = own_folder() if own else book_folder()
    assert folder is not None
    return read_whole(folder / f"{name}{ENDING}", LARGEST_FILE + 1)


def legal_name(name: str) -> str:
    """The name as a file can have it everywhere.

    Raises
    ------
    InputError : nothing of it can stand in the name of a file.

    Examples
    --------
    >>> legal_name("Frosty Büttel, second try!")
    'frosty_buttel_second_try'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    made = re.sub(r"[^a-z0-9-]+", "_", plain.removesuffix(ENDING)).strip("_-")[:LONGEST_NAME]
    if not _LEGAL.fullmatch(made) or made in _RESERVED:
        raise InputError(
            f"{name!r} cannot be the name of a file",
            "name",
            "letters, figures and spaces, such as frosty night",
        )
    return made


def save_call(name: str, written: bytes, *, over: bool = False) -> Path:
    """Write a call-out into the trainer's folder, which is made where it is not there.

    Parameters
    ----------
    written : the file's bytes.
    over : whether one of that name may be written over.

    Raises
    ------
    InputError : the name cannot be one, there is one already, or the folder cannot be written to.
    """
    folder, made = own_folder(), legal_name(name)
    path = folder / f"{made}{ENDING}"
    if path.exists() and not over:
        raise InputError(f"there is a call-out {made!r} already", "name", "another name")
    make_folder(folder)
    write_whole(path, written)
    return path


def rename_call(name: str, new: str) -> str:
    """Give one of the trainer's own another name; the name that it then has.

    Parameters
    ----------
    new : the other name.

    Raises
    ------
    InputError : there is none, the name cannot be one, or another has it.
    """
    written, made = read_call(name, own=True), legal_name(new)
    if made == name:
        return name
    save_call(made, written)
    (own_folder() / f"{name}{ENDING}").unlink(missing_ok=True)
    return made
