"""From a path or URL to a database that is known to fit: looked at, begun or brought up; losses told and set aside."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, select

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.aside import set_aside, told_shortly
from simulator.records.chain import Head
from simulator.records.checking import Findings, links_of, look_over
from simulator.records.connect import (
    Look,
    file_url,
    look,
    new_engine,
    parsed_url,
    schema_of,
    set_log_ahead,
)
from simulator.records.copying import copy_file
from simulator.records.database import Database
from simulator.records.failures import sentences
from simulator.records.heads import Beside, Heads
from simulator.records.private import new_private_file, tighten_files
from simulator.texts import text


def open_url(url: str) -> Database:
    """The database at a URL (``url``), or one in memory.

    Raises
    ------
    InputError : it cannot be used.
    """
    parsed = parsed_url(url)
    assert parsed is not None
    engine, name = new_engine(parsed), parsed.render_as_string(hide_password=True)
    notices: list[str] = []
    try:
        with sentences(name):
            findings = _make_ready(engine, name)
            notices += _mend(engine, findings)
    except InputError:
        engine.dispose()
        raise
    return Database(engine, name, None, tuple(notices))


def open_file(path: Path) -> Database:
    """The database in a file whose folder is there; see :func:`simulator.records.places.ready_file`.

    Raises
    ------
    InputError : the file is damaged, not ours or too new; it is left as it is.
    """
    name, heads = str(path), Heads(path)
    beside = heads.read()  # before the database: it may be behind that, never ahead
    notices: list[str] = []
    tighten_files(path)
    if path.exists() and not os.access(path, os.W_OK):
        raise InputError(
            text("records.failures.read_only.what"), name, text("records.failures.read_only.legal")
        )
    if _is_empty(path):
        notices += _begin_anew(path, heads, beside)
        beside = Beside()
        found = Look()
    else:
        found = look(path, beside.heads, beside.digests, known_as_ours=bool(beside.heads))
    if found.findings.broken:
        _keep_log(path)
    if found.schema and found.schema < tables.RECORD_SCHEMA:
        _copy_before(path, found.schema)
    engine = new_engine(file_url(path))
    try:
        with sentences(name):
            set_log_ahead(engine)
            findings = found.findings
            if found.schema < tables.RECORD_SCHEMA:
                findings = _make_ready(engine, name, beside.heads)
            elif not beside.heads and findings.attempts and _list_gone(engine, heads):
                notices.append(text("records.heads_missing"))
            notices += _mend(engine, findings)
            _bring_up(heads, beside, findings, engine)
            _list_made(engine)
    except InputError:
        engine.dispose()
        raise
    tighten_files(path)
    if beside.damaged:
        notices.append(text("records.heads_damaged", lines=beside.damaged))
    return Database(engine, name, path, tuple(told_shortly(notices)))


def _is_empty(path: Path) -> bool:
    return not path.exists() or path.stat().st_size == 0


def _begin_anew(path: Path, heads: Heads, beside: Beside) -> list[str]:
    """Make an empty file; what an earlier one has left behind is kept under another name, and told."""
    notices = []
    log = path.with_name(path.name + "-wal")
    lost = bool(beside.heads)
    if log.exists() and log.stat().st_size > 0:  # SQLite would take it away
        kept = _free_name(log)
        log.rename(kept)
        notices.append(text("records.only_log", kept=kept.name))
    if lost:
        kept = _free_name(heads.path)
        heads.path.rename(kept)
        rows = sum(count for count, _ in beside.heads.values())
        notices.append(
            text("records.all_gone", attempts=len(beside.heads), rows=rows, place=path, kept=kept.name)
        )
    new_private_file(path)
    return notices


def _keep_log(path: Path) -> None:
    """Copy a write-ahead log that may hold more than SQLite takes from it. Nobody has a lock on that file."""
    log = path.with_name(path.name + "-wal")
    with contextlib.suppress(OSError):
        if log.stat().st_size > 0:
            shutil.copy(log, _free_name(log))


def _copy_before(path: Path, schema: int) -> None:
    copy = path.with_name(f"{path.name}.schema-{schema}")
    if not copy.exists():
        copy_file(path, copy)


def _free_name(path: Path) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    names = (path.with_name(f"{path.name}.kept-{stamp}{n or ''}") for n in range(1000))
    return next(each for each in names if not each.exists())


def _make_ready(engine: Engine, name: str, beside: Mapping[str, Head] | None = None) -> Findings:
    """Make the tables, or bring them up, and look the chains over; another process may be at it too."""
    from_schema = _schema(engine, name)
    if from_schema and from_schema < tables.RECORD_SCHEMA:
        from simulator.records.migrations import bring_up  # late: most sessions never need it

        bring_up(engine)
    elif from_schema == 0:
        with engine.connect().execution_options(write=True) as connection, connection.begin():
            _make_tables(connection)
    if from_schema == 0:
        return Findings()
    with engine.connect() as connection, connection.begin():
        return look_over(connection, beside or {})


def _schema(engine: Engine, name: str) -> int:
    with engine.connect() as connection, connection.begin():
        return schema_of(connection, name) if inspect(connection).has_table("meta") else 0


def _make_tables(connection: Connection) -> None:
    tables.metadata.create_all(connection)
    if connection.execute(select(tables.meta.c.value)).first() is None:
        schema = str(tables.RECORD_SCHEMA)
        connection.execute(tables.meta.insert().values(name="record_schema", value=schema))
        connection.execute(tables.alembic_version.insert().values(version_num=f"schema_{schema}"))
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {tables.APPLICATION_ID}")


def _mend(engine: Engine, findings: Findings) -> list[str]:
    """Set aside what does not hold; put right what only the table of heads has wrong."""
    if not findings.broken and not findings.wrong_heads:
        return []
    now = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        told = set_aside(connection, findings.broken, now)
        if findings.wrong_heads:
            told += _right_heads(connection, findings)
    return told


def _right_heads(connection: Connection, findings: Findings) -> list[str]:
    h, mended = tables.heads.c, 0
    for attempt_id, end in findings.wrong_heads.items():
        if len(links_of(connection, [attempt_id]).get(attempt_id, [])) != end[0]:
            continue  # another process has gone on with it, so its head is right
        connection.execute(tables.heads.delete().where(h.attempt_id == attempt_id))
        connection.execute(tables.heads.insert().values(attempt_id=attempt_id, count=end[0], hash=end[1]))
        mended += 1
    return [text("records.heads_righted", attempts=mended)] if mended else []


def _list_gone(engine: Engine, heads: Heads) -> bool:
    """Whether the list was taken away, and is not just being made by another process that opened the file first."""
    with engine.connect() as connection, connection.begin():
        due = connection.execute(
            select(tables.meta.c.value).where(tables.meta.c.name == tables.LIST_DUE)
        ).first()
    return due is None and not heads.read().heads  # in this order: the list is made before the mark goes


def _list_made(engine: Engine) -> None:
    due = tables.meta.c.name == tables.LIST_DUE
    with engine.connect() as connection, connection.begin():
        if connection.execute(select(tables.meta.c.value).where(due)).first() is None:
            return
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        connection.execute(tables.meta.delete().where(due))


def _bring_up(heads: Heads, beside: Beside, findings: Findings, engine: Engine) -> None:
    """Note beside the database what is not noted there yet, and leave out what was set aside."""
    behind = {key: end for key, end in findings.ends.items() if beside.heads.get(key, (0, ""))[0] < end[0]}
    if findings.broken:  # the sound front parts are chains of their own now
        with engine.connect() as connection, connection.begin():
            again = look_over(connection, {})
        behind |= {key: end for key, end in again.ends.items() if key not in beside.heads}
    with contextlib.suppress(OSError):
        noted = behind | {key: findings.ends[key] for key in findings.digests}
        if noted or not beside.there:
            heads.add(noted, at_once=bool(behind), digests=findings.digests)
        if beside.damaged or beside.is_long:
            heads.rewrite(drop=findings.aside)
