"""Records of the release before are brought up by Alembic, with nothing lost and a copy of the file as it was."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest
from sqlalchemy import create_engine, inspect

import simulator.records.opening as opening
from simulator.errors import InputError
from simulator.records import Store, export_csv, jobs
from simulator.records.connect import file_url, new_engine
from simulator.records.heads import Heads
from simulator.records.migrations import bring_up, scripts
from simulator.records.tables import RECORD_SCHEMA
from simulator.texts import text

ROOT = Path(__file__).parents[2]
#: Written by the release that had schema 1; every person in it is made up.
OLD = Path(__file__).parent / "data" / "schema_1.sql"


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "records.sqlite3"
    connection = sqlite3.connect(path)
    connection.executescript(OLD.read_text(encoding="utf-8"))
    connection.close()
    return path


def test_records_of_schema_1_open_with_all_that_was_in_them(old: Path) -> None:
    before = sqlite3.connect(old)
    events = before.execute("SELECT attempt_id, seq, click_id, payload, made_at FROM events").fetchall()
    marks = before.execute(
        "SELECT attempt_id, source, version, marked_by, sheet, made_at FROM marks"
    ).fetchall()
    before.close()
    with Store.open(old) as store:
        assert store.notices == ()
        assert [row.attempt_id[:4] for row in store.list_attempts()] == [
            "aaaa",
            "bbbb",
            "cccc",
            "dddd",
            "a177",
        ]
        assert [row.events for row in store.list_attempts()] == [4, 3, 1, 0, 0]
        assert [row.finished for row in store.list_attempts()] == [False, True, False, True, True]
        assert store.progress("a" * 32) == {"run": 0, "shown_s": 12.5}
        assert store.events("c" * 32)[0]["answer"] == "ü ☃"
        assert jobs(store, "Rue")[0][1].steps == ("Walk round", "Blank off")
        # the clock had been set back: order is as it was written
        assert [m.sheet["total"] for m in store.marks("b" * 32)] == [80, 25, 5]
        assert [row.attempt_id for row in store.list_attempts("Ash", "03") if not row.finished][
            -1
        ] == "c" * 32
        store.append_event("c" * 32, 1, {"kind": "answer"}, "next")
    after = sqlite3.connect(old)
    there = after.execute("SELECT attempt_id, seq, click_id, payload, made_at FROM events").fetchall()
    assert set(events) < set(there)
    kept = after.execute(
        "SELECT attempt_id, source, version, marked_by, sheet, made_at FROM marks"
    ).fetchall()
    assert sorted(marks) == sorted(kept)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        after.execute("UPDATE events SET payload = ''")
    assert after.execute("PRAGMA foreign_key_check").fetchall() == []
    after.close()
    with Store.open(old) as store:
        assert store.notices == ()


def test_the_file_as_it_was_is_kept_beside(old: Path) -> None:
    Store.open(old).close()
    copy = sqlite3.connect(old.with_name("records.sqlite3.schema-1"))
    assert copy.execute("SELECT value FROM meta").fetchall() == [("1",)]
    assert copy.execute("SELECT count(*) FROM events").fetchone() == (8,)
    copy.close()


def structure(path: Path) -> dict[str, object]:
    found = inspect(create_engine(f"sqlite:///{path}"))
    out: dict[str, object] = {}
    for name in found.get_table_names():
        columns = [(c["name"], str(c["type"]), c["nullable"]) for c in found.get_columns(name)]
        keys = (found.get_pk_constraint(name)["constrained_columns"], found.get_foreign_keys(name))
        unique = [each["column_names"] for each in found.get_unique_constraints(name)]
        indexes = sorted((each["name"], tuple(each["column_names"])) for each in found.get_indexes(name))
        out[name] = (columns, keys, unique, indexes)
    connection = sqlite3.connect(path)
    triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
    out["triggers"] = triggers.fetchall()
    out["stamp"] = connection.execute("SELECT version_num FROM alembic_version").fetchall()
    out["schema"] = connection.execute("SELECT value FROM meta").fetchall()
    connection.close()
    return out


def test_brought_up_and_new_files_are_alike(old: Path, tmp_path: Path) -> None:
    Store.open(old).close()
    new = tmp_path / "new.sqlite3"
    Store.open(new).close()
    assert structure(old) == structure(new)


def test_the_newest_step_is_the_schema_in_use() -> None:
    assert scripts().get_current_head() == f"schema_{RECORD_SCHEMA}"
    steps = resources.files("simulator.records.migrations.versions")
    assert {f"schema_{n}.py" for n in range(1, RECORD_SCHEMA + 1)} <= {each.name for each in steps.iterdir()}


def test_a_step_that_fails_leaves_the_file_as_it_was(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import simulator.records.chain as chain

    script = scripts().get_revision("schema_2").module

    def fail(*arguments: object) -> str:
        raise InputError("no room", "records")

    assert chain.link_hash is script.link_hash
    monkeypatch.setattr(opening, "_copy_before", lambda path, schema: None)
    monkeypatch.setattr(chain, "link_hash", fail)  # each step is loaded anew and takes it from there
    with pytest.raises(InputError, match="no room"):
        Store.open(old)
    monkeypatch.undo()
    check = sqlite3.connect(old)
    assert check.execute("SELECT value FROM meta").fetchall() == [("1",)]
    assert check.execute("SELECT count(*) FROM events").fetchone() == (8,)
    check.close()
    with Store.open(old) as store:
        assert len(store.list_attempts()) == 5


OPEN = """
import sys
from simulator.records import Store
with Store.open(sys.argv[1]) as store:
    assert len(store.list_attempts()) == 5
    assert store.notices == (), store.notices
"""


@pytest.mark.full
def test_two_processes_bring_one_file_up_at_once(old: Path) -> None:
    asked = [sys.executable, "-c", OPEN, str(old)]
    both = [subprocess.Popen(asked, cwd=ROOT, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    said = [each.communicate(timeout=120)[1] for each in both]
    assert [each.returncode for each in both] == [0, 0], said
    with Store.open(old) as store:
        assert [len(store.events(row.attempt_id)) for row in store.list_attempts()] == [4, 3, 1, 0, 0]


def test_a_list_that_is_still_to_be_made_is_not_told_as_lost(old: Path) -> None:
    engine = new_engine(file_url(old))
    bring_up(engine)  # as far as another process has come that opened the file first
    engine.dispose()
    with Store.open(old) as store:
        assert store.notices == ()
    Heads(old).path.unlink()
    with Store.open(old) as store:
        assert store.notices == (text("records.heads_missing"),)


def test_the_release_before_does_not_write_into_what_was_brought_up(old: Path) -> None:
    Store.open(old).close()
    connection = sqlite3.connect(old)
    with pytest.raises(sqlite3.IntegrityError, match="NOT NULL"):
        connection.execute(
            "INSERT INTO events (attempt_id, seq, click_id, kind, payload, made_at) VALUES (?, 1, 'x', '', '{}', '')",
            ("c" * 32,),
        )
    connection.close()


def test_the_clock_set_back_changes_no_order(tmp_path: Path) -> None:
    from datetime import UTC, datetime

    days = iter([5, 4, 3, 2, 1, 1, 1])
    with Store.open(tmp_path, now=lambda: datetime(2030, 1, next(days), tzinfo=UTC)) as store:
        first = store.create_attempt({"learner": "Ash", "lesson": "03"})
        second = store.create_attempt({"learner": "Ash", "lesson": "03"})
        assert [row.attempt_id for row in store.list_attempts("Ash", "03") if not row.finished][-1] == second
        assert [row.attempt_id for row in store.list_attempts()] == [first, second]
        store.save_marks(first, {"total": 80}, source="trainer", marked_by="Wren")
        store.save_marks(first, {"total": 5}, source="trainer", marked_by="Wren")
        assert store.marks(first, "trainer")[-1].sheet["total"] == 5
        assert "total:5" in export_csv(store, "marks").splitlines()[-1].replace('"', "").replace(" ", "")
