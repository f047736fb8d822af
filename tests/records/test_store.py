"""The store: append-only, idempotent by click, versioned marks, exports."""

from __future__ import annotations

import csv
import io
import json
import math
import sqlite3
import threading
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.errors import InputError
from simulator.records import Store, data_folder, export_csv
from simulator.records.rows import MAX_CHARACTERS
from tests.conftest import examples

RECORD = {
    "learner": "Ash",
    "lesson": "09",
    "mode": "practice",
    "seed": 7,
    "scenario": {"rig": "osier"},
    "scenario_hash": "a" * 64,
    "model_version": "0.1.0",
}
EVENT = {"kind": "check", "id": "walk_round", "yard_minutes": 3.5, "run_seconds": 22.0}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    with Store.open(tmp_path / "records.sqlite3") as opened:
        yield opened


def test_an_attempt_is_kept_over_closing(tmp_path: Path) -> None:
    with Store.open(tmp_path) as store:
        attempt = store.create_attempt(RECORD)
        assert store.append_event(attempt, 0, EVENT, "click 1") == EVENT
        store.append_event(attempt, 1, {"kind": "note"})
        store.append_event(attempt, 2, {"act": "wait", "yard_minutes": "soon"})
        store.set_progress(attempt, {"run": 0, "shown_s": 12.5})
        store.set_progress(attempt, {"run": 0, "shown_s": 13.0})
    assert (tmp_path / "records.sqlite3").exists()
    with Store.open(tmp_path) as store:
        assert store.attempt_record(attempt) == RECORD
        assert store.events(attempt) == [EVENT, {"kind": "note"}, {"act": "wait", "yard_minutes": "soon"}]
        assert store.get_progress(attempt) == store.progress(attempt) == {"run": 0, "shown_s": 13.0}
        log = store.log(attempt)
    assert [(e.seq, e.click_id, e.kind) for e in log] == [
        (0, "click 1", "check"),
        (1, None, "note"),
        (2, None, "wait"),
    ]
    assert (log[0].yard_minutes, log[0].run_seconds, log[2].yard_minutes) == (3.5, 22.0, None)
    assert datetime.fromisoformat(log[0].made_at).tzinfo == UTC
    assert log[0].made_at.endswith("Z")


def test_ids_tell_nothing_and_are_not_given_twice(store: Store) -> None:
    first, second = store.create_attempt(RECORD), store.create_attempt(RECORD)
    assert first != second
    assert "osier" not in first
    assert store.create_attempt(RECORD, "mine") == "mine"
    with pytest.raises(InputError, match="there already"):
        store.create_attempt(RECORD, "mine")


def test_times_are_utc_whatever_the_clock_says(tmp_path: Path) -> None:
    there = timezone(timedelta(hours=5, minutes=30))
    with Store.open(tmp_path, now=lambda: datetime(2030, 1, 2, 3, 4, 5, tzinfo=there)) as store:
        store.create_attempt(RECORD)
        assert store.list_attempts()[0].made_at == "2030-01-01T21:34:05.000Z"


def test_a_click_acts_once(store: Store) -> None:
    attempt, other = store.create_attempt(RECORD), store.create_attempt(RECORD)
    store.append_event(attempt, 0, EVENT, "click 1")
    assert store.append_event(attempt, 0, EVENT, "click 1") == EVENT
    assert store.append_event(attempt, 0, dict(reversed(EVENT.items())), "click 1") == EVENT
    assert len(store.events(attempt)) == 1
    with pytest.raises(InputError, match="other content"):
        store.append_event(attempt, 1, {"kind": "remedy"}, "click 1")
    assert len(store.events(attempt)) == 1
    store.append_event(other, 0, EVENT, "click 1")  # the id is one attempt's own


def test_the_log_has_no_gap_and_no_fork(store: Store) -> None:
    attempt = store.create_attempt(RECORD)
    store.append_event(attempt, 0, EVENT, "a")
    for seq in (0, 2, -1):
        with pytest.raises(InputError, match="not the next") as caught:
            store.append_event(attempt, seq, EVENT, "b")
        assert "event 1" in caught.value.legal
    with pytest.raises(InputError, match="no attempt"):
        store.append_event("nobody", 0, EVENT)


def test_unknown_attempts(store: Store) -> None:
    for act in (
        lambda: store.attempt_record("x"),
        lambda: store.events("x"),
        lambda: store.log("x"),
        lambda: store.marks("x"),
        lambda: store.save_marks("x", {}),
        lambda: store.set_progress("x", {}),
        lambda: store.end_attempt("x"),
    ):
        with pytest.raises(InputError, match="no attempt 'x'"):
            act()
    assert store.get_progress("x") is None
    assert store.list_attempts() == []


@pytest.mark.parametrize("odd", [{"a": math.nan}, {"a": math.inf}, {"a": object()}, {"a": {1}}, {"a": b"x"}])
def test_what_json_cannot_keep_is_refused(store: Store, odd: dict[str, object]) -> None:
    attempt = store.create_attempt(RECORD)
    for act in (
        lambda: store.append_event(attempt, 0, odd),
        lambda: store.save_marks(attempt, odd),
        lambda: store.set_progress(attempt, odd),
        lambda: store.create_attempt({**RECORD, **odd}),
    ):
        with pytest.raises(InputError, match="JSON"):
            act()
    assert store.events(attempt) == []
    assert len(store.list_attempts()) == 1


def test_what_is_too_large_or_no_name(store: Store) -> None:
    with pytest.raises(InputError, match="too large"):
        store.create_attempt({**RECORD, "scenario": "x" * MAX_CHARACTERS})
    for key, value in (
        ("learner", "a" * 81),
        ("learner", "a\nb"),
        ("seed", -1),
        ("seed", 1.5),
        ("seed", True),
    ):
        with pytest.raises(InputError, match=key):
            store.create_attempt({**RECORD, key: value})


def test_the_database_itself_refuses_changes(tmp_path: Path) -> None:
    with Store.open(tmp_path) as store:
        attempt = store.create_attempt(RECORD)
        store.append_event(attempt, 0, EVENT, "a")
        store.save_marks(attempt, {"total": 80})
        store.end_attempt(attempt)
    connection = sqlite3.connect(tmp_path / "records.sqlite3")
    for table in ("events", "attempts", "marks", "endings"):
        for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET made_at = 'x'"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                connection.execute(statement)
    with pytest.raises(sqlite3.IntegrityError):
        connection.execute("INSERT INTO events SELECT * FROM events")
    connection.close()
    with Store.open(tmp_path) as store:
        assert store.events(attempt) == [EVENT]


def test_sqlite_is_set_up_for_a_class(tmp_path: Path) -> None:
    with Store.open(tmp_path) as store, store._database.engine.connect() as connection:
        pragma = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    full = 2  # https://www.sqlite.org/pragma.html#pragma_synchronous (from memory)
    assert pragma == {"journal_mode": "wal", "synchronous": full, "foreign_keys": 1, "busy_timeout": 15_000}


def test_full_sync_comes_back_after_progress(tmp_path: Path) -> None:
    with Store.open(tmp_path) as store:
        attempt = store.create_attempt(RECORD)
        store.set_progress(attempt, {"run": 1})
        with pytest.raises(InputError):
            store.set_progress("x", {"run": 1})
        with store._database.engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2


def test_marks_of_machine_and_trainer_stand_apart(store: Store) -> None:
    attempt = store.create_attempt(RECORD)
    assert store.save_marks(attempt, {"total": 80}) == 1
    assert store.save_marks(attempt, {"total": 80}) == 1  # the same again is no new version
    assert store.save_marks(attempt, {"total": 82}) == 2
    assert store.save_marks(attempt, {"total": 90}, source="trainer", marked_by="Wren") == 1
    assert store.save_marks(attempt, {"total": 80}) == 3
    assert [(m.version, m.sheet["total"]) for m in store.marks(attempt, "automatic")] == [
        (1, 80),
        (2, 82),
        (3, 80),
    ]
    (trainer,) = store.marks(attempt, "trainer")
    assert (trainer.marked_by, trainer.sheet) == ("Wren", {"total": 90})
    assert len(store.marks(attempt)) == 4
    with pytest.raises(InputError, match="automatic or trainer"):
        store.save_marks(attempt, {}, source="robot")  # type: ignore[arg-type]


def open_attempts(store: Store, learner: str, lesson: str) -> list[str]:
    """Ids of a learner's attempts at a lesson that are not finished, as pages look for them."""
    return [row.attempt_id for row in store.list_attempts(learner, lesson) if not row.finished]


def test_which_attempts_are_unfinished(tmp_path: Path) -> None:
    ticks = iter(datetime(2030, 1, 1, tzinfo=UTC) + timedelta(minutes=n) for n in range(1000))
    with Store.open(tmp_path, now=lambda: next(ticks)) as store:
        assert open_attempts(store, "Ash", "09") == []
        first, second = store.create_attempt(RECORD), store.create_attempt(RECORD)
        other = store.create_attempt({**RECORD, "learner": "Rue"})
        store.create_attempt({**RECORD, "lesson": "01"})
        assert open_attempts(store, "Ash", "09") == [first, second]
        store.save_marks(second, {"total": 1}, source="trainer")
        assert open_attempts(store, "Ash", "09")[-1] == second  # a trainer's remark does not end it
        store.save_marks(second, {"total": 1})
        assert open_attempts(store, "Ash", "09") == [first]
        store.end_attempt(first)
        store.end_attempt(first, "again")
        assert open_attempts(store, "Ash", "09") == []
        assert open_attempts(store, "Rue", "09") == [other]
        store.append_event(other, 0, EVENT)
        rows = store.list_attempts("Rue")
        assert [(r.attempt_id, r.events, r.finished) for r in rows] == [(other, 1, False)]
        assert [(r.lesson, r.finished) for r in store.list_attempts("Ash")] == [
            ("09", True),
            ("09", True),
            ("01", False),
        ]


def test_exports_read_back(store: Store) -> None:
    attempt = store.create_attempt({**RECORD, "learner": "=1+1"})
    store.create_attempt({**RECORD, "learner": 'Ås, "the" quick'})
    store.append_event(attempt, 0, EVENT, "a")
    store.save_marks(attempt, {"total": 80})
    # both may be made within one millisecond, and then stand in either order
    attempts = {row["learner"]: row for row in csv.DictReader(io.StringIO(export_csv(store)))}
    assert attempts.keys() == {"'=1+1", 'Ås, "the" quick'}
    assert attempts["'=1+1"]["events"] == "1"
    (event,) = csv.DictReader(io.StringIO(export_csv(store, "events", "=1+1")))
    assert (event["yard_min"], event["run_s"], event["kind"]) == ("3.5", "22.0", "check")
    assert json.loads(event["payload_json"]) == EVENT
    (mark,) = csv.DictReader(io.StringIO(export_csv(store, "marks")))
    assert json.loads(mark["sheet_json"]) == {"total": 80}
    with pytest.raises(InputError, match="attempts, events, marks"):
        export_csv(store, "secrets")  # type: ignore[arg-type]


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


@pytest.mark.full
@settings(deadline=None, max_examples=examples(50))
@given(st.lists(st.dictionaries(st.text(max_size=6), VALUES, max_size=4), max_size=5))
def test_any_plain_events_come_back_as_they_were(events: list[dict[str, object]]) -> None:
    with Store.open("sqlite://") as store:
        attempt = store.create_attempt(RECORD)
        for seq, event in enumerate(events):
            assert store.append_event(attempt, seq, event, f"click {seq}") == event
        assert store.events(attempt) == events


def test_threads_share_a_store(store: Store) -> None:
    attempts = [store.create_attempt(RECORD) for _ in range(4)]
    failures: list[BaseException] = []

    def work(attempt: str) -> None:
        try:
            for seq in range(15):
                store.append_event(attempt, seq, {"n": seq}, f"c{seq}")
        except InputError as error:
            failures.append(error)

    threads = [threading.Thread(target=work, args=(attempt,)) for attempt in attempts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert all([e["n"] for e in store.events(attempt)] == list(range(15)) for attempt in attempts)


def test_the_default_place(user_folders: dict[str, Path]) -> None:
    assert data_folder() == user_folders["data"]
    with Store.open() as store:
        store.create_attempt(RECORD)
    assert {p.name for p in user_folders["data"].iterdir()} == {"records.sqlite3", "records.sqlite3-heads"}


def test_without_the_variable_it_is_the_users_own_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SIMULATOR_DATA_DIR")
    assert data_folder().name == "callout-simulator"
    assert data_folder().is_absolute()
