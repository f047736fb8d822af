"""Adding rows: the one place that writes to the tables of attempts, so that every row gets its link in the chain.

All within a transaction of :meth:`simulator.records.store.Store.transaction`; what the chains end in is noted beside the
database once it is kept.

Throughout: ``connection`` is one of SQLAlchemy's, within a transaction; ``attempt_id`` is the opaque id of an
attempt; ``made_at`` is the time as ISO 8601; ``seq`` the place of an event in its log and ``click_id`` the press it
came from; ``source`` and ``marked_by`` say who marked; ``reason`` why an attempt ended; ``data`` is plain.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Table, func, select

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.chain import COLUMNS, Head, Link, link_hash
from simulator.records.rows import as_json, attempt_values, event_values
from simulator.texts import text

_NEW_HEADS = "heads to note"
_TABLES = {"event": tables.events, "marks": tables.marks, "ending": tables.endings}


def new_heads(connection: Connection) -> dict[str, Head]:
    """The chains that this transaction made longer, and where they end now."""
    found: dict[str, Head] = connection.info.setdefault(_NEW_HEADS, {})
    return found


def put_attempt(
    connection: Connection,
    attempt_id: str,
    record: dict[str, Any],
    made_at: str,
    number: int | None = None,
) -> None:
    """Add an attempt.

    Parameters
    ----------
    number : its place in the order of attempts [-] where it was begun elsewhere; else it comes after all that are here.

    Raises
    ------
    InputError : the record is not plain data, or a field of it cannot be stored.
    """
    if number is None:
        number = _next_number(connection)
    values = {"attempt_id": attempt_id, "number": number, "made_at": made_at, **attempt_values(record)}
    made = link_hash("", "record", [values[name] for name in COLUMNS["record"]])
    connection.execute(tables.attempts.insert().values(**values, hash=made))
    connection.execute(tables.heads.insert().values(attempt_id=attempt_id, count=1, hash=made))
    new_heads(connection)[attempt_id] = (1, made)


def _next_number(connection: Connection) -> int:
    most = [
        connection.execute(select(func.max(table.c.number))).scalar()
        for table in (tables.attempts, tables.stones)
    ]
    return 1 + max(each or 0 for each in most)


def put_event(
    connection: Connection,
    attempt_id: str,
    seq: int,
    event: dict[str, Any],
    click_id: str | None,
    made_at: str,
) -> None:
    """Add an event to the log of an attempt.

    Raises
    ------
    InputError : it is not plain data, or the chain of the attempt does not hold.
    """
    values = {"seq": seq, "click_id": click_id, "made_at": made_at, **event_values(event)}
    _extend(connection, tables.events, "event", attempt_id, values)


def put_events(
    connection: Connection, attempt_id: str, events: Sequence[tuple[int, dict[str, Any], str | None, str]]
) -> None:
    """Add many events to the log of an attempt at once, as a work file brings them.

    Parameters
    ----------
    events : the place in the log, the event, the id of its click and the time of each.

    Raises
    ------
    InputError : one is not plain data, or the chain of the attempt does not hold.
    """
    if not events:
        return
    count, made = _head_of(connection, attempt_id)
    rows = []
    for seq, event, click_id, made_at in events:
        values = {"seq": seq, "click_id": click_id, "made_at": made_at, **event_values(event)}
        made = link_hash(made, "event", [values[name] for name in COLUMNS["event"]])
        rows.append({"attempt_id": attempt_id, "link": count, "hash": made, **values})
        count += 1
    connection.execute(tables.events.insert(), rows)
    _note_head(connection, attempt_id, (count, made))


def put_as_it_was(connection: Connection, attempt_id: str, links: Sequence[Link]) -> Head:
    """Add links that were made elsewhere as they are, and give where the chain ends then.

    Parameters
    ----------
    links : in their order, each known to follow on the one before; the record first where the attempt is new here.
    """
    for link in links:
        values = dict(zip(COLUMNS[link.kind], link.values, strict=True))
        if link.kind == "record":
            connection.execute(tables.attempts.insert().values(**values, hash=link.hash))
            connection.execute(tables.heads.insert().values(attempt_id=attempt_id, count=1, hash=link.hash))
        else:
            place = {"attempt_id": attempt_id, "link": link.number, "hash": link.hash}
            connection.execute(_TABLES[link.kind].insert().values(**place, **values))
    head = (links[-1].number + 1, links[-1].hash)
    _note_head(connection, attempt_id, head)
    return head


def put_marks(
    connection: Connection,
    attempt_id: str,
    source: str,
    version: int,
    marked_by: str,
    sheet: dict[str, Any],
    made_at: str,
) -> None:
    """Add a version of an attempt's marks.

    Raises
    ------
    InputError : the sheet is not plain data, or the chain of the attempt does not hold.
    """
    values = {"source": source, "version": version, "marked_by": marked_by, "made_at": made_at}
    _extend(connection, tables.marks, "marks", attempt_id, {**values, "sheet": as_json(sheet)})


def put_ending(connection: Connection, attempt_id: str, reason: str, made_at: str) -> None:
    """Say that an attempt is not gone on with.

    Raises
    ------
    InputError : the chain of the attempt does not hold.
    """
    _extend(connection, tables.endings, "ending", attempt_id, {"reason": reason[:40], "made_at": made_at})


def put_progress(connection: Connection, attempt_id: str, data: dict[str, Any], made_at: str) -> None:
    """Write how far the page has shown over what stood there.

    Raises
    ------
    InputError : it is not plain data.
    """
    table, written = tables.progress, as_json(data)
    new = {"data": written, "made_at": made_at, "hash": progress_hash(attempt_id, written, made_at)}
    done = connection.execute(table.update().where(table.c.attempt_id == attempt_id).values(**new))
    if done.rowcount == 0:
        connection.execute(table.insert().values(attempt_id=attempt_id, **new))


def progress_hash(attempt_id: str, data: Any, made_at: Any) -> str:
    """Hash of a row of progress, in hexadecimal.

    Examples
    --------
    >>> len(progress_hash("a", "{}", "2030-01-01T00:00:00.000Z"))
    64
    """
    return hashlib.sha256(f"{attempt_id}\n{made_at}\n{data}".encode()).hexdigest()


def _extend(connection: Connection, table: Table, kind: str, attempt_id: str, values: dict[str, Any]) -> None:
    count, before = _head_of(connection, attempt_id)
    made = link_hash(before, kind, [values[name] for name in COLUMNS[kind]])
    connection.execute(table.insert().values(attempt_id=attempt_id, link=count, hash=made, **values))
    _note_head(connection, attempt_id, (count + 1, made))


def _head_of(connection: Connection, attempt_id: str) -> Head:
    h = tables.heads.c
    head = connection.execute(select(h.count, h.hash).where(h.attempt_id == attempt_id)).first()
    if head is None:
        raise InputError(
            text("records.no_head", attempt=attempt_id), "records", text("records.no_head_legal")
        )
    return int(head[0]), str(head[1])


def _note_head(connection: Connection, attempt_id: str, head: Head) -> None:
    longer = {"count": head[0], "hash": head[1]}
    where = tables.heads.c.attempt_id == attempt_id
    connection.execute(tables.heads.update().where(where).values(**longer))
    new_heads(connection)[attempt_id] = head
