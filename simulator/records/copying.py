"""Copies of a database file, made by SQLite alone, whoever reads or writes it meanwhile.

Throughout: ``source`` and ``target`` are paths.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from simulator.records import connect
from simulator.records.failures import sentences
from simulator.records.private import new_private_file


def copy_file(source: Path, target: Path) -> None:
    """Copy a database through SQLite into one file, as it is at one moment, whoever writes to it meanwhile.

    Raises
    ------
    InputError : either file cannot be used.
    """
    _copy(source, target, one_file=True)


def copy_over(source: Path, target: Path) -> None:
    """Write a database over another in one transaction of SQLite's, whoever has that open.

    Raises
    ------
    InputError : it cannot be written.
    """
    _copy(source, target, one_file=False)


def _copy(source: Path, target: Path, *, one_file: bool) -> None:
    """Only readers and SQLite's own handles touch either file: see ``connect`` for why."""
    with sentences(str(target)):
        new_private_file(target)
        where = f"file:{quote(str(source))}?mode=ro"
        with (
            closing(sqlite3.connect(where, uri=True, timeout=connect.BUSY_SECONDS)) as from_file,
            closing(sqlite3.connect(target, timeout=connect.BUSY_SECONDS)) as to_file,
        ):
            from_file.backup(to_file)
            # A copy is one file, without a log of its own; the records' own copy goes on with its log.
            if one_file and to_file.execute("PRAGMA journal_mode").fetchone() == ("wal",):
                to_file.execute("PRAGMA journal_mode = DELETE")
