"""Damage to the store, its log and its list of heads: harmless, or said with what was kept; and no page is stopped."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from simulator.errors import InputError
from simulator.panels.learner.session import LearnerSession, Work
from simulator.records import Store, writing
from simulator.records.aside import KEPT_FROM
from tests.records.damage import Damage, Result, damages, prepare, run, sql

BAD = ("unnoticed", "left", "traceback")


def wrong(results: list[Result]) -> list[tuple[str, str, str]]:
    return [(each.came, each.damage.name, each.said) for each in results if each.came in BAD]


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    folder = tmp_path_factory.mktemp("stores")
    return folder, prepare(folder)


@pytest.mark.full
def test_some_damages(prepared: tuple[Path, dict[str, Any]]) -> None:
    results = run(list(damages())[::40], *prepared)
    assert wrong(results) == []
    assert {each.came for each in results} == {"harmless", "told", "refused"}


@pytest.mark.full
def test_every_damage(prepared: tuple[Path, dict[str, Any]]) -> None:
    chosen = list(damages())
    assert len(chosen) >= 200
    assert wrong(run(chosen, *prepared)) == []


@pytest.mark.full
def test_a_store_that_says_nothing_is_caught(prepared: tuple[Path, dict[str, Any]]) -> None:
    """The measure itself: a row added in full accord with chain and heads is what it cannot tell from a kept one."""

    def forge(folder: Path, chance: object) -> None:
        with Store.open(folder) as store, store.transaction() as connection:
            writing.put_attempt(connection, "forged", {"learner": "Ash"}, "2030-01-01T00:00:00.000Z")

    (result,) = run([Damage("forged", "in order", forge)], *prepared)
    assert result.came == "unnoticed"


def altered(path: Path, *statements: str) -> None:
    import random

    sql(*statements)(path.parent, random.Random(1))


def filled(path: Path, events: int = 6) -> str:
    with Store.open(path) as store:
        attempt = store.create_attempt({"learner": "Ash", "lesson": "03", "mode": "lesson"}, "a" * 32)
        for seq in range(events):
            answer = {"kind": "answer", "question": f"q{seq}", "answer": seq, "click": f"c{seq}"}
            store.append_event(attempt, seq, answer, f"c{seq}")
        store.create_attempt({"learner": "Rue", "lesson": "03", "mode": "lesson"}, "b" * 32)
    return attempt


def test_what_holds_before_the_damage_is_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    attempt = filled(path)
    altered(path, "UPDATE events SET payload = replace(payload, ':4', ':5') WHERE seq = 4")
    with Store.open(path) as store:
        (said,) = store.notices
        assert "of Ash, lesson 03," in said
        assert "event 4" in said
        assert "is kept (5 steps)" in said  # its record and events 0 to 3
        (row,) = store.list_attempts("Ash")
        assert store.attempt_record(row.attempt_id)[KEPT_FROM] == attempt
        assert [e["answer"] for e in store.events(row.attempt_id)] == [0, 1, 2, 3]
        assert [each for each, _ in store.aside()] == [attempt]
        for act in (
            lambda: store.events(attempt),
            lambda: store.marks(attempt),
            lambda: store.attempt_record(attempt),
            lambda: store.append_event(attempt, 6, {"n": 6}, "c6"),
        ):
            with pytest.raises(InputError, match="set aside"):
                act()
        store.append_event(row.attempt_id, 4, {"n": 4}, "new")
        assert [row.learner for row in store.list_attempts()] == ["Ash", "Rue"]  # in its old place
    with Store.open(path) as store:
        assert store.notices == ()


def test_a_page_opens_and_goes_on_with_what_holds(user_folders: dict[str, Path]) -> None:
    path = user_folders["data"] / "records.sqlite3"
    filled(path)
    altered(path, "DELETE FROM events WHERE seq = 3")
    desk = LearnerSession()
    desk.set_name("Ash")
    assert "event 4" in desk.trouble
    work = Work(desk, "03")
    assert sorted(work.answers) == ["q0", "q1", "q2"]
    assert work.keep("q3", 3, "again")
    desk.store.close()


def test_damage_under_an_open_page_begins_a_new_sitting(user_folders: dict[str, Path]) -> None:
    path = user_folders["data"] / "records.sqlite3"
    filled(path)
    desk = LearnerSession()
    desk.set_name("Ash")
    altered(path, "UPDATE events SET payload = 'x' WHERE seq = 2")
    work = Work(desk, "03")
    assert "event 2" in desk.trouble
    assert work.answers == {}
    assert work.keep("q0", 0, "new click")
    assert sorted(Work(desk, "03").answers) == ["q0"]
    desk.store.close()


def test_a_case_under_assessment_is_not_gone_on_with_by_another_name(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    with Store.open(path) as store:
        store.create_attempt({"learner": "Ash", "lesson": "x", "sealed": True}, "s")
        store.append_event("s", 0, {"n": 0}, "0")
        store.append_event("s", 1, {"n": 1}, "1")
    altered(path, "DELETE FROM events WHERE seq = 1")
    with Store.open(path) as store:
        assert "Nothing of it could be kept" in store.notices[0]
        assert store.list_attempts() == []


def test_a_log_that_holds_nothing_but_a_file_is_put_by(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    filled(path)
    path.unlink()
    log = Path(f"{path}-wal")
    log.write_bytes(b"what was in the log")
    with Store.open(path) as store:
        assert "The log is kept as" in store.notices[0]
        assert "2 attempts with 8 steps" in store.notices[1]
        assert store.list_attempts() == []
    kept = [each for each in tmp_path.iterdir() if ".kept-" in each.name]
    assert sorted(each.name.split(".kept-")[0] for each in kept) == [
        "records.sqlite3-heads",
        "records.sqlite3-wal",
    ]
    assert b"what was in the log" in {each.read_bytes() for each in kept}


def test_many_losses_are_told_shortly(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    with Store.open(path) as store:
        for number in range(9):
            store.create_attempt({"learner": "Ash"}, f"{number}")
            store.append_event(f"{number}", 0, {"n": 0}, "0")
    altered(path, "UPDATE events SET payload = '{{}}'")
    with Store.open(path) as store:
        assert len(store.notices) == 5
        assert "5 more" in store.notices[-1]
        assert len(store.aside()) == 9


@pytest.mark.full
def test_a_large_file_is_looked_over_as_well(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    with Store.open(path) as store, store.transaction() as connection:
        for number in range(350):
            record = {"learner": "Ash", "filler": "x" * 200_000}
            writing.put_attempt(connection, str(number), record, "2030-01-01T00:00:00.000Z")
            writing.put_event(connection, str(number), 0, {"n": 0}, "0", "2030-01-01T00:00:00.000Z")
    assert path.stat().st_size > 64 * 2**20
    altered(path, "UPDATE events SET payload = '{{\"n\":1}}' WHERE attempt_id = '77'")
    with Store.open(path) as store:
        assert "event 0" in store.notices[0]
        assert len(store.list_attempts()) == 349
    connection2 = sqlite3.connect(path)
    assert connection2.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection2.close()
