"""Where every chain ends, kept a second time in a file beside the database.

A database whose last pages or whose write-ahead log were taken away looks whole. This file still says how far each
attempt had got. It is written after the database and may be behind it, never ahead. A line is the JSON list of an
attempt's id, how many links its chain has, the hash of the last, a digest of all its rows where the chain was looked
over, and a check of the line; the largest count holds. Rows of the same digest need no second look, link by link.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simulator.records.chain import Head
from simulator.records.private import FILE, sync_folder

if os.name == "posix":
    import fcntl

SUFFIX = "-heads"
SYNC_EVERY = 1.0  # [s] events of one second are waited for together; marks and new attempts at once
_FEW_LINES = 1000  # more than this, and more than three an attempt: written anew


@dataclass
class Beside:
    """What the file says: whether it is there, lines [-] in all, and lines that are damaged [-].

    ``heads`` by attempt; ``digests`` by attempt of rows that were looked over and end in that head; ``on_the_way`` by
    attempt, every end that still stands there: the hash by the number of links.
    """

    there: bool = False
    heads: dict[str, Head] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    on_the_way: dict[str, dict[int, str]] = field(default_factory=dict)
    lines: int = 0
    damaged: int = 0

    @property
    def is_long(self) -> bool:
        """Whether it has grown long enough to be written anew."""
        return self.lines > max(_FEW_LINES, 3 * len(self.heads))


class Heads:
    """The file beside a database; every method opens and closes it, so that nothing is carried over a fork."""

    def __init__(self, database: Path) -> None:
        self.path = database.with_name(database.name + SUFFIX)
        self._synced, self._waiting = 0.0, False

    def read(self) -> Beside:
        """All that the file says.

        Examples
        --------
        >>> Heads(Path("nowhere") / "records.sqlite3").read().there
        False
        """
        try:
            raw = self.path.read_bytes()
        except OSError:
            return Beside()
        out = Beside(there=True)
        for line in raw.split(b"\n"):
            if not line.strip():
                continue
            out.lines += 1
            found = _parsed(line)
            if found is None:
                out.damaged += 1
                continue
            attempt_id, head, digest = found
            out.on_the_way.setdefault(attempt_id, {})[head[0]] = head[1]
            if head[0] > out.heads.get(attempt_id, (0, ""))[0]:
                out.heads[attempt_id] = head
                out.digests.pop(attempt_id, None)
            if digest and head == out.heads[attempt_id]:
                out.digests[attempt_id] = digest
        return out

    def add(
        self, heads: Mapping[str, Head], *, at_once: bool, digests: Mapping[str, str] | None = None
    ) -> None:
        """Note where chains end now; ``at_once`` waits for the disk, else that is done about once a second.

        heads: by attempt; digests: of all rows of those that were looked over.

        Raises
        ------
        OSError : it cannot be written; the database has what was to be kept.
        """
        # A line that a power cut left half written must not spoil the next one: hence the break in front.
        known = digests or {}
        lines = "".join("\n" + _line(key, head, known.get(key, "")) + "\n" for key, head in heads.items())
        due = time.monotonic() - self._synced >= SYNC_EVERY
        with self._opened() as handle:
            os.write(handle, lines.encode())
            if at_once or due:
                self._wait(handle)
            else:
                self._waiting = True

    def sync(self) -> None:
        """Wait for the disk where that is still owed."""
        if self._waiting and self.path.exists():
            with contextlib.suppress(OSError), self._opened() as handle:
                self._wait(handle)

    def _wait(self, handle: int) -> None:
        os.fsync(handle)
        self._synced, self._waiting = time.monotonic(), False

    def rewrite(self, drop: frozenset[str] | set[str] = frozenset()) -> None:
        """Write the file anew with one line an attempt, without those to drop.

        Raises
        ------
        OSError : it cannot be written; it is then as it was.
        """
        with self._opened():
            found = self.read()
            self._put({key: head for key, head in found.heads.items() if key not in drop}, found.digests)

    def replace(self, heads: Mapping[str, Head]) -> None:
        """Write the file anew with these heads and no others.

        Raises
        ------
        OSError : it cannot be written; it is then as it was.
        """
        with self._opened():
            self._put(heads)

    def _put(self, heads: Mapping[str, Head], digests: Mapping[str, str] | None = None) -> None:
        known = digests or {}
        fresh = self.path.with_name(f"{self.path.name}.{os.getpid()}")
        handle = os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, FILE)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
                stream.writelines(_line(key, head, known.get(key, "")) + "\n" for key, head in heads.items())
                stream.flush()
                os.fsync(stream.fileno())
            fresh.replace(self.path)
        finally:
            fresh.unlink(missing_ok=True)
        sync_folder(self.path.parent)

    @contextlib.contextmanager
    def _opened(self) -> Iterator[int]:
        """The file, open to add to, held against being written anew meanwhile."""
        while True:
            handle = os.open(self.path, os.O_CREAT | os.O_APPEND | os.O_WRONLY, FILE)
            try:
                if os.name != "posix":
                    yield handle
                    return
                fcntl.flock(handle, fcntl.LOCK_EX)
                if self._is_current(handle):  # else it was written anew while we waited
                    yield handle
                    return
            finally:
                os.close(handle)

    def _is_current(self, handle: int) -> bool:
        try:
            return os.fstat(handle).st_ino == self.path.stat().st_ino
        except FileNotFoundError:
            return False


def _line(attempt_id: str, head: Head, digest: str = "") -> str:
    said = [attempt_id, *head, digest]
    return json.dumps([*said, _check(json.dumps(said))], separators=(",", ":"))


def _check(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()[:8]


def _parsed(line: bytes) -> tuple[str, Head, str] | None:
    try:
        found: Any = json.loads(line)
        attempt_id, count, last, digest, check = found
        if check != _check(json.dumps([attempt_id, count, last, digest])):
            return None
    except (ValueError, TypeError, RecursionError):
        return None
    return attempt_id, (count, last), digest
