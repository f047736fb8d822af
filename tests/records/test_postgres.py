"""The same store at a PostgreSQL URL; the server is started here, on this machine alone, where there is one."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence

import pytest
from sqlalchemy import Connection, create_engine

from simulator.errors import InputError
from simulator.records import Store, checking, forget, merge_work, read_work, write_work
from simulator.records.chain import Link
from tests.records.postgres_server import emptied, free_port, running
from tests.records.test_work_file import fill

RECORD = {"learner": "Ash", "lesson": "09", "seed": 1}


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    with running() as url:
        yield url


@pytest.fixture
def url(server: str) -> str:
    return emptied(server)


def test_all_that_a_store_does(url: str) -> None:
    with Store.open(url) as store:
        first, second = store.create_attempt(RECORD), store.create_attempt(RECORD)
        event = {"kind": "check", "clock_s": 90.0, "run_seconds": 0.1, "note": "ü ☃"}
        assert store.append_event(first, 0, event, "click 1") == event
        assert store.append_event(first, 0, event, "click 1") == event
        with pytest.raises(InputError, match="not the next"):
            store.append_event(first, 2, event, "click 2")
        store.set_progress(first, {"run": 0, "shown_s": 2.5})
        store.set_progress(first, {"run": 0, "shown_s": 3.5})
        assert store.save_marks(first, {"total": 80}) == 1
        assert store.save_marks(first, {"total": 5}, source="trainer", marked_by="Wren") == 1
        store.end_attempt(second)
    with Store.open(url) as store:
        assert store.notices == ()
        assert [row.attempt_id for row in store.list_attempts()] == [first, second]
        assert store.log(first)[0].yard_minutes == 1.5
        assert store.progress(first) == {"run": 0, "shown_s": 3.5}
        assert [m.sheet["total"] for m in store.marks(first)] == [80, 5]
        assert forget(store, "Ash") == 2
        assert store.list_attempts() == []
    with Store.open(url) as store, Store.open("sqlite://") as other:
        fill(store)  # a call as it is really played: only such a one goes along
        assert merge_work(other, read_work(write_work(store, "Ash"))).attempts == len(
            store.list_attempts("Ash")
        )
        assert len(other.list_attempts("Ash")) > 0
    with Store.open(url) as store:
        assert store.notices == ()


def test_an_altered_row_is_set_aside(url: str) -> None:
    with Store.open(url) as store:
        attempt = store.create_attempt(RECORD)
        for n in range(5):
            store.append_event(attempt, n, {"n": n}, str(n))
    with create_engine(url).begin() as connection:
        connection.exec_driver_sql("""UPDATE events SET payload = '{"n":9}' WHERE seq = 3""")
    with Store.open(url) as store:
        assert "event 3" in store.notices[0]
        (row,) = store.list_attempts()
        assert [e["n"] for e in store.events(row.attempt_id)] == [0, 1, 2]


def test_many_begin_and_write_at_once(url: str) -> None:
    Store.open(url).close()
    failures: list[BaseException] = []

    def work(name: str) -> None:
        try:
            with Store.open(url) as store:
                for _ in range(3):
                    attempt = store.create_attempt({**RECORD, "learner": name})
                    for n in range(5):
                        store.append_event(attempt, n, {"n": n}, str(n))
        except InputError as error:
            failures.append(error)

    threads = [threading.Thread(target=work, args=(f"learner {n}",)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with Store.open(url) as store:
        assert store.notices == ()
        assert [row.events for row in store.list_attempts()] == [5] * 12


OLD_TABLES = """
CREATE TABLE meta (name VARCHAR(40) PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE attempts (attempt_id VARCHAR(64) PRIMARY KEY, learner VARCHAR(80) NOT NULL, lesson VARCHAR(80) NOT NULL,
  mode VARCHAR(20) NOT NULL, seed INTEGER NOT NULL, scenario_hash VARCHAR(64) NOT NULL,
  model_version VARCHAR(40) NOT NULL, record TEXT NOT NULL, made_at VARCHAR(32) NOT NULL);
CREATE INDEX ix_attempts_learner ON attempts (learner);
CREATE TABLE events (attempt_id VARCHAR(64) REFERENCES attempts, seq INTEGER, click_id VARCHAR(80),
  yard_minutes FLOAT, run_seconds FLOAT, kind VARCHAR(40) NOT NULL, payload TEXT NOT NULL,
  made_at VARCHAR(32) NOT NULL, PRIMARY KEY (attempt_id, seq), UNIQUE (attempt_id, click_id));
CREATE TABLE marks (attempt_id VARCHAR(64) REFERENCES attempts, source VARCHAR(20), version INTEGER,
  marked_by VARCHAR(80) NOT NULL, sheet TEXT NOT NULL, made_at VARCHAR(32) NOT NULL,
  PRIMARY KEY (attempt_id, source, version));
CREATE TABLE endings (attempt_id VARCHAR(64) PRIMARY KEY REFERENCES attempts, reason VARCHAR(40) NOT NULL,
  made_at VARCHAR(32) NOT NULL);
CREATE TABLE progress (attempt_id VARCHAR(64) PRIMARY KEY REFERENCES attempts, data TEXT NOT NULL,
  made_at VARCHAR(32) NOT NULL);
INSERT INTO meta VALUES ('record_schema', '1');
INSERT INTO attempts VALUES ('a', 'Ash', '03', 'lesson', 1, '', '0.1.0', '{"learner":"Ash"}', '2030-01-01T00:00:00.000Z');
INSERT INTO events VALUES ('a', 0, 'c', 1.5, NULL, 'answer', '{"n":0}', '2030-01-01T00:00:01.000Z');
INSERT INTO marks VALUES ('a', 'automatic', 1, '', '{"total":80}', '2030-01-01T00:00:02.000Z');
"""


def test_the_schema_before_is_brought_up(url: str) -> None:
    """The tables as the release before made them there."""
    with create_engine(url).begin() as connection:
        connection.exec_driver_sql(OLD_TABLES)
    with Store.open(url) as store:
        assert store.notices == ()
        assert store.events("a") == [{"n": 0}]
        assert store.marks("a")[0].sheet == {"total": 80}
        store.append_event("a", 1, {"n": 1}, "d")


def test_a_server_that_is_not_there_is_a_sentence(url: str) -> None:
    away = url.rsplit(":", 1)[0] + f":{free_port()}/postgres"
    with pytest.raises(InputError, match="cannot be used") as caught:
        Store.open(away)
    assert caught.value.legal


def test_a_chain_that_grows_while_it_is_looked_over_is_whole(
    url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(url) as writer:
        attempt = writer.create_attempt(RECORD)
        writer.append_event(attempt, 0, {"n": 0}, "0")
        read = checking.links_of

        def slowly(connection: Connection, wanted: Sequence[str]) -> dict[str, list[Link]]:
            links = read(connection, wanted)
            writer.append_event(attempt, 1, {"n": 1}, "1")
            return links

        monkeypatch.setattr(checking, "links_of", slowly)
        with Store.open(url) as reader:
            assert reader.notices == ()
        monkeypatch.undo()
        assert [event["n"] for event in writer.events(attempt)] == [0, 1]
