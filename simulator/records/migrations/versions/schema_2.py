"""From schema 1 to 2: order by number, chains by hash with their heads, stones, and attempts set aside.

The order in which rows were written is kept where the database knows it (SQLite's rowid), else their times give it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from alembic import op

from simulator.records.chain import COLUMNS, link_hash
from simulator.records.writing import progress_hash

revision = "schema_2"
down_revision = "schema_1"

GUARDED = ("attempts", "events", "marks", "endings", "stones", "set_aside")


def _attempt_id() -> sa.Column[str]:
    return sa.Column("attempt_id", sa.String(64), sa.ForeignKey("attempts.attempt_id"), primary_key=True)


def _text(name: str, length: int, **more: Any) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), nullable=False, **more)


def _long(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _number(name: str, **more: Any) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, nullable=False, **more)


def _tables() -> dict[str, tuple[Any, ...]]:
    chained = (lambda: _number("link"), lambda: _text("hash", 64))
    return {
        "attempts": (
            sa.Column("attempt_id", sa.String(64), primary_key=True),
            _number("number", index=True),
            _text("learner", 80, index=True),
            *(_text("lesson", 80), _text("mode", 20), _number("seed"), _text("scenario_hash", 64)),
            *(_text("model_version", 40), _long("record"), _text("made_at", 32), _text("hash", 64)),
        ),
        "events": (
            *(_attempt_id(), _number("seq", primary_key=True, autoincrement=False)),
            *(sa.Column("click_id", sa.String(80)), sa.Column("yard_minutes", sa.Float)),
            *(sa.Column("run_seconds", sa.Float), _text("kind", 40), _long("payload"), _text("made_at", 32)),
            *(make() for make in chained),
            sa.UniqueConstraint("attempt_id", "click_id"),
        ),
        "marks": (
            *(_attempt_id(), _text("source", 20, primary_key=True)),
            *(_number("version", primary_key=True, autoincrement=False), _text("marked_by", 80)),
            *(_long("sheet"), _text("made_at", 32)),
            *(make() for make in chained),
        ),
        "endings": (
            *(_attempt_id(), _text("reason", 40), _text("made_at", 32)),
            *(make() for make in chained),
        ),
        "progress": (_attempt_id(), _long("data"), _text("made_at", 32), _text("hash", 64)),
        "heads": (_text("attempt_id", 64, primary_key=True), _number("count"), _text("hash", 64)),
        "stones": (
            *(_text("hash", 64, primary_key=True), _number("number"), _number("count")),
            _text("made_at", 32),
        ),
        "set_aside": (
            *(_text("attempt_id", 64, primary_key=True), _long("reason"), _text("kept_as", 64)),
            _text("made_at", 32),
        ),
    }


def upgrade() -> None:
    """Read all rows, make the tables anew, and put the rows back with their numbers and chains."""
    rows = _chained(_read())
    for name in ("progress", "endings", "marks", "events", "attempts"):
        op.drop_table(name)
    for name, columns in _tables().items():
        made = op.create_table(name, *columns)
        assert made is not None
        if rows.get(name):
            op.bulk_insert(made, rows[name])
    if op.get_bind().dialect.name == "sqlite":
        for name in GUARDED:
            for act in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {name}_no_{act.lower()} BEFORE {act} ON {name} "
                    f"BEGIN SELECT RAISE(ABORT, '{name} are append-only'); END"
                )
    op.execute("UPDATE meta SET value = '2' WHERE name = 'record_schema'")


def _read() -> dict[str, list[dict[str, Any]]]:
    bind = op.get_bind()
    lite = bind.dialect.name == "sqlite"
    orders = {
        "attempts": "made_at, attempt_id",
        "events": "attempt_id, seq",
        "marks": "made_at, source, version",
        "endings": "made_at",
        "progress": "made_at",
    }
    return {
        name: [
            dict(row._mapping)
            for row in bind.execute(
                sa.text(f"SELECT * FROM {name} ORDER BY {'rowid' if lite and name != 'events' else order}")
            )
        ]
        for name, order in orders.items()
    }


def _chained(rows: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    heads: dict[str, tuple[int, str]] = {}
    for number, row in enumerate(rows["attempts"], start=1):
        row["number"] = number
        row["hash"] = link_hash("", "record", _values(row, COLUMNS["record"]))
        heads[row["attempt_id"]] = (1, row["hash"])
    for name, kind in (("events", "event"), ("marks", "marks"), ("endings", "ending")):
        for row in rows[name]:
            count, before = heads[row["attempt_id"]]
            row["link"], row["hash"] = count, link_hash(before, kind, _values(row, COLUMNS[kind]))
            heads[row["attempt_id"]] = (count + 1, row["hash"])
    for row in rows["progress"]:
        row["hash"] = progress_hash(row["attempt_id"], row["data"], row["made_at"])
    rows["heads"] = [
        {"attempt_id": key, "count": count, "hash": last} for key, (count, last) in heads.items()
    ]
    return rows


def _values(row: dict[str, Any], names: Sequence[str]) -> list[Any]:
    return [row[name] for name in names]
