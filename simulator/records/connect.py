"""Engines on a records database: how SQLite and PostgreSQL are set up, and how a file is looked at before it is touched.

No file of a database is ever opened here but by SQLite itself: on POSIX, closing a file frees every lock the process has
on it, and the next clean end of another process would then take the write-ahead log away under a live one.

Throughout: ``path`` is a database file, ``url`` a database's address, ``path_or_url`` either (None: the user's own),
``engine`` one of SQLAlchemy's, ``connection`` is one of SQLAlchemy's, within a transaction, ``name`` what the
database is called in a sentence.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, NullPool, StaticPool, create_engine, event, select
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.chain import Head
from simulator.records.checking import Findings, look_over
from simulator.records.failures import sentences
from simulator.texts import text

BUSY_SECONDS = 15.0  # [s] how long a writer waits for another


@dataclass
class Look:
    """What a look at a file found; ``schema`` 0 is a file with nothing in it."""

    schema: int = 0
    findings: Findings = field(default_factory=Findings)


def parsed_url(path_or_url: Path | str | None) -> URL | None:
    """The database URL that is meant; None where a path is meant.

    Raises
    ------
    InputError : there is no driver for it.
    """
    if not isinstance(path_or_url, str) or "://" not in path_or_url:
        return None
    try:
        url = make_url(path_or_url)
        url.get_dialect()
    except (ArgumentError, NoSuchModuleError) as error:
        raise _no_driver(error, "records") from error
    return url


def new_engine(url: URL) -> Engine:
    """An engine set up for records.

    Raises
    ------
    InputError : there is no driver for it.
    """
    lite = url.get_backend_name() == "sqlite"
    settings: dict[str, Any] = (
        {"connect_args": {"timeout": BUSY_SECONDS}} if lite else {"pool_pre_ping": True}
    )
    if lite and url.database in (None, "", ":memory:"):  # one for all threads; else each would have its own
        settings = {"poolclass": StaticPool, "connect_args": {"check_same_thread": False}}
    try:
        engine = create_engine(url, **settings)
    except (ArgumentError, NoSuchModuleError, ImportError) as error:
        raise _no_driver(error, url.render_as_string(hide_password=True)) from error
    if lite:
        event.listen(engine, "connect", _set_up_connection)
    event.listen(engine, "begin", _begin)
    return engine


def file_url(path: Path) -> URL:
    """The URL of a file's database."""
    return make_url("sqlite://").set(database=str(path))


@contextmanager
def read_only(path: Path) -> Iterator[Connection]:
    """A transaction over a file that is not changed by it, not even by folding its log in at the end.

    Raises
    ------
    sqlite3.Error, sqlalchemy.exc.SQLAlchemyError : it cannot be opened or read.
    """
    where = f"file:{quote(str(path))}?mode=ro"
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(where, uri=True, timeout=BUSY_SECONDS),
        poolclass=NullPool,
    )
    event.listen(engine, "connect", _set_up_connection)
    event.listen(engine, "begin", _begin)
    with engine.connect() as connection:
        reading = connection.begin()
        try:
            yield connection
        finally:
            with suppress(SQLAlchemyError):  # of a damaged file even the end of a look may fail
                reading.rollback()


def look(
    path: Path,
    beside: Mapping[str, Head],
    known: Mapping[str, str] | None = None,
    *,
    known_as_ours: bool = False,
) -> Look:
    """Look at a file, reading only: whether it is ours, whole and not too new, and which chains do not hold.

    Parameters
    ----------
    beside, known : the heads from the file beside it, and the digests of what was looked over before.
    known_as_ours : there are such heads: what cannot be read is then damaged, and no other program's.

    Raises
    ------
    InputError : it cannot be used; it is left as it is.
    """
    name = str(path)
    foreign = _damaged(name) if known_as_ours else _not_ours(name)
    with sentences(name, {"file is not a database": foreign}), read_only(path) as connection:
        marked = connection.exec_driver_sql("PRAGMA application_id").scalar()
        if marked not in (tables.APPLICATION_ID, 0):
            raise foreign
        check_whole(connection, name)
        names = set(
            connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars()
        )
        if not names and not beside:
            return Look()
        if "meta" not in names:
            raise foreign
        schema = schema_of(connection, name)
        if schema < tables.RECORD_SCHEMA:
            return Look(schema)
        if set(tables.metadata.tables) - names:
            raise _damaged(name)
        return Look(schema, look_over(connection, beside, known))


def check_whole(connection: Connection, name: str) -> None:
    """Let SQLite look over every page, table and index of a file.

    Raises
    ------
    InputError : it is damaged.
    """
    found = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
    if found != "ok":
        raise _damaged(name)


def schema_of(connection: Connection, name: str) -> int:
    """Number of the record schema that a database is at.

    Raises
    ------
    InputError : it is newer than this program, or cannot be told.
    """
    m = tables.meta.c
    found = connection.execute(select(m.value).where(m.name == "record_schema")).scalar()
    if found is None:
        raise _damaged(name)
    if not str(found).isdigit() or not 1 <= int(found) <= tables.RECORD_SCHEMA:
        raise InputError(
            text("records.too_new", found=str(found)[:12]),
            name,
            text("records.too_new_legal", known=tables.RECORD_SCHEMA),
        )
    return int(found)


def set_log_ahead(engine: Engine) -> None:
    """Let a SQLite file keep its changes in a log first, so that readers and a writer do not stop one another."""
    raw = engine.raw_connection()
    try:
        if raw.cursor().execute("PRAGMA journal_mode").fetchone() != ("wal",):
            raw.cursor().execute("PRAGMA journal_mode = WAL")
    finally:
        raw.close()


def _set_up_connection(connection: sqlite3.Connection, record: object) -> None:
    connection.isolation_level = None  # transactions are begun by _begin, nowhere else
    # What damage made of a text is for the chains to find, and no reason to stop.
    connection.text_factory = partial(str, encoding="utf-8", errors="replace")
    connection.execute(f"PRAGMA busy_timeout = {int(BUSY_SECONDS * 1000)}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA secure_delete = ON")  # of a person taken out nothing stays in free pages


def _begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("write", False)
    if connection.dialect.name == "sqlite":
        # A writer takes the lock at once: no deadlock between two that both read first.
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")
    elif connection.dialect.name == "postgresql" and write:
        # One writer at a time there too: numbers and chains have no gap and no fork.
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({tables.APPLICATION_ID})")
    elif connection.dialect.name == "postgresql":
        # Rows and heads of one moment, as SQLite gives them: else a chain that grows between two looks seems cut short.
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")


def _no_driver(error: Exception, where: str) -> InputError:
    return InputError(text("records.no_driver", reason=str(error)), where, text("records.no_driver_legal"))


def _not_ours(name: str) -> InputError:
    return InputError(text("records.not_ours"), name, text("records.not_ours_legal"))


def _damaged(name: str) -> InputError:
    return InputError(text("records.failures.damaged.what"), name, text("records.failures.damaged.legal"))
