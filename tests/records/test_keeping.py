"""Backup, restore, check and forget: tried as a user types them, and said in sentences."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.records import Store, backup, forget, restore
from simulator.records.__main__ import main
from simulator.records.heads import Heads

ROOT = Path(__file__).parents[2]
OLD = Path(__file__).parent / "data" / "schema_1.sql"


def fill(path: Path, learner: str = "Ash", events: int = 3) -> str:
    with Store.open(path) as store:
        attempt = store.create_attempt({"learner": learner, "lesson": "03"})
        for seq in range(events):
            store.append_event(attempt, seq, {"n": seq, "by": learner}, str(seq))
        store.save_marks(attempt, {"total": 70})
    return attempt


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.sqlite3"


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = main(list(arguments))
    caught = capsys.readouterr()
    assert "Traceback" not in caught.out + caught.err
    return code, caught.out


def test_a_backup_put_back_holds_all_that_was_there(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    attempt = fill(path)
    code, told = said(capsys, "backup", "--records", str(path))
    assert code == 0
    assert "1 attempt with 5 steps" in told
    (copy,) = (path.parent / "backups").iterdir()
    later = fill(path, "Rue")
    code, told = said(capsys, "restore", "--records", str(path), str(copy))
    assert code == 0
    assert "What was there is kept as" in told
    with Store.open(path) as store:
        assert store.notices == ()
        assert [row.attempt_id for row in store.list_attempts()] == [attempt]
        assert [e["n"] for e in store.events(attempt)] == [0, 1, 2]
        assert store.marks(attempt)[0].sheet == {"total": 70}
        store.append_event(attempt, 3, {"n": 3}, "3")
    (before,) = [each for each in path.parent.iterdir() if "before-restore" in each.name]
    with Store.open(before) as store:
        assert {row.attempt_id for row in store.list_attempts()} == {attempt, later}


def test_a_backup_is_put_over_a_damaged_file(path: Path) -> None:
    attempt = fill(path)
    copy = backup(path).place
    damaged = b"x" * 5000
    path.write_bytes(damaged)
    with pytest.raises(InputError, match="damaged"):
        Store.open(path)
    kept = restore(copy, path)
    assert kept.before is not None
    assert kept.before.read_bytes() == damaged
    with Store.open(path) as store:
        assert store.notices == ()
        assert len(store.events(attempt)) == 3


def test_a_backup_is_put_back_under_an_open_page(path: Path) -> None:
    attempt = fill(path)
    copy = backup(path).place
    page = Store.open(path)
    page.append_event(attempt, 3, {"n": 3}, "3")
    restore(copy, path)
    assert len(page.events(attempt)) == 3
    page.append_event(attempt, 3, {"n": "new"}, "new")
    page.close()
    with Store.open(path) as store:
        assert store.notices == ()
        assert store.events(attempt)[-1] == {"n": "new"}


def test_a_backup_of_the_release_before_is_put_back_and_brought_up(tmp_path: Path, path: Path) -> None:
    old = tmp_path / "old.sqlite3"
    connection = sqlite3.connect(old)
    connection.executescript(OLD.read_text(encoding="utf-8"))
    connection.close()
    fill(path)
    restore(old, path)
    with Store.open(path) as store:
        assert len(store.list_attempts()) == 5
        assert store.notices == ()


@pytest.mark.skipif(os.name != "posix", reason="rights as on POSIX")
def test_copies_are_for_their_owner_alone(path: Path) -> None:
    fill(path)
    copy = backup(path).place
    restore(copy, path)
    for each in (copy, *path.parent.glob("records*")):
        assert stat.S_IMODE(each.stat().st_mode) == 0o600, each
    assert stat.S_IMODE(copy.parent.stat().st_mode) == 0o700


def test_what_cannot_be_done_is_said(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = tmp_path / "words"
    words.write_text("dear diary\n" * 100, encoding="utf-8")
    fill(path)
    taken = backup(path, tmp_path / "taken").place
    for arguments, part in (
        (("backup", "--records", str(tmp_path / "nothing")), "no records here"),
        (("backup", "--records", str(path), "--to", str(taken)), "file of this name"),
        (("backup", "--records", str(path), "--to", str(tmp_path / "no" / "folder")), ""),
        (("backup", "--records", "postgresql://host/x"), "tools of that database"),
        (("restore", "--records", str(path), str(words)), "another program"),
        (("restore", "--records", str(path), str(tmp_path / "none")), "no such backup"),
        (("restore", "--records", str(path), str(path)), "is the records"),
        (("restore", "--records", str(path), str(tmp_path)), "no such backup"),
        (("check", "--records", str(words)), "another program"),
        (("rescue", "--records", str(words)), "nothing of this file"),
        (("check", "--records", str(tmp_path / "nothing")), "no records here"),
        (("forget", "--records", str(path), "Nobody"), "no work of 'Nobody'"),
    ):
        code, told = said(capsys, *arguments)
        assert code == 2, arguments
        assert part in told, told
    with Store.open(path) as store:
        assert store.notices == ()
        assert len(store.list_attempts()) == 1


def test_a_damaged_backup_is_not_put_back(path: Path) -> None:
    fill(path)
    copy = backup(path).place
    connection = sqlite3.connect(copy)
    connection.executescript("DROP TRIGGER events_no_update; UPDATE events SET payload = '{}' WHERE seq = 1")
    connection.close()
    with pytest.raises(InputError, match="damaged in it: 1 attempt;"):
        restore(copy, path)


def test_what_can_be_read_of_a_damaged_file_is_taken_over(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store.open(path) as store:
        for number in range(20):
            store.create_attempt({"learner": "Ash", "lesson": "03"}, f"{number}")
            for seq in range(4):
                store.append_event(f"{number}", seq, {"n": seq, "filler": "x" * 800}, str(seq))
    raw = bytearray(path.read_bytes())
    size = int.from_bytes(raw[16:18], "big")
    leaf = next(
        n for n in range(len(raw) // size - 1, 0, -1) if raw[n * size : n * size + size].count(b"x") > 2000
    )
    raw[leaf * size : (leaf + 1) * size] = os.urandom(size)
    path.write_bytes(raw)
    with pytest.raises(InputError, match="damaged"):
        Store.open(path)
    code, told = said(capsys, "rescue", "--records", str(path))
    assert code == 0
    assert "Rescued: 20 attempts" in told
    with Store.open(path) as store:
        assert store.notices == ()
        logs = [[e["n"] for e in store.events(f"{number}")] for number in range(20)]
    assert all(log == list(range(len(log))) for log in logs)
    assert 70 <= sum(len(log) for log in logs) < 80
    (before,) = [each for each in path.parent.iterdir() if re.search(r"before-rescue-[\d-]+$", each.name)]
    assert before.read_bytes() == raw


def test_what_is_rescued_is_what_was_kept_here(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A log or a file of other records can hold attempts of the same names, each with a chain that holds by itself."""
    other = path.with_name("other") / path.name
    other.parent.mkdir()
    for place, names in ((path, "ab"), (other, "abc")):
        with Store.open(place) as store:
            for name in names:
                store.create_attempt({"learner": "Ash", "lesson": "03"}, name)
                for seq in range(3):
                    store.append_event(name, seq, {"n": seq, "from": place.parent.name}, str(seq))
    shutil.copy(other, path)
    before = path.read_bytes()
    code, told = said(capsys, "rescue", "--records", str(path))
    assert code == 0
    assert "Rescued: 1 attempt with 4 steps" in told
    assert "Left out, as not kept here: 2 attempts" in told
    with Store.open(path) as store:
        assert [row.attempt_id for row in store.list_attempts()] == ["c"]
    (kept,) = [each for each in path.parent.iterdir() if re.search(r"before-rescue-[\d-]+$", each.name)]
    assert kept.read_bytes() == before


def test_records_that_a_list_from_elsewhere_knows_otherwise_are_left_as_they_are(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = path.with_name("other") / path.name
    other.parent.mkdir()
    for place in (path, other):
        with Store.open(place) as store:
            store.create_attempt({"learner": "Ash", "lesson": "03"}, "a")
            store.append_event("a", 0, {"from": place.parent.name}, "0")
    heads = path.with_name(path.name + "-heads")
    shutil.copy(other.with_name(heads.name), heads)
    before = path.read_bytes()
    code, told = said(capsys, "rescue", "--records", str(path))
    assert code == 2
    assert "not those that the list beside it knows" in told
    assert "take it away" in told
    assert path.read_bytes() == before
    heads.unlink()
    assert said(capsys, "rescue", "--records", str(path))[0] == 0


def test_check_looks_and_changes_nothing(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    attempt = fill(path)
    assert said(capsys, "check", "--records", str(path)) == (
        0,
        "The file is whole: 1 attempt with 5 steps.\n",
    )
    connection = sqlite3.connect(path)
    connection.executescript("DROP TRIGGER events_no_update; UPDATE events SET payload = '{}' WHERE seq = 1")
    connection.close()
    before = path.read_bytes()
    for _ in range(2):
        code, told = said(capsys, "check", "--records", str(path))
        assert code == 1
        assert "event 1" in told
        assert "sets this aside" in told
    assert path.read_bytes() == before
    with Store.open(path) as store:
        assert [each for each, _ in store.aside()] == [attempt]
    assert "Set aside before" in said(capsys, "check", "--records", str(path))[1]


@pytest.mark.full
def test_the_command_is_there(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fill(path)
    done = subprocess.run(
        [sys.executable, "-m", "simulator.records", "check", "--records", str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    assert ended.value.code == 0
    assert "restore" in capsys.readouterr().out


def test_a_person_taken_out_leaves_a_stone_without_a_name(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone, stays = fill(path, "Quillfeather", 5), fill(path, "Rue")
    code, told = said(capsys, "forget", "--records", str(path), "Quillfeather")
    assert code == 0
    assert "1 attempt of" in told
    for each in path.parent.iterdir():
        assert b"Quillfeather" not in each.read_bytes(), each.name
        assert gone.encode() not in each.read_bytes(), each.name
    connection = sqlite3.connect(path)
    stones = connection.execute("SELECT number, count FROM stones ORDER BY count").fetchall()
    # of its first link, by which it is known again, and of its last: its record, five events, its marks
    assert stones == [(1, 1), (1, 7)]
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute("DELETE FROM events")
    connection.close()
    with Store.open(path) as store:
        assert store.notices == ()
        assert [row.attempt_id for row in store.list_attempts()] == [stays]
        third = store.create_attempt({"learner": "Fern"})
        assert [row.attempt_id for row in store.list_attempts()] == [stays, third]


def test_a_person_taken_out_is_no_loss_even_where_the_list_was_not_written(path: Path) -> None:
    fill(path)
    heads = Heads(path).path
    before = heads.read_bytes()
    with Store.open(path) as store:
        assert forget(store, "Ash") == 1
    heads.write_bytes(before)  # as after a power cut in between
    with Store.open(path) as store:
        assert store.notices == ()
    assert said_nothing_of(path)


def said_nothing_of(path: Path) -> bool:
    return main(["check", "--records", str(path)]) == 0


def test_copies_that_may_hold_a_person_are_named(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fill(path)
    copy = backup(path).place
    _, told = said(capsys, "forget", "--records", str(path), "Ash")
    assert str(copy) in told


def test_the_list_of_heads_is_written_anew_when_it_grows_long(path: Path) -> None:
    heads = Heads(path)
    for count in range(1, 1200):
        heads.add({"a": (count, "h")}, at_once=False)
    assert heads.read().is_long
    heads.rewrite()
    assert not heads.read().is_long
    found = heads.read()
    assert (found.lines, found.heads, found.damaged) == (1, {"a": (1199, "h")}, 0)
    heads.path.write_bytes(heads.path.read_bytes() + b'["a",5')  # cut off by a power cut
    heads.add({"b": (1, "i")}, at_once=True)
    found = heads.read()
    assert (found.heads, found.damaged) == ({"a": (1199, "h"), "b": (1, "i")}, 1)
