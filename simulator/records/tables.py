"""The tables of the records and their schema number."""

from __future__ import annotations

from sqlalchemy import (
    DDL,
    Column,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    event,
)

#: Number of the record schema this program writes; a higher one in a file is refused.
RECORD_SCHEMA = 1
#: Marks a file as ours in its SQLite header, so that another program's database is never written to.
APPLICATION_ID = 0x43_4F_52_31

metadata = MetaData()

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
    Column("learner", String(80), nullable=False, index=True),
    Column("lesson", String(80), nullable=False),
    Column("mode", String(20), nullable=False),
    Column("seed", Integer, nullable=False),
    Column("scenario_hash", String(64), nullable=False),
    Column("model_version", String(40), nullable=False),
    Column("record", Text, nullable=False),  # JSON, the scenario included
    Column("made_at", String(32), nullable=False),  # UTC, ISO 8601
)

events = Table(
    "events",
    metadata,
    Column("attempt_id", String(64), ForeignKey("attempts.attempt_id"), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("click_id", String(80)),
    Column("yard_minutes", Float),  # [min]
    Column("run_seconds", Float),  # [s]
    Column("kind", String(40), nullable=False),
    Column("payload", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
    UniqueConstraint("attempt_id", "click_id"),
)

marks = Table(
    "marks",
    metadata,
    Column("attempt_id", String(64), ForeignKey("attempts.attempt_id"), primary_key=True),
    Column("source", String(20), primary_key=True),  # automatic or trainer
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("marked_by", String(80), nullable=False),
    Column("sheet", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
)

endings = Table(
    "endings",
    metadata,
    Column("attempt_id", String(64), ForeignKey("attempts.attempt_id"), primary_key=True),
    Column("reason", String(40), nullable=False),
    Column("made_at", String(32), nullable=False),
)

progress = Table(
    "progress",
    metadata,
    Column("attempt_id", String(64), ForeignKey("attempts.attempt_id"), primary_key=True),
    Column("data", Text, nullable=False),  # JSON
    Column("made_at", String(32), nullable=False),
)

# What happened stays: even a slip of the hand in a database browser cannot change the log or a mark.
for _table in (attempts, events, marks, endings):
    for _act in ("UPDATE", "DELETE"):
        event.listen(
            _table,
            "after_create",
            DDL(
                f"CREATE TRIGGER IF NOT EXISTS {_table.name}_no_{_act.lower()} "
                f"BEFORE {_act} ON {_table.name} "
                f"BEGIN SELECT RAISE(ABORT, '{_table.name} are append-only'); END"
            ).execute_if(dialect="sqlite"),
        )
