"""Looking all chains over: what does not hold is named, what holds is counted. Nothing is written here.

Throughout: ``connection`` is one of SQLAlchemy's, within a transaction; ``attempt_id`` is the opaque id of an
attempt, ``attempt_ids`` are several.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Select, literal, select, union

from simulator.records import tables
from simulator.records.chain import COLUMNS, Broken, Head, Link, examine

_BATCH = 200  # attempts looked at together: bounds memory
_KINDS = {"event": tables.events, "marks": tables.marks, "ending": tables.endings}


@dataclass
class Findings:
    """What a look over the chains found.

    ``attempts`` and ``rows`` [-] hold; ``broken`` do not. ``ends`` is where sound chains end, ``wrong_heads`` those whose
    end the table of heads has wrong although their rows hold and agree with the file beside the database. ``aside`` were
    set aside before. ``digests`` are those of sound rows that had none, or another one.
    """

    attempts: int = 0
    rows: int = 0
    broken: list[Broken] = field(default_factory=list)
    ends: dict[str, Head] = field(default_factory=dict)
    wrong_heads: dict[str, Head] = field(default_factory=dict)
    aside: frozenset[str] = frozenset()
    digests: dict[str, str] = field(default_factory=dict)


def look_over(
    connection: Connection, beside: Mapping[str, Head], known: Mapping[str, str] | None = None
) -> Findings:
    """Look every chain of a database over.

    Parameters
    ----------
    beside : heads from the file beside the database, read before this transaction began; empty where there is none.
    known : digests from there; rows of the same digest are as they were when their chain was looked over.
    """
    aside = frozenset(
        str(each) for each in connection.execute(select(tables.set_aside.c.attempt_id)).scalars()
    )
    stones = set(connection.execute(select(tables.stones.c.hash)).scalars())
    out = Findings(aside=aside)
    there = set(all_ids(connection))
    removed = {key for key, head in beside.items() if key not in there and head[1] in stones}
    wanted = sorted((there | set(beside)) - aside - removed)
    digests = digests_of(connection) if beside else {}
    all_heads = _heads_of(connection, None) if known else {}
    unchanged = {
        key
        for key in wanted
        if known and key in known and known[key] == digests.get(key) and all_heads.get(key) == beside.get(key)
    }
    out.attempts += len(unchanged)
    out.rows += sum(beside[key][0] for key in unchanged)
    out.ends |= {key: beside[key] for key in unchanged}
    wanted = [key for key in wanted if key not in unchanged]
    for start in range(0, len(wanted), _BATCH):
        batch = wanted[start : start + _BATCH]
        links, heads = links_of(connection, batch), _heads_of(connection, batch)
        for attempt_id in batch:
            rows = links.get(attempt_id, [])
            head = heads.get(attempt_id)
            broken, end = examine(attempt_id, rows, head, beside.get(attempt_id))
            if broken is not None:
                out.broken.append(broken)
                continue
            out.attempts += 1
            out.rows += len(rows)
            out.ends[attempt_id] = end
            if attempt_id in digests:
                out.digests[attempt_id] = digests[attempt_id]
            if head != end:
                out.wrong_heads[attempt_id] = end
    return out


def all_ids(connection: Connection) -> Iterator[str]:
    """Ids of all attempts of which any row is there."""
    named = (tables.attempts, *_KINDS.values(), tables.heads)
    for found in connection.execute(union(*(select(table.c.attempt_id) for table in named))).scalars():
        yield str(found)


def links_of(connection: Connection, attempt_ids: Sequence[str]) -> dict[str, list[Link]]:
    """The rows of some attempts as links, by attempt, in no order."""
    out: dict[str, list[Link]] = {}
    for kind in COLUMNS:
        query = links_query(kind)
        row: Any
        for row in connection.execute(query.where(query.selected_columns[0].in_(attempt_ids))).all():
            out.setdefault(row[0], []).append(Link(row[1], kind, row[3:], row[2]))
    return out


def links_query(kind: str) -> Select[Any]:
    """What to ask for all rows of one kind: attempt, place in its chain, hash, and the columns under it."""
    table = tables.attempts if kind == "record" else _KINDS[kind]
    place = literal(0) if kind == "record" else table.c.link
    return select(table.c.attempt_id, place, table.c.hash, *(table.c[name] for name in COLUMNS[kind]))


def digests_of(connection: Connection) -> dict[str, str]:
    """A digest of all rows of each attempt, as SQLite spells them; nothing for other databases.

    All rows are read, but not one by one in Python: about a fifth of the time that looking at every link takes.
    """
    if connection.dialect.name != "sqlite":
        return {}
    sums: dict[str, Any] = {}
    spelt = [(tables.attempts, (*COLUMNS["record"], "hash"), "")]
    spelt += [
        (table, (*COLUMNS[kind], "link", "hash"), f"ORDER BY attempt_id, {COLUMNS[kind][0]}")
        for kind, table in _KINDS.items()
    ]
    for table, names, order in spelt:
        row = " || ',' || ".join(f"quote({name})" for name in names)
        rows = f"SELECT attempt_id, {row} AS spelt FROM {table.name} {order}"
        query = f"SELECT attempt_id, group_concat(spelt, ';') FROM ({rows}) GROUP BY attempt_id"
        for attempt_id, spelling in connection.exec_driver_sql(query):
            each = sums.setdefault(attempt_id, hashlib.sha256())
            each.update(f"{table.name}:{spelling}\n".encode())
    return {key: each.hexdigest() for key, each in sums.items() if isinstance(key, str)}


def head_of(connection: Connection, attempt_id: str) -> Head | None:
    """Where the chain of an attempt ends by the table of heads."""
    return _heads_of(connection, [attempt_id]).get(attempt_id)


def _heads_of(connection: Connection, attempt_ids: Sequence[str] | None) -> dict[str, Head]:
    h = tables.heads.c
    query = select(h.attempt_id, h.count, h.hash)
    rows = connection.execute(query if attempt_ids is None else query.where(h.attempt_id.in_(attempt_ids)))
    return {row[0]: _as_head(row[1], row[2]) for row in rows}


def _as_head(count: Any, last: Any) -> Head:
    """A head as it was read; what damage made of one cannot be one, and agrees with no chain."""
    fits = type(count) is int and count >= 0
    return (count, str(last)) if fits else (0, "damaged")
