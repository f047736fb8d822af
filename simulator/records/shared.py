"""One database a process and file: whoever opens it again shares it, and the last to close folds its log in."""

from __future__ import annotations

import atexit
import contextlib
import os
import threading
from pathlib import Path

from simulator.records.connect import parsed_url
from simulator.records.database import Database
from simulator.records.opening import open_file, open_url
from simulator.records.places import FILE_NAME, data_folder, ready_file

_open: dict[tuple[str, int, int], Database] = {}
_lock = threading.RLock()


def take(path_or_url: Path | str | None) -> Database:
    """The database that ``path_or_url`` means, opened or shared; to be given back by :func:`release`.

    Raises
    ------
    InputError : it cannot be used; a file is then left as it is.
    """
    url = parsed_url(path_or_url)
    if url is not None and not (
        url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:")
    ):
        database = open_url(str(path_or_url))
        database.users = 1
        return database
    named = str(url.database) if url is not None else path_or_url
    path = ready_file(Path(named) if named is not None else data_folder() / FILE_NAME)
    with _lock:
        database_there = _open.get(_key(path))
        if database_there is not None:
            database_there.users += 1
            database_there.fold()  # a page is loaded again: what the one before wrote lies in the file now
            return database_there
        database = open_file(path)
        database.users = 1
        _open[_key(path)] = database
        return database


def release(database: Database) -> None:
    """Give a database back; the last one closes it."""
    with _lock:
        database.users -= 1
        if database.users > 0:
            return
        for key in [key for key, each in _open.items() if each is database]:
            del _open[key]
        database.close()


def _key(path: Path) -> tuple[str, int, int]:
    """What makes two paths one file; a file that was put in the place of another is a file of its own."""
    where = os.path.realpath(path)
    try:
        found = Path(where).stat()
    except OSError:
        return where, 0, 0
    return where, found.st_dev, found.st_ino


@atexit.register
def _fold_all() -> None:
    """An orderly end of the process folds every log in, whoever forgot to close."""
    with _lock:
        for database in _open.values():
            with contextlib.suppress(Exception):
                database.close()


def _before_fork() -> None:
    # SQLite's connections must not cross a fork, not even to be closed in the child: none is open while it happens.
    _lock.acquire()
    for database in _open.values():
        database.gate.shut()
        with contextlib.suppress(Exception):
            database.let_go()


def _after_fork_in_parent() -> None:
    for database in _open.values():
        database.gate.open()
    _lock.release()


def _after_fork_in_child() -> None:
    for database in _open.values():
        database.gate.open(nobody_inside=True)
    _lock.release()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(
        before=_before_fork,
        after_in_parent=_after_fork_in_parent,
        after_in_child=_after_fork_in_child,
    )
