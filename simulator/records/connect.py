"""Opening the database: a file of ours or nothing, safe against power loss, shared by several kernels."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, select
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.failures import sentences
from simulator.records.places import FILE_NAME, data_folder, ready_file
from simulator.texts import text

BUSY_SECONDS = 15.0  # [s] how long a writer waits for another
_SQLITE_HEADER = b"SQLite format 3\x00"
_LARGEST_CHECKED = 64 * 1024 * 1024  # [byte] beyond it the whole-file check would make opening slow


def open_engine(path_or_url: Path | str | None) -> tuple[Engine, str]:
    """An engine on a records database whose schema is known to fit, and the words that name it in errors.

    Raises
    ------
    InputError : the place cannot be used, the file is damaged, not ours, or too new; it is left as it is.
    """
    if isinstance(path_or_url, str) and "://" in path_or_url:
        try:
            url = make_url(path_or_url)
            name = url.render_as_string(hide_password=True)
            url.get_dialect()
        except (ArgumentError, NoSuchModuleError) as error:
            raise _no_driver(error, "records") from error
        if url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:"):
            return open_engine(Path(str(url.database)))
    else:
        path = ready_file(Path(path_or_url) if path_or_url is not None else data_folder() / FILE_NAME)
        _look_before_touching(path)
        url, name = make_url("sqlite://").set(database=str(path)), str(path)
    try:
        engine = create_engine(url, connect_args=_connect_args(url.get_backend_name()))
    except (ArgumentError, NoSuchModuleError, ImportError) as error:
        raise _no_driver(error, name) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_connection)
        event.listen(engine, "begin", _begin)
    try:
        with sentences(name):
            _make_ready(engine, name)
    except InputError:
        engine.dispose()
        raise
    return engine, name


def _no_driver(error: Exception, where: str) -> InputError:
    return InputError(text("records.no_driver", reason=str(error)), where, text("records.no_driver_legal"))


def _connect_args(backend: str) -> dict[str, Any]:
    return {"timeout": BUSY_SECONDS} if backend == "sqlite" else {}


def _look_before_touching(path: Path) -> None:
    """Refuse a file that is not ours, too new or damaged, reading only."""
    if not path.exists() or path.stat().st_size == 0:
        return
    try:
        with path.open("rb") as stream:
            header = stream.read(100)
    except OSError as error:
        raise InputError(
            text("records.failures.cannot_open.what"), str(path), text("records.failures.cannot_open.legal")
        ) from error
    if not header.startswith(_SQLITE_HEADER):
        raise InputError(text("records.not_ours"), str(path), text("records.not_ours_legal"))
    if len(header) < 100 or int.from_bytes(header[68:72], "big") not in (tables.APPLICATION_ID, 0):
        raise InputError(text("records.not_ours"), str(path), text("records.not_ours_legal"))


def _set_up_connection(connection: sqlite3.Connection, record: object) -> None:
    connection.isolation_level = None  # transactions are begun by _begin, nowhere else
    connection.execute(f"PRAGMA busy_timeout = {int(BUSY_SECONDS * 1000)}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")


def _begin(connection: Connection) -> None:
    # A writer takes the lock at once: no deadlock between two that both read first.
    write = connection.get_execution_options().get("write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _make_ready(engine: Engine, name: str) -> None:
    if engine.dialect.name == "sqlite":
        _check_file(engine, name)
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        _check_schema(connection, name)
        tables.metadata.create_all(connection)
        if connection.execute(select(tables.meta.c.value)).first() is None:
            connection.execute(
                tables.meta.insert().values(name="record_schema", value=str(tables.RECORD_SCHEMA))
            )
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql(f"PRAGMA application_id = {tables.APPLICATION_ID}")


def _check_file(engine: Engine, name: str) -> None:
    """Whole-file check, then write-ahead logging; all before anything of ours is written."""
    path = engine.url.database
    small = path is None or not Path(path).exists() or Path(path).stat().st_size <= _LARGEST_CHECKED
    raw = engine.raw_connection()
    try:
        if small:
            found = raw.cursor().execute("PRAGMA quick_check(1)").fetchone()
            if found is None or found[0] != "ok":
                raise _damaged(name)
        known = {
            row[0] for row in raw.cursor().execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        }
        if known and "meta" not in known:
            raise InputError(text("records.not_ours"), name, text("records.not_ours_legal"))
        if known:
            _refuse_too_new(_number(raw.cursor().execute("SELECT name, value FROM meta").fetchall()), name)
        raw.cursor().execute("PRAGMA journal_mode = WAL")
    finally:
        raw.close()


def _damaged(name: str) -> InputError:
    return InputError(text("records.failures.damaged.what"), name, text("records.failures.damaged.legal"))


def _check_schema(connection: Connection, name: str) -> None:
    if not inspect(connection).has_table("meta"):
        return
    _refuse_too_new(_number(connection.execute(select(tables.meta.c.name, tables.meta.c.value)).all()), name)


def _number(rows: Any) -> str:
    return next((str(value) for key, value in rows if key == "record_schema"), str(tables.RECORD_SCHEMA))


def _refuse_too_new(found: str, name: str) -> None:
    if not found.isdigit() or int(found) > tables.RECORD_SCHEMA:
        raise InputError(
            text("records.too_new", found=found),
            name,
            text("records.too_new_legal", known=tables.RECORD_SCHEMA),
        )
