"""What can still be read of a damaged file, taken over into a new one; the damaged one is kept."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, literal_column
from sqlalchemy.exc import SQLAlchemyError

from simulator.errors import InputError
from simulator.records.aside import put_links
from simulator.records.chain import COLUMNS, Link, examine
from simulator.records.checking import links_query
from simulator.records.connect import read_only
from simulator.records.failures import sentences
from simulator.records.heads import Heads
from simulator.records.keeping import there
from simulator.records.private import BESIDE
from simulator.records.store import Store
from simulator.texts import text


@dataclass(frozen=True)
class Rescued:
    """What was taken over: attempts and steps [-], of those how many were cut short, steps that are lost, attempts that
    were left out as they are not those that were kept here, and where the damaged file is."""

    attempts: int
    rows: int
    short: int
    lost: int
    others: int
    before: Path


def rescue(path: Path | str | None = None) -> Rescued:
    """Put a new file in the place of a damaged one, with every attempt as far as its chain can be read and holds.

    A chain that holds by itself and yet is not the one that the list beside the records knows is left out: a log or a
    file of other records got between.

    path: the records file, or the folder it lies in; None for the user's own. All lessons must be closed: whoever has
    the damaged file open goes on writing to that.

    Raises
    ------
    InputError : there are no records, or nothing of them can be read; all is as it was then.
    """
    source = there(path)
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    fresh = source.with_name(f"{source.name}.rescued-{stamp}")
    beside = Heads(source).read()
    noted = beside.heads
    nothing = InputError(text("records.rescue.nothing"), str(source), text("records.rescue.nothing_legal"))
    foreign = {"file is not a database": nothing}
    attempts = rows = short = others = 0
    try:
        with Store.open(fresh) as store, sentences(str(source), foreign), read_only(source) as connection:
            for attempt_id, front, whole in _sound(connection):
                if not _as_noted(front, beside.on_the_way.get(attempt_id, {})):
                    others += 1
                    continue
                with suppress(InputError), store.transaction() as taken:
                    record = dict(zip(COLUMNS["record"], front[0].values, strict=True))["record"]
                    put_links(taken, attempt_id, front, json.loads(record))
                    attempts, rows = attempts + 1, rows + len(front)
                    short += not whole or len(front) < noted.get(attempt_id, (0, ""))[0]
        if not attempts and others:
            raise InputError(
                text("records.rescue.not_ours"), str(source), text("records.rescue.not_ours_legal")
            )
        if not attempts:
            raise nothing
        before = source.with_name(f"{source.name}.before-rescue-{stamp}")
        for end in BESIDE:
            _move(source, before, end)
        for end in BESIDE:
            _move(fresh, source, end)
    finally:
        for end in BESIDE:
            fresh.with_name(fresh.name + end).unlink(missing_ok=True)
    lost = max(sum(count for count, _ in noted.values()) - rows, 0)
    return Rescued(attempts, rows, short, lost, others, before)


def _as_noted(front: list[Link], noted: Mapping[int, str]) -> bool:
    """Whether the links are those that were noted while they were kept, wherever that can be told."""
    return all(front[count - 1].hash == known for count, known in noted.items() if 0 < count <= len(front))


def _move(old: Path, new: Path, end: str) -> None:
    each = old.with_name(old.name + end)
    if each.exists():
        each.rename(new.with_name(new.name + end))


def _sound(connection: Connection) -> Iterator[tuple[str, list[Link], bool]]:
    """Every attempt whose record can be read: its sound front part, and whether that is all that could be read of it."""
    found: dict[str, set[Link]] = {}
    for kind in COLUMNS:
        for attempt_id, link in _readable(connection, kind):
            found.setdefault(attempt_id, set()).add(link)
    for attempt_id, links in found.items():
        broken, end = examine(attempt_id, links, None, None)
        if end[0]:
            rows = sorted(links, key=lambda link: link.number if type(link.number) is int else 2**62)
            yield attempt_id, rows[: end[0]], broken is None


def _readable(connection: Connection, kind: str) -> Iterator[tuple[str, Link]]:
    """Rows of a kind from both ends of their table, past no index, up to the damage."""
    query = links_query(kind)
    for direction in ("ASC", "DESC"):
        with suppress(SQLAlchemyError, OverflowError, TypeError):
            for row in connection.execute(query.order_by(literal_column(f"rowid {direction}"))):
                yield str(row[0]), Link(row[1], kind, tuple(row[3:]), row[2])
