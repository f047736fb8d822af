"""The tables of the records and their schema number.

Throughout: ``connection`` is one of SQLAlchemy's, within a transaction.
"""

from __future__ import annotations

from sqlalchemy import (
    DDL,
    Column,
    Connection,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    UniqueConstraint,
    event,
)

#: Number of the record schema this program writes; a higher one in a file is refused, a lower one is brought up.
RECORD_SCHEMA = 2
#: Marks a file as ours in its SQLite header, so that another program's database is never written to.
APPLICATION_ID = 0x43_4F_52_31

metadata = MetaData()


def _attempt_id(key: bool = True) -> Column[str]:
    return Column("attempt_id", String(64), ForeignKey("attempts.attempt_id"), primary_key=key)


def _chained() -> tuple[Column[int], Column[str]]:
    """Place in the chain of the attempt, and the hash of the row and all before it; see ``chain``."""
    return Column("link", Integer, nullable=False), Column("hash", String(64), nullable=False)


#: In ``meta`` from when a file was brought up until its list of heads is made: that there is none is no loss yet.
LIST_DUE = "list_due"
meta = Table(
    "meta",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("value", Text, nullable=False),
)

attempts = Table(
    "attempts",
    metadata,
    Column("attempt_id", String(64), primary_key=True),
    # One more than any known when it was begun: order that no clock can change. Two of different places may be alike.
    Column("number", Integer, nullable=False, index=True),
    Column("learner", String(80), nullable=False, index=True),
    Column("lesson", String(80), nullable=False),
    Column("mode", String(20), nullable=False),
    Column("seed", Integer, nullable=False),
    Column("scenario_hash", String(64), nullable=False),
    Column("model_version", String(40), nullable=False),
    Column("record", Text, nullable=False),  # JSON, the scenario included
    Column("made_at", String(32), nullable=False),  # UTC, ISO 8601
    Column("hash", String(64), nullable=False),  # link 0 of its chain
)

events = Table(
    "events",
    metadata,
    _attempt_id(),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("click_id", String(80)),
    Column("yard_minutes", Float),  # [min]
    Column("run_seconds", Float),  # [s]
    Column("kind", String(40), nullable=False),
    Column("payload", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
    *_chained(),
    UniqueConstraint("attempt_id", "click_id"),
)

marks = Table(
    "marks",
    metadata,
    _attempt_id(),
    Column("source", String(20), primary_key=True),  # automatic or trainer
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("marked_by", String(80), nullable=False),
    Column("sheet", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
    *_chained(),
)

endings = Table(
    "endings",
    metadata,
    _attempt_id(),
    Column("reason", String(40), nullable=False),
    Column("made_at", String(32), nullable=False),
    *_chained(),
)

progress = Table(
    "progress",
    metadata,
    _attempt_id(),
    Column("data", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
    Column(
        "hash", String(64), nullable=False
    ),  # of the row alone: it is written over, and stands in no chain
)

#: Where each chain ends. The same stands in a file beside the database; see ``heads``.
heads = Table(
    "heads",
    metadata,
    Column("attempt_id", String(64), primary_key=True),
    Column("count", Integer, nullable=False),
    Column("hash", String(64), nullable=False),
)

#: What stands where a person's attempt was taken out: how long its chain was and how it ended, and no name.
stones = Table(
    "stones",
    metadata,
    Column("hash", String(64), primary_key=True),
    Column("number", Integer, nullable=False),
    Column("count", Integer, nullable=False),
    Column("made_at", String(32), nullable=False),
)

#: Attempts that no page shows any more because a row of theirs is altered or lost; their rows stay where they are.
set_aside = Table(
    "set_aside",
    metadata,
    Column("attempt_id", String(64), primary_key=True),
    Column("reason", Text, nullable=False),
    Column(
        "kept_as", String(64), nullable=False
    ),  # the attempt that holds its sound front part; may be empty
    Column("made_at", String(32), nullable=False),
)

#: Alembic's own: the latest migration that these tables are at.
alembic_version = Table(
    "alembic_version",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)

APPEND_ONLY = (attempts, events, marks, endings, stones, set_aside)


def guards(table: str) -> list[tuple[str, str]]:
    """Names and statements of the triggers that keep a table's rows as they are."""
    refuse = f"BEGIN SELECT RAISE(ABORT, '{table} are append-only'); END"
    named = [(f"{table}_no_{act.lower()}", act) for act in ("UPDATE", "DELETE")]
    return [
        (name, f"CREATE TRIGGER IF NOT EXISTS {name} BEFORE {act} ON {table} {refuse}") for name, act in named
    ]


# What happened stays: even a slip of the hand in a database browser cannot change the log or a mark.
for _table in APPEND_ONLY:
    for _, _statement in guards(_table.name):
        event.listen(_table, "after_create", DDL(_statement).execute_if(dialect="sqlite"))


def unguard(connection: Connection, *names: str) -> None:
    """Take the triggers of tables away within a transaction, to be put back by :func:`guard` before its end."""
    if connection.dialect.name == "sqlite":
        for name in names:
            for trigger, _ in guards(name):
                connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {trigger}")


def guard(connection: Connection, *names: str) -> None:
    """Put the triggers of tables in place."""
    if connection.dialect.name == "sqlite":
        for name in names:
            for _, statement in guards(name):
                connection.exec_driver_sql(statement)
