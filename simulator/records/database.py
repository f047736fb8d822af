"""One open database: transactions over it, its heads beside it, its log folded in."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine

from simulator.errors import InputError
from simulator.records import connect
from simulator.records.failures import sentences
from simulator.records.heads import Heads
from simulator.records.writing import new_heads
from simulator.texts import text


class Gate:
    """Lets any number of transactions in, or holds all off while the process forks.

    A fork in the middle of a transaction would leave the child with locks that no kernel knows of.
    """

    _LONGEST_WAIT = 5.0  # [s] for transactions of other threads before a fork

    def __init__(self) -> None:
        self._held = threading.Condition(threading.RLock())
        self._inside = 0

    @contextmanager
    def passed(self) -> Iterator[None]:
        """Be inside."""
        with self._held:
            self._inside += 1
        try:
            yield
        finally:
            with self._held:
                self._inside -= 1
                self._held.notify_all()

    def shut(self) -> None:
        """Wait until nobody is inside, and let nobody in."""
        self._held.acquire()
        self._held.wait_for(lambda: self._inside <= 0, self._LONGEST_WAIT)

    def open(self, *, nobody_inside: bool = False) -> None:
        """Let them in again; with ``nobody_inside``, as in a child of a fork, where the other threads do not exist."""
        if nobody_inside:
            self._inside = 0
        self._held.release()


class Database:
    """An engine and what belongs to it; shared by all stores of this process that are open on the same file.

    Parameters
    ----------
    name : what it is called in sentences.
    path : its file; None for a database in memory or at a URL.
    notices : what had to be said when it was opened.
    """

    def __init__(self, engine: Engine, name: str, path: Path | None, notices: tuple[str, ...] = ()) -> None:
        self.engine, self.name, self.path, self.notices = engine, name, path, notices
        self.heads = Heads(path) if path is not None else None
        self.users, self.gate = 0, Gate()
        self._log_known = self._log_inode()
        in_memory = path is None and engine.dialect.name == "sqlite"
        self._alone = threading.RLock() if in_memory else contextlib.nullcontext()

    @contextmanager
    def transaction(
        self, *, write: bool, at_once: bool = True, heads_at_once: bool = True
    ) -> Iterator[Connection]:
        """One transaction; a writing one is on the disk when it is over, but where ``at_once`` is False.

        Parameters
        ----------
        write : whether rows may be written.
        heads_at_once : whether the heads beside the database are waited for as well; else within about a second.

        Raises
        ------
        InputError : the database is full, locked, damaged, read-only or gone.
        """
        if not write:
            with self.gate.passed(), self._alone, sentences(self.name), self._connected(False) as connection:
                yield connection
            return
        with self.gate.passed(), self._alone, sentences(self.name):
            with self._connected(True, at_once) as connection:
                new_heads(connection).clear()
                yield connection
                ends = dict(new_heads(connection))
            if ends and self.heads is not None:
                self._look_for_log()
                # The database has it for good; a list of heads that lags behind is brought up at the next opening.
                with contextlib.suppress(OSError):
                    self.heads.add(ends, at_once=heads_at_once)

    @contextmanager
    def _connected(self, write: bool, at_once: bool = True) -> Iterator[Connection]:
        with self.engine.connect().execution_options(write=write) as connection:
            if not at_once:
                self._wait_for_disk(connection, "NORMAL")
            try:
                with connection.begin():
                    yield connection
            finally:
                if not at_once:
                    self._wait_for_disk(connection, "FULL")

    def _wait_for_disk(self, connection: Connection, how: str) -> None:
        driver = connection.connection.driver_connection
        if self.engine.dialect.name == "sqlite" and driver is not None:
            driver.execute(f"PRAGMA synchronous = {how}")

    def _look_for_log(self) -> None:
        """Where somebody took the log away while it is in use, put what is in it into the file and begin a new one.

        SQLite does not notice: it would go on writing to a file without a name, which ends with this process.
        """
        found = self._log_inode()
        if found == self._log_known or (found and not self._log_known):
            self._log_known = found
            return
        folded = self._folded()
        self.let_go()
        if not folded:
            raise InputError(text("records.log_taken"), self.name, text("records.log_taken_legal"))

    def _log_inode(self) -> int:
        """Which file the log is; 0 where there is none."""
        try:
            return self.path.with_name(self.path.name + "-wal").stat().st_ino if self.path else 0
        except OSError:
            return 0

    def let_go(self) -> None:
        """Close every connection; the next transaction opens anew."""
        self._log_known = 0
        self.engine.dispose()

    def fold(self) -> bool:
        """Fold the write-ahead log into the database, so that the file alone is whole; False where others are at it."""
        if self.path is None:
            return True
        with self.gate.passed():
            return self._folded()

    def _folded(self) -> bool:
        with contextlib.suppress(Exception):
            raw = self.engine.raw_connection()
            try:
                cursor = raw.cursor()
                cursor.execute("PRAGMA busy_timeout = 0")  # nobody waits for tidying up
                return cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0
            finally:
                raw.cursor().execute(f"PRAGMA busy_timeout = {int(connect.BUSY_SECONDS * 1000)}")
                raw.close()
        return False

    def close(self) -> None:
        """Fold the log in and let go of the file."""
        self.fold()
        if self.heads is not None:
            self.heads.sync()
        self.let_go()
