"""Damage to records and to what lies beside them: each harmless, or said in a sentence with what was kept.

``python -m tests.records.damage`` does every kind of damage once and prints what came of it.

A store is made by a process that is killed, so that its log is still there; another is closed in order. Each damage is
done to a fresh copy. Then the store is opened as a page opens it, all of it is read and held against what was kept.
"""

from __future__ import annotations

import argparse
import io
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.records import Store, export_csv, write_work
from simulator.records.__main__ import main as command
from simulator.records.aside import KEPT_FROM
from simulator.records.tables import APPEND_ONLY, guards
from simulator.texts import text

NAME = "records.sqlite3"
LEARNERS = ("Ash", "Rue", "Fern")
ROOT = Path(__file__).parents[2]
Act = Callable[[Path, random.Random], None]

MAKE = """
import os, sys
from simulator.records import Store
from tests.records.damage import fill
store = Store.open(sys.argv[1])
fill(store, range(0, 6))
store.fold()
fill(store, range(6, 9))
if sys.argv[2] == "in order":
    store.close()
os._exit(0)
"""


def fill(store: Store, numbers: range) -> None:
    """Attempts with everything an attempt can have; people and answers are made up."""
    for number in numbers:
        learner = LEARNERS[number % 3]
        record = {"learner": learner, "lesson": f"0{number % 4}", "mode": "lesson", "seed": number}
        attempt = store.create_attempt({**record, "filler": "x" * 300}, f"{number:032x}")
        for seq in range(7):
            event = {"kind": "answer", "question": f"q {seq}", "answer": seq * 1.5, "clock_s": 30.0 * seq}
            store.append_event(attempt, seq, {**event, "filler": "y" * 120}, f"click {seq}")
        store.set_progress(attempt, {"run": 0, "shown_s": 4.5 + number})
        if number % 2:
            store.save_marks(attempt, {"total": 60 + number, "parts": []})
            store.save_marks(attempt, {"total": 50 + number}, source="trainer", marked_by="Wren")
        if number % 3 == 2:
            store.end_attempt(attempt)


@dataclass(frozen=True)
class Damage:
    """A way to damage a store: which store it is done to (``in order`` or ``killed``), what is done, by what chance."""

    name: str
    to: str
    act: Act
    seed: int = 0


def everything(store: Store) -> dict[str, Any]:
    """All that a store tells, by attempt, read in the ways of the pages; other ways are walked for what they raise."""
    out: dict[str, Any] = {}
    for row in store.list_attempts():
        key = row.attempt_id
        log = [(e.seq, e.click_id, e.yard_minutes, e.payload, e.made_at) for e in store.log(key)]
        marks = [(m.source, m.version, m.marked_by, m.sheet, m.made_at) for m in store.marks(key)]
        out[key] = (row, store.attempt_record(key), log, marks)
        store.progress(key)
    for sheet in ("attempts", "events", "marks", "observed_jobs"):
        export_csv(store, sheet)
    for learner in LEARNERS:
        write_work(store, learner)
        store.list_attempts(learner, "01")
    return out


# what can be done to a file


def flip(ends: str) -> Act:
    """One bit of a file turned over."""

    def act(folder: Path, chance: random.Random) -> None:
        path = folder / (NAME + ends)
        raw = bytearray(path.read_bytes())
        raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
        path.write_bytes(raw)

    return act


def flip_header(folder: Path, chance: random.Random) -> None:
    path = folder / NAME
    raw = bytearray(path.read_bytes())
    raw[chance.randrange(100)] ^= 1 << chance.randrange(8)
    path.write_bytes(raw)


def page(how: str) -> Act:
    """A page overwritten, zeroed, doubled over another, or swapped with it."""

    def act(folder: Path, chance: random.Random) -> None:
        path = folder / NAME
        raw = bytearray(path.read_bytes())
        size = int.from_bytes(raw[16:18], "big")
        one, two = (slice(n * size, (n + 1) * size) for n in chance.sample(range(len(raw) // size), 2))
        if how == "noise":
            raw[one] = chance.randbytes(size)
        elif how == "zeros":
            raw[one] = bytes(size)
        elif how == "doubled":
            raw[one] = raw[two]
        else:
            raw[one], raw[two] = raw[two], raw[one]
        path.write_bytes(raw)

    return act


def cut(ends: str) -> Act:
    """A file cut off somewhere."""

    def act(folder: Path, chance: random.Random) -> None:
        path = folder / (NAME + ends)
        path.write_bytes(path.read_bytes()[: chance.randrange(path.stat().st_size)])

    return act


def noise(ends: str) -> Act:
    """A stretch of a file overwritten with noise."""

    def act(folder: Path, chance: random.Random) -> None:
        path = folder / (NAME + ends)
        raw = bytearray(path.read_bytes())
        start = chance.randrange(len(raw))
        length = min(chance.randrange(1, 3000), len(raw) - start)
        raw[start : start + length] = chance.randbytes(length)
        path.write_bytes(raw)

    return act


def gone(*ends: str) -> Act:
    """Files taken away."""

    def act(folder: Path, chance: random.Random) -> None:
        for end in ends:
            (folder / (NAME + end)).unlink(missing_ok=True)

    return act


def holds(ends: str, content: bytes) -> Act:
    """A file replaced by other content."""

    def act(folder: Path, chance: random.Random) -> None:
        (folder / (NAME + ends)).write_bytes(content)

    return act


def both(*acts: Act) -> Act:
    """One after the other."""

    def act(folder: Path, chance: random.Random) -> None:
        for each in acts:
            each(folder, chance)

    return act


def from_store(other: str, ends: str, *, of: str = "") -> Act:
    """A file replaced by that of another store of ours."""

    def act(folder: Path, chance: random.Random) -> None:
        shutil.copy(folder.parent / other / (NAME + (of or ends)), folder / (NAME + ends))

    return act


def other_program(mark: int) -> Act:
    def act(folder: Path, chance: random.Random) -> None:
        gone("", "-wal", "-shm")(folder, chance)
        connection = sqlite3.connect(folder / NAME)
        connection.executescript(f"CREATE TABLE recipes (name TEXT); PRAGMA application_id = {mark};")
        connection.close()

    return act


def sql(*statements: str) -> Act:
    """Rows changed behind the store's back, its guards taken away first and put back."""

    def act(folder: Path, chance: random.Random) -> None:
        connection = sqlite3.connect(folder / NAME)
        named = [each for table in APPEND_ONLY for each in guards(table.name)]
        for name, _ in named:
            connection.execute(f"DROP TRIGGER IF EXISTS {name}")
        connection.commit()
        where = {"a": f"{chance.randrange(9):032x}", "n": chance.randrange(7)}
        for statement in statements:
            connection.execute(statement.format(**where))
        connection.commit()
        for _, statement in named:
            table = statement.split(" ON ")[1].split()[0]
            if connection.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (table,)).fetchone():
                connection.execute(statement)
        connection.commit()
        connection.close()

    return act


ROWS = (
    "UPDATE events SET payload = replace(payload, '1.5', '9.5')",
    "UPDATE events SET payload = payload || ' ' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET payload = '{{' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET payload = '[]' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET payload = x'00ff' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET made_at = '1999-01-01T00:00:00.000Z' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET yard_minutes = 'soon' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET click_id = NULL WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET kind = 'x' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET hash = '' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET link = 99 WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET link = 'x' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET link = 1e300 WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET seq = 99999999999 WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET attempt_id = x'fffe' WHERE attempt_id = '{a}' AND seq = {n}",
    "UPDATE events SET attempt_id = 'nobody' WHERE attempt_id = '{a}' AND seq = {n}",
    "DELETE FROM events WHERE attempt_id = '{a}' AND seq = {n}",
    "DELETE FROM events WHERE attempt_id = '{a}' AND seq >= {n}",
    "DELETE FROM events WHERE attempt_id = '{a}'",
    "DELETE FROM events",
    (
        "INSERT INTO events SELECT attempt_id, 7, 'more', 0.0, 0.0, kind, payload, made_at, 77, hash FROM events"
        " WHERE attempt_id = '{a}' AND seq = {n}"
    ),
    "UPDATE attempts SET learner = 'Nobody' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET lesson = '11' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET number = 5000 WHERE attempt_id = '{a}'",
    "UPDATE attempts SET made_at = '1999' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET record = '{{}}' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET record = 'no JSON' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET seed = 'x' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET hash = 'x' WHERE attempt_id = '{a}'",
    "UPDATE attempts SET attempt_id = 'other' WHERE attempt_id = '{a}'",
    "DELETE FROM attempts WHERE attempt_id = '{a}'",
    "DELETE FROM attempts",
    "UPDATE marks SET sheet = '{{\"total\":100}}'",
    "UPDATE marks SET sheet = 'x' WHERE source = 'trainer'",
    "UPDATE marks SET version = 7 WHERE source = 'trainer'",
    "UPDATE marks SET marked_by = 'Ash' WHERE source = 'trainer'",
    "UPDATE marks SET source = 'automatic', version = 2 WHERE source = 'trainer'",
    "UPDATE marks SET made_at = '2031'",
    "DELETE FROM marks",
    "DELETE FROM marks WHERE source = 'trainer'",
    (
        "INSERT INTO marks SELECT attempt_id, 'trainer', 9, 'Ash', sheet, made_at, 12, hash FROM marks"
        " WHERE source = 'automatic'"
    ),
    "DELETE FROM endings",
    "UPDATE endings SET reason = 'x'",
    'UPDATE progress SET data = \'{{"run":0,"shown_s":1e9}}\'',
    "UPDATE progress SET data = 'x'",
    "DELETE FROM progress",
    "DELETE FROM heads WHERE attempt_id = '{a}'",
    "DELETE FROM heads",
    "UPDATE heads SET count = count - 1 WHERE attempt_id = '{a}'",
    "UPDATE heads SET count = 'x' WHERE attempt_id = '{a}'",
    "UPDATE heads SET count = -3 WHERE attempt_id = '{a}'",
    "UPDATE heads SET hash = 'x' WHERE attempt_id = '{a}'",
    "UPDATE meta SET value = '1'",
    "UPDATE meta SET value = '3'",
    "UPDATE meta SET value = 'odd'",
    "UPDATE meta SET value = '-1'",
    "DELETE FROM meta",
    "DELETE FROM alembic_version",
    "DROP TABLE events",
    "DROP TABLE heads",
    "DROP TABLE set_aside",
    "DROP TABLE progress",
    "DROP TABLE meta",
    "ALTER TABLE events RENAME COLUMN payload TO load",
    "ALTER TABLE marks DROP COLUMN marked_by",
    "DROP INDEX ix_attempts_learner",
    "PRAGMA application_id = 0",
    "PRAGMA application_id = 77",
)
SWAPS = (
    (
        "UPDATE events SET seq = 100 WHERE attempt_id = '{a}' AND seq = 2",
        "UPDATE events SET seq = 2 WHERE attempt_id = '{a}' AND seq = 3",
        "UPDATE events SET seq = 3 WHERE attempt_id = '{a}' AND seq = 100",
    ),
    (
        "UPDATE events SET link = link + 100 WHERE attempt_id = '{a}' AND seq = 2",
        "UPDATE events SET link = link - 1 WHERE attempt_id = '{a}' AND seq = 3",
        "UPDATE events SET link = link - 99 WHERE attempt_id = '{a}' AND seq = 2",
    ),
    (  # the end of a log taken off, and its head made to fit
        "DELETE FROM marks WHERE attempt_id = '{a}'",
        "DELETE FROM endings WHERE attempt_id = '{a}'",
        "DELETE FROM events WHERE attempt_id = '{a}' AND seq > 3",
        (
            "UPDATE heads SET count = 5, hash = (SELECT hash FROM events e WHERE e.attempt_id = '{a}' AND seq = 3)"
            " WHERE attempt_id = '{a}'"
        ),
    ),
    (  # a whole attempt taken out
        *(f"DELETE FROM {table} WHERE attempt_id = '{{a}}'" for table in ("progress", "endings", "marks")),
        *(f"DELETE FROM {table} WHERE attempt_id = '{{a}}'" for table in ("events", "heads", "attempts")),
    ),
)


def damages() -> Iterator[Damage]:
    """Every damage there is here; several kinds are done at several places by chance."""
    spread: tuple[tuple[str, str, Act, int], ...] = (
        ("a bit of the file", "in order", flip(""), 50),
        ("a bit of the file beside its log", "killed", flip(""), 15),
        ("a bit of the header", "in order", flip_header, 25),
        ("noise over a page", "in order", page("noise"), 8),
        ("a page of zeros", "in order", page("zeros"), 8),
        ("a page over another", "in order", page("doubled"), 8),
        ("two pages swapped", "in order", page("swapped"), 8),
        ("the file cut off", "in order", cut(""), 10),
        ("noise in the file", "in order", noise(""), 8),
        ("a bit of the log", "killed", flip("-wal"), 25),
        ("the log cut off", "killed", cut("-wal"), 12),
        ("noise in the log", "killed", noise("-wal"), 10),
        ("a bit of the log's index", "killed", flip("-shm"), 6),
        ("a bit of the list of heads", "in order", flip("-heads"), 12),
        ("the list of heads cut off", "in order", cut("-heads"), 5),
        ("noise in the list of heads", "in order", noise("-heads"), 5),
    )
    for name, to, act, times in spread:
        for seed in range(times):
            yield Damage(f"{name} {seed}", to, act, seed)
    for number, statement in enumerate(ROWS):
        yield Damage(statement, "in order", sql(statement), number)
    for number, statements in enumerate(SWAPS):
        yield Damage(" / ".join(statements), "in order", sql(*statements), number + 100)
    yield from (
        Damage("the log gone", "killed", gone("-wal")),
        Damage("the log and its index gone", "killed", gone("-wal", "-shm")),
        Damage("the index of the log gone", "killed", gone("-shm")),
        Damage("the log empty", "killed", holds("-wal", b"")),
        Damage("the log and the list of heads gone", "killed", gone("-wal", "-shm", "-heads")),
        Damage(
            "the log gone and the list of heads empty", "killed", both(gone("-wal"), holds("-heads", b""))
        ),
        Damage("the log of zeros", "killed", holds("-wal", bytes(9000))),
        Damage("the log of another store", "killed", from_store("other", "-wal")),
        Damage("the log of another store, where there was none", "in order", from_store("other", "-wal")),
        Damage("an earlier file under the log", "killed", from_store("in order", "")),
        Damage("the file gone", "in order", gone("")),
        Damage("the file gone, its log left", "killed", gone("", "-shm")),
        Damage("the file empty", "in order", holds("", b"")),
        Damage("the file empty, its log left", "killed", holds("", b"")),
        Damage("all gone but the list of heads", "killed", gone("", "-wal", "-shm")),
        Damage("the list of heads gone", "in order", gone("-heads")),
        Damage("the list of heads empty", "in order", holds("-heads", b"")),
        Damage("the list of heads of another store", "in order", from_store("other", "-heads")),
        Damage("the file of another store", "in order", from_store("other", "")),
        Damage("words", "in order", holds("", b"dear diary\n" * 400)),
        Damage("words, no list of heads", "bare", holds("", b"dear diary\n" * 400)),
        Damage("a picture", "in order", holds("", b"\x89PNG\r\n\x1a\n" + bytes(5000))),
        Damage("the head of a file alone", "in order", holds("", b"SQLite format 3\x00")),
        Damage("a log as the file", "killed", from_store("killed", "", of="-wal")),
        Damage("another program's database", "bare", other_program(0)),
        Damage("another program's marked database", "bare", other_program(42)),
        Damage("another program's database beside our list", "in order", other_program(42)),
    )


@dataclass(frozen=True)
class Result:
    """What came of a damage: ``harmless``, ``refused``, ``told``, ``unnoticed``, ``traceback`` or ``left`` (files changed
    by an opening that refused them); and what was said."""

    damage: Damage
    came: str
    said: str


def prepare(folder: Path) -> dict[str, Any]:
    """Make the stores that are damaged, and return what is in them."""
    for name in ("in order", "killed", "other"):
        how = "in order" if name == "in order" else "killed"
        place = folder / name
        place.mkdir()
        subprocess.run([sys.executable, "-c", MAKE, str(place), how], cwd=ROOT, check=True)
    (folder / "bare").mkdir()
    truths = {}
    for name in ("in order", "killed"):
        copy = folder / f"copy of {name}"
        shutil.copytree(folder / name, copy)
        with Store.open(copy) as store:
            assert store.notices == ()
            truths[name] = everything(store)
    return {**truths, "bare": {}}


def try_out(damage: Damage, folder: Path, truths: dict[str, Any]) -> Result:
    """Do a damage to a fresh copy and see what comes of it."""
    place = folder / "tried"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(folder / damage.to, place)
    damage.act(place, random.Random(damage.seed))
    try:
        came, said = _came(place, truths[damage.to])
    except Exception:  # noqa: BLE001 - that is what is looked for
        came, said = "traceback", traceback.format_exc()
    return Result(damage, came, said)


def _came(place: Path, truth: dict[str, Any]) -> tuple[str, str]:
    before = {path.name: path.read_bytes() for path in place.iterdir() if not path.name.endswith("-shm")}
    with redirect_stdout(io.StringIO()) as told:
        command(["check", "--records", str(place)])  # looks only
    assert "Traceback" not in told.getvalue()
    try:
        store = Store.open(place)
    except InputError as error:
        after = {name: (place / name).read_bytes() for name in before if (place / name).exists()}
        if after != before or not error.legal:
            return "left", str(error)
        return "refused", f"{error} {_rescued(place, truth)}"
    with store:
        said = " ".join(store.notices)
        found = everything(store)
        aside = dict(store.aside())
        fresh = store.create_attempt({"learner": "Ash", "lesson": "01"})  # the page goes on
        store.append_event(fresh, 0, {"kind": "begin"}, "click")
    changed = {key for key in truth if found.get(key) != truth[key]}
    more = {
        key
        for key in set(found) - set(truth)
        if found[key][1].get(KEPT_FROM) not in truth and KEPT_FROM not in found[key][1]
    }
    with Store.open(place) as again:  # once told and set aside, all is quiet
        assert again.notices == (), again.notices
        assert len(again.list_attempts()) == len(found) + 1
    if not changed and not more:
        return ("told", said) if said else ("harmless", "")
    # Each that changed is named; or it was said that all of them, or what could tell of them, are gone.
    wholesale = any(
        text(f"records.{key}").split("{")[0][:25] in said for key in ("all_gone", "heads_missing")
    )
    named = said and not more and (changed <= set(aside) or wholesale)
    return ("told" if named else "unnoticed"), f"{said} [changed: {len(changed)}, more: {len(more)}]"


def _rescued(place: Path, truth: dict[str, Any]) -> str:
    """What the command to rescue takes out of a file that was refused; all of it must be as it was kept."""
    with redirect_stdout(io.StringIO()) as told:
        done = command(["rescue", "--records", str(place)])
    assert "Traceback" not in told.getvalue()
    if done == 0:
        with Store.open(place) as store:
            assert store.notices == (), store.notices
            for key, (_, record, log, marks) in everything(store).items():
                if key in truth:
                    assert record == truth[key][1]
                    assert log == truth[key][2][: len(log)]
                    assert marks == truth[key][3][: len(marks)]
    return told.getvalue()


def run(
    chosen: list[Damage],
    folder: Path,
    truths: dict[str, Any],
    show: Callable[[Result], None] = lambda result: None,
) -> list[Result]:
    """Do damages one after the other, each to a fresh copy of the stores that :func:`prepare` made in a folder."""
    out = []
    for damage in chosen:
        out.append(try_out(damage, folder, truths))
        show(out[-1])
    return out


def main() -> int:
    """Do every damage and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="part of a damage's name")
    parser.add_argument("--every", type=int, default=1, help="each n-th damage alone")
    parser.add_argument("--say", action="store_true", help="print what was said of each")
    asked = parser.parse_args()

    def show(result: Result) -> None:
        if asked.say or result.came in ("unnoticed", "traceback", "left"):
            sys.stdout.write(f"{result.came}: {result.damage.name}\n    {result.said}\n")
            sys.stdout.flush()

    chosen = [each for each in damages() if asked.only in each.name][:: asked.every]
    with tempfile.TemporaryDirectory() as name:
        results = run(chosen, Path(name), prepare(Path(name)), show)
    counts = Counter(result.came for result in results)
    kinds = ("harmless", "told", "refused", "unnoticed", "left", "traceback")
    sys.stdout.write(
        f"damages {len(results)}: " + ", ".join(f"{kind} {counts[kind]}" for kind in kinds) + "\n"
    )
    return int(any(counts[kind] for kind in ("unnoticed", "left", "traceback")))


if __name__ == "__main__":
    sys.exit(main())
