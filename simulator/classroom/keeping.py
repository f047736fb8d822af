"""A class copied into one folder, and put back: its records, the list of learners, its words, what is handed out.

Throughout: ``folder`` is that of the class; ``copy`` one that :func:`backup_class` made.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from simulator.classroom.handing_out import FILE_NAME as SHEETS
from simulator.classroom.people_and_pins import FILE_NAME as PEOPLE
from simulator.classroom.places import SETTINGS
from simulator.errors import InputError
from simulator.records import Kept, backup, restore
from simulator.records.places import FILE_NAME as RECORDS
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.texts import text

BACKUPS = "backups"
BESIDE = (PEOPLE, SETTINGS, SHEETS)  # small files that belong to it
MAX_BYTES = 16 * 1024 * 1024


def backup_class(folder: Path, place: str | Path, to: Path | None = None) -> Kept:
    """Copy a class into a new folder, while it runs or not; its records are looked over in the copy.

    Parameters
    ----------
    place : of the records: their folder, or a URL.
    to : the new folder; by default one named by the day, in ``backups`` of the class.

    Raises
    ------
    InputError : there are no records yet, they lie in a database with tools of its own, or a place cannot be written.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S-%f")
    copy = to or folder / BACKUPS / f"class-{stamp}"
    if copy.exists() and (not copy.is_dir() or any(copy.iterdir())):
        raise InputError(text("classroom.keeping.taken").rstrip("."), str(copy))
    try:
        private_folder(copy.parent, tighten=False)
        private_folder(copy, tighten=True)
        kept = backup(place, copy / RECORDS)
        for name in BESIDE:
            if (folder / name).exists():
                write_private(copy / name, read_whole(folder / name, MAX_BYTES).decode("utf-8"))
    except OSError as error:
        raise InputError(error.strerror or str(error), str(copy)) from error
    except InputError:
        shutil.rmtree(copy, ignore_errors=True)
        raise
    return replace(kept, place=copy)


def copies_naming(folder: Path, name: str) -> list[Path]:
    """The copies in ``backups`` of a class in whose list of learners a name stands.

    Parameters
    ----------
    name : as it stands in the list.

    Examples
    --------
    >>> copies_naming(Path("no such class"), "Ada")
    []
    """
    found = []
    for copy in sorted((folder / BACKUPS).glob("*/")):
        try:
            rows = json.loads(read_whole(copy / PEOPLE, MAX_BYTES).decode("utf-8"))
            held = any(isinstance(row, dict) and row.get("name") == name for row in rows)
        except (OSError, ValueError, TypeError, InputError):
            continue  # no such copy
        if held:
            found.append(copy)
    return found


def restore_class(copy: Path, folder: Path, place: str | Path) -> Kept:
    """Put a copy of a class in the place of one that is shut; what was there is kept beside.

    Parameters
    ----------
    place : of the records: their folder, or a URL.

    Raises
    ------
    InputError : it is no such copy, it does not hold, or a place cannot be written; then nothing was changed.
    """
    if not (copy / RECORDS).is_file():
        raise InputError(text("classroom.keeping.no_copy").rstrip("."), str(copy))
    try:
        small = {
            name: read_whole(copy / name, MAX_BYTES).decode("utf-8")
            for name in BESIDE
            if (copy / name).exists()
        }
        private_folder(folder, tighten=True)
        if isinstance(place, Path):
            private_folder(place, tighten=True)
        kept = restore(copy / RECORDS, place)
        for name, words in small.items():
            if (folder / name).exists():
                before = f"{name}.before-restore-{datetime.now(UTC):%Y%m%d-%H%M%S}"
                write_private(folder / before, read_whole(folder / name, MAX_BYTES).decode("utf-8"))
            write_private(folder / name, words)
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(getattr(error, "strerror", None) or str(error), str(copy)) from error
    return kept
