"""One store a file and process: what is opened, closed, forked or killed beside it takes nothing from it."""

from __future__ import annotations

import gc
import multiprocessing
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.records import Store
from simulator.records.shared import _open
from tests.conftest import thin
from tests.records.storm import storm

ROOT = Path(__file__).parents[2]
RECORD = {"learner": "Ash", "lesson": "09", "seed": 1}
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals, forks and rights as on POSIX")

TWICE = """
import sys
from simulator.records import Store
first = Store.open(sys.argv[1])
attempt = first.create_attempt({"learner": "Ash"})
first.append_event(attempt, 0, {"n": 0}, "0")
second = Store.open(sys.argv[1])  # the page is loaded again
if sys.argv[2] == "close":
    second.close()
print(attempt, flush=True)
sys.stdin.readline()
for n in range(1, 20):
    first.append_event(attempt, n, {"n": n}, str(n))
print("told", flush=True)
sys.stdin.readline()
"""
ELSEWHERE = """
import sys
from simulator.records import Store
with Store.open(sys.argv[1]) as store:
    store.create_attempt({"learner": "Rue"})
"""


@POSIX
@pytest.mark.parametrize("second", thin("stays", "close"))
def test_opened_twice_here_and_closed_elsewhere(tmp_path: Path, second: str) -> None:
    """The header was looked at by opening and closing the file, which freed this process's locks: 19 of 20 were lost."""
    page = subprocess.Popen(
        [sys.executable, "-c", TWICE, str(tmp_path), second],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert page.stdin is not None
    assert page.stdout is not None
    attempt = page.stdout.readline().strip()
    subprocess.run([sys.executable, "-c", ELSEWHERE, str(tmp_path)], cwd=ROOT, check=True)
    page.stdin.write("go on\n")
    page.stdin.flush()
    assert page.stdout.readline() == "told\n"
    page.kill()
    page.wait()
    with Store.open(tmp_path) as store:
        assert [event["n"] for event in store.events(attempt)] == list(range(20))
        assert len(store.list_attempts()) == 2
        assert store.notices == ()


def opened_by_us(path: Path, act: str) -> list[str]:
    """Which of a database's files are opened in a fresh process by anything but SQLite, while it does something."""
    code = f"""
import sys
seen = []
sys.addaudithook(lambda what, args: seen.append(str(args[0])) if what == "open" else None)
from simulator.records import Store
{act}
print("\\n".join(seen))
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, check=True, capture_output=True, text=True
    )
    live = {str(path), f"{path}-shm"}
    return [each for each in done.stdout.splitlines() if each in live]


def test_nobody_but_sqlite_opens_the_file(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    Store.open(path).close()
    act = """
from simulator.records.keeping import backup, restore
from simulator.records.forgetting import forget
store = Store.open(sys.argv[1])
again = Store.open(sys.argv[1])
attempt = store.create_attempt({"learner": "Ash"})
store.append_event(attempt, 0, {"n": 0}, "0")
copy = backup(sys.argv[1]).place
forget(store, "Ash")
restore(copy, sys.argv[1])
again.close()
store.close()
"""
    assert opened_by_us(path, act) == []


def test_one_database_a_file(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    one, two = Store.open(path), Store.open(tmp_path)
    link = tmp_path / "other name"
    link.symlink_to(path)
    three = Store.open(link)
    assert one._database is two._database is three._database
    attempt = one.create_attempt(RECORD)
    one.close()
    one.close()  # twice is once
    with pytest.raises(InputError, match="closed"):
        one.events(attempt)
    two.append_event(attempt, 0, {"n": 0}, "0")
    assert three.events(attempt) == [{"n": 0}]
    two.close()
    del three  # forgotten, not closed
    gc.collect()
    assert not any(str(tmp_path) in key[0] for key in _open)
    assert not Path(f"{path}-wal").exists()


def test_a_file_put_in_the_place_of_another_is_a_file_of_its_own(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    store.create_attempt(RECORD)
    with Store.open(tmp_path / "new.sqlite3") as other:
        other.create_attempt({**RECORD, "learner": "Rue"})
    for end in ("", "-heads"):
        (tmp_path / f"new.sqlite3{end}").replace(tmp_path / f"records.sqlite3{end}")
    (tmp_path / "records.sqlite3-wal").unlink(missing_ok=True)
    (tmp_path / "records.sqlite3-shm").unlink(missing_ok=True)
    with Store.open(tmp_path) as replaced:
        assert [row.learner for row in replaced.list_attempts()] == ["Rue"]
    store.close()


def test_the_file_alone_is_whole_after_marks_and_after_closing(tmp_path: Path) -> None:
    path = tmp_path / "records.sqlite3"
    store = Store.open(path)
    attempt = store.create_attempt(RECORD)
    store.append_event(attempt, 0, {"n": 0}, "0")
    store.save_marks(attempt, {"total": 80})
    shutil.copy(path, tmp_path / "copy.sqlite3")
    with Store.open(tmp_path / "copy.sqlite3") as copy:
        assert [m.sheet for m in copy.marks(attempt)] == [{"total": 80}]
    store.append_event(attempt, 1, {"n": 1}, "1")
    store.close()
    shutil.copy(path, tmp_path / "copy 2.sqlite3")
    with Store.open(tmp_path / "copy 2.sqlite3") as copy:
        assert len(copy.events(attempt)) == 2


KERNEL = """
from simulator.records import Store
store = Store.open({place!r})
attempt = store.create_attempt({{"learner": "Ash"}}, "a")
stored = store.append_event("a", 0, {{"n": 0}}, "0")
"""


def test_the_file_alone_is_whole_after_a_notebooks_end(tmp_path: Path) -> None:
    from jupyter_client.manager import start_new_kernel

    place = str(tmp_path / "records.sqlite3")
    manager, client = start_new_kernel(kernel_name="python3", cwd=str(ROOT))
    reply = client.execute_interactive(KERNEL.format(place=place), timeout=120)
    assert reply["content"]["status"] == "ok"
    client.stop_channels()
    manager.shutdown_kernel()
    shutil.copy(place, tmp_path / "copy.sqlite3")
    with Store.open(tmp_path / "copy.sqlite3") as copy:
        assert copy.events("a") == [{"n": 0}]


def _child(store: Store, attempt: str, first: int) -> None:
    for number in range(first, first + 5):
        store.append_event(attempt, number, {"n": number}, str(number))


@POSIX
def test_a_fork_carries_no_connection_over(tmp_path: Path) -> None:
    fork = multiprocessing.get_context("fork")
    store = Store.open(tmp_path)
    attempt = store.create_attempt(RECORD)
    store.append_event(attempt, 0, {"n": 0}, "0")
    child = fork.Process(target=_child, args=(store, attempt, 1))
    child.start()
    child.join(60)
    assert child.exitcode == 0
    _child(store, attempt, 6)
    subprocess.run([sys.executable, "-c", ELSEWHERE, str(tmp_path)], cwd=ROOT, check=True)
    _child(store, attempt, 11)
    assert [e["n"] for e in store.events(attempt)] == list(range(16))
    store.close()
    check = sqlite3.connect(tmp_path / "records.sqlite3")
    assert check.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert check.execute("SELECT count(*) FROM events").fetchone() == (16,)
    check.close()


TAKEN = """
import os, sys
from pathlib import Path
from simulator.records import Store
store = Store.open(sys.argv[1])
attempt = store.create_attempt({"learner": "Ash"}, "a")
store.append_event("a", 0, {"n": 0}, "0")
for end in sys.argv[2:]:
    Path(sys.argv[1] + end).unlink()
for n in range(1, 6):
    store.append_event("a", n, {"n": n}, str(n))
os.kill(os.getpid(), 9)
"""


@POSIX
@pytest.mark.parametrize("ends", thin(("-wal", "-shm"), ("-wal",)))
def test_a_log_taken_away_while_it_is_in_use_takes_nothing_with_it(
    tmp_path: Path, ends: tuple[str, ...]
) -> None:
    path = str(tmp_path / "records.sqlite3")
    done = subprocess.run([sys.executable, "-c", TAKEN, path, *ends], cwd=ROOT)
    assert done.returncode == -9
    with Store.open(path) as store:
        assert store.notices == ()
        assert [e["n"] for e in store.events("a")] == [0, 1, 2, 3, 4, 5]


@POSIX
def test_folders_and_files_are_for_their_owner_alone(
    user_folders: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = os.umask(0o022)
    try:
        folder = user_folders["data"]
        folder.mkdir(mode=0o755)
        folder.chmod(0o755)
        with Store.open() as store:
            store.create_attempt(RECORD)
        path = folder / "records.sqlite3"
        path.chmod(0o644)
        (folder / "records.sqlite3-heads").chmod(0o644)
        with Store.open() as store:  # what was open to others is tightened
            store.create_attempt(RECORD)
            found = {each.name: stat.S_IMODE(each.stat().st_mode) for each in folder.iterdir()}
            assert "records.sqlite3-wal" in found
            assert set(found.values()) == {0o600}
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        with Store.open(folder / "new" / "deeper") as store:
            store.create_attempt(RECORD)
        assert {stat.S_IMODE(each.stat().st_mode) for each in (folder / "new",)} == {0o700}
    finally:
        os.umask(before)


@POSIX
def test_a_folder_of_everybody_is_not_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shared = tmp_path / "tmp"
    shared.mkdir()
    shared.chmod(0o1777)
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(shared))
    Store.open().close()
    assert stat.S_IMODE(shared.stat().st_mode) == 0o1777


def test_a_store_in_memory_is_one_for_all_threads() -> None:
    import threading

    with Store.open("sqlite://") as store:
        attempt = store.create_attempt(RECORD)
        found: list[object] = []
        thread = threading.Thread(target=lambda: found.append(store.save_marks(attempt, {"total": 1})))
        thread.start()
        thread.join()
        assert found == [1]
        assert len(store.marks(attempt)) == 1


@POSIX
def test_a_short_storm(tmp_path: Path) -> None:
    out = storm(tmp_path, rounds=2, seed=3)
    assert (out.lost, out.doubled, out.integrity, out.chains) == (0, 0, "ok", "ok"), out.lines()
    assert (out.notices, out.refused) == ([], [])
    assert out.told > 10


@POSIX
@pytest.mark.full
def test_a_long_storm(tmp_path: Path) -> None:
    out = storm(tmp_path, rounds=300, seed=1)
    assert (out.lost, out.doubled, out.integrity, out.chains) == (0, 0, "ok", "ok"), out.lines()
    assert (out.notices, out.refused) == ([], [])
