"""The one writer of records: attempts, their append-only logs, their marks. Nothing leaves the machine.

Throughout: ``attempt_id`` is the opaque id of an attempt, ``attempt_ids`` are several; ``path_or_url`` is a file, its
folder or a database's address; ``now`` gives the time; ``reason`` says why an attempt ended, ``click_id`` which press
an event came from, ``marked_by`` who marked, ``progress`` how far the page has shown; ``write`` says whether rows may
be written.
"""

from __future__ import annotations

import contextlib
import json
import uuid
import weakref
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Literal

from sqlalchemy import Connection, func, select

from simulator.errors import InputError
from simulator.records import shared, tables
from simulator.records.aside import refuse_aside, set_aside
from simulator.records.chain import examine
from simulator.records.checking import head_of, links_of
from simulator.records.database import Database
from simulator.records.rows import AttemptRow, EventRow, Marks, as_json, plain
from simulator.records.writing import (
    progress_hash,
    put_attempt,
    put_ending,
    put_event,
    put_marks,
    put_progress,
)
from simulator.texts import text

MarkSource = Literal["automatic", "trainer"]


def _utc_now() -> datetime:
    return datetime.now(UTC)


class Store:
    """Records over SQLAlchemy. Every method is one short transaction that is on the disk when it returns.

    Several threads and processes of one machine may use one file at once. Logs and marks are only ever added
    to; in SQLite files the database itself refuses to change or delete them.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "09", "scenario_hash": "0"})
    ...     stored = store.append_event(attempt, 0, {"kind": "begin"}, "click 1")
    ...     store.events(attempt)
    [{'kind': 'begin'}]
    """

    def __init__(self, database: Database, now: Callable[[], datetime] = _utc_now) -> None:
        self._database, self.name, self._now = database, database.name, now
        # Whoever forgets to close it lets go of the file when it is no longer of use, or at the end of the process.
        self._release = weakref.finalize(self, shared.release, database)

    @classmethod
    def open(cls, path_or_url: Path | str | None = None, *, now: Callable[[], datetime] = _utc_now) -> Store:
        """The store in a file, at a database URL, or in the user's own data folder (``SIMULATOR_DATA_DIR``).

        A file that is open in this process already is shared. What its opening had to say, of steps lost or set aside,
        is in :attr:`notices`.

        Raises
        ------
        InputError : the place cannot be written to or is a network drive; the file is damaged, not ours
            or too new. The file is then left as it is.
        """
        return cls(shared.take(path_or_url), now)

    @property
    def notices(self) -> tuple[str, ...]:
        """Sentences for whoever opens the records: what was lost or damaged, and what was kept; most often none."""
        return self._database.notices

    def close(self) -> None:
        """Let go of the file; the last store of this process that is open on it folds its log in."""
        self._release()

    def fold(self) -> bool:
        """Fold the log into the file itself, so that a copy of that alone is whole; False where others are at it."""
        return self._database.fold()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # attempts

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        """Keep a new attempt and return its id, which tells nothing of its content.

        ``record`` is plain data with "learner", "lesson", "mode", "seed", "scenario", "scenario_hash" and
        "model_version".

        Raises
        ------
        InputError : the id is taken, the record is not plain data, or it cannot be stored.
        """
        attempt_id = attempt_id or uuid.uuid4().hex
        with self._writing() as connection:
            if self._has(connection, attempt_id):
                raise InputError(text("records.attempt_exists", attempt=attempt_id), self.name)
            put_attempt(connection, attempt_id, record, self._stamp())
        return attempt_id

    def attempt_record(self, attempt_id: str) -> dict[str, Any]:
        """The record given to :meth:`create_attempt`.

        Raises
        ------
        InputError : there is no such attempt.
        """
        with self._reading() as connection:
            self._known(connection, attempt_id)
            found = connection.execute(
                select(tables.attempts.c.record).where(tables.attempts.c.attempt_id == attempt_id)
            ).scalar()
        return plain(found, self.name)

    def list_attempts(self, learner: str | None = None, lesson: str | None = None) -> list[AttemptRow]:
        """Attempts in the order in which they were begun; of one learner, of one lesson, or all.

        Attempts that were set aside are left out; see :meth:`aside`.
        """
        a, e = tables.attempts.c, tables.events.c
        count = select(func.count()).where(e.attempt_id == a.attempt_id).scalar_subquery()
        marked = select(func.count()).where(
            tables.marks.c.attempt_id == a.attempt_id, tables.marks.c.source == "automatic"
        )
        ending = select(func.min(tables.endings.c.reason)).where(tables.endings.c.attempt_id == a.attempt_id)
        shown = (
            *(a.attempt_id, a.learner, a.lesson, a.mode, a.seed),
            a.scenario_hash,
            a.model_version,
            a.made_at,
        )
        # The clock parts only what was begun in two places that knew nothing of one another.
        query = select(*shown, count, marked.scalar_subquery(), ending.scalar_subquery()).order_by(
            a.number, a.made_at, a.attempt_id
        )
        if learner is not None:
            query = query.where(a.learner == learner)
        if lesson is not None:
            query = query.where(a.lesson == lesson)
        with self._reading() as connection:
            rows = connection.execute(query).all()
            hidden = set(connection.execute(select(tables.set_aside.c.attempt_id)).scalars())
        return [
            AttemptRow(*row[:9], finished=bool(row[9]) or row[10] is not None, ending=row[10] or "")
            for row in rows
            if row[0] not in hidden
        ]

    def end_attempt(self, attempt_id: str, reason: str = "left") -> None:
        """Say that an attempt will not be gone on with. Twice is the same as once.

        Raises
        ------
        InputError : there is no such attempt.
        """
        with self._writing() as connection:
            self._known(connection, attempt_id)
            e = tables.endings.c
            if connection.execute(select(e.reason).where(e.attempt_id == attempt_id)).first() is None:
                put_ending(connection, attempt_id, reason, self._stamp())

    # the log

    def append_event(
        self, attempt_id: str, seq: int, event: dict[str, Any], click_id: str | None = None
    ) -> dict[str, Any]:
        """Add one event to the log for good and return it as stored.

        The same event again under the same click id (a retry after a lost answer) is stored once.

        Raises
        ------
        InputError : the attempt is unknown, ``seq`` is not the next, or the click id is in the log with other
            content, so that two writers cannot both go on; or it cannot be stored.
        """
        written = as_json(event)
        with self._writing(heads_at_once=False) as connection:
            self._known(connection, attempt_id)
            e = tables.events.c
            if click_id is not None:
                there = connection.execute(
                    select(e.seq, e.payload).where(e.attempt_id == attempt_id, e.click_id == click_id)
                ).first()
                if there is not None and (there.seq, there.payload) == (seq, written):
                    return dict(json.loads(there.payload))
                if there is not None:
                    raise InputError(
                        text("records.click_taken", click=click_id), self.name, text("records.click_legal")
                    )
            last = connection.execute(select(func.max(e.seq)).where(e.attempt_id == attempt_id)).scalar()
            following = 0 if last is None else last + 1
            if seq != following:
                raise InputError(
                    text("records.seq_taken", seq=seq), self.name, text("records.seq_legal", next=following)
                )
            put_event(connection, attempt_id, seq, event, click_id, self._stamp())
        return dict(json.loads(written))

    def events(self, attempt_id: str) -> list[dict[str, Any]]:
        """The log of an attempt as it was given, in order.

        Raises
        ------
        InputError : there is no such attempt.
        """
        return [row.payload for row in self.log(attempt_id)]

    def log(self, attempt_id: str) -> list[EventRow]:
        """The log of an attempt with the ids and times of its events, in order.

        Raises
        ------
        InputError : there is no such attempt, or a row of it was altered or lost; it is set aside then.
        """
        e = tables.events.c
        columns = (e.seq, e.click_id, e.yard_minutes, e.run_seconds, e.kind, e.payload, e.made_at)
        with self._reading() as connection:
            self._known(connection, attempt_id)
            rows = connection.execute(
                select(*columns).where(e.attempt_id == attempt_id).order_by(e.seq)
            ).all()
            links = links_of(connection, [attempt_id]).get(attempt_id, [])
            broken, _ = examine(attempt_id, links, head_of(connection, attempt_id), None)
        if broken is not None:
            with self._writing() as connection:
                told = set_aside(connection, [broken], self._stamp())
            raise InputError(" ".join(told).rstrip(".") or text("records.aside.is_aside"), self.name)
        return [
            EventRow(*row[:5], payload=plain(row.payload, self.name), made_at=row.made_at) for row in rows
        ]

    # marks

    def save_marks(
        self,
        attempt_id: str,
        sheet: dict[str, Any],
        *,
        source: MarkSource = "automatic",
        marked_by: str = "",
    ) -> int:
        """Keep a new version of an attempt's marks and return its number, from 1 [-]; older versions stay.

        The same sheet as the latest of its source again makes no new version.

        Raises
        ------
        InputError : the attempt or the source is unknown, or it cannot be stored.
        """
        if source not in ("automatic", "trainer"):
            raise InputError(f"there are no marks by {source!r}", "marks", "automatic or trainer")
        written = as_json(sheet)
        with self._writing() as connection:
            self._known(connection, attempt_id)
            m = tables.marks.c
            latest = connection.execute(
                select(m.version, m.sheet, m.marked_by)
                .where(m.attempt_id == attempt_id, m.source == source)
                .order_by(m.version.desc())
            ).first()
            if latest is not None and (latest.sheet, latest.marked_by) == (written, marked_by):
                return int(latest.version)
            version = 1 if latest is None else latest.version + 1
            put_marks(connection, attempt_id, source, version, marked_by, sheet, self._stamp())
        self.fold()  # what was marked lies in the file itself, whatever becomes of its log
        return int(version)

    def marks(self, attempt_id: str, source: MarkSource | None = None) -> list[Marks]:
        """All versions of an attempt's marks in the order in which they were given; of one source or of both.

        Raises
        ------
        InputError : there is no such attempt.
        """
        m = tables.marks.c
        query = select(m.attempt_id, m.source, m.version, m.marked_by, m.sheet, m.made_at)
        query = query.where(m.attempt_id == attempt_id).order_by(m.link)
        if source is not None:
            query = query.where(m.source == source)
        with self._reading() as connection:
            self._known(connection, attempt_id)
            rows = connection.execute(query).all()
        return [Marks(*row[:4], sheet=plain(row.sheet, self.name), made_at=row.made_at) for row in rows]

    # what the page has shown

    def set_progress(self, attempt_id: str, progress: dict[str, Any]) -> None:
        """Keep how far the page has shown the run; the only thing that is written over.

        It is not waited for until it is on the disk: a power cut may lose the last of it, nothing else.

        Raises
        ------
        InputError : there is no such attempt, or it cannot be stored.
        """
        with self._writing(at_once=False) as connection:
            self._known(connection, attempt_id)
            put_progress(connection, attempt_id, progress, self._stamp())

    def get_progress(self, attempt_id: str) -> dict[str, Any] | None:
        """The latest progress of an attempt, or None; one that was altered is as good as none."""
        p = tables.progress.c
        with self._reading() as connection:
            found = connection.execute(
                select(p.data, p.made_at, p.hash).where(p.attempt_id == attempt_id)
            ).first()
        if found is None or found.hash != progress_hash(attempt_id, found.data, found.made_at):
            return None
        return dict(json.loads(found.data))

    progress = get_progress  # the name an attempt asks for

    def aside(self) -> list[tuple[str, str]]:
        """Ids of the attempts that were set aside because a row was altered or lost, each with what was said of it."""
        a = tables.set_aside.c
        with self._reading() as connection:
            rows = connection.execute(select(a.attempt_id, a.reason).order_by(a.made_at, a.attempt_id)).all()
        return [(row.attempt_id, row.reason) for row in rows]

    # many rows at once

    def transaction(self, *, write: bool = True) -> AbstractContextManager[Connection]:
        """One transaction over the tables of the records: all of it or nothing. For this package alone."""
        return self._writing() if write else self._reading()

    def drop_heads(self, attempt_ids: set[str]) -> None:
        """Leave attempts out of the list beside the file. For this package alone."""
        if self._database.heads is not None:
            with contextlib.suppress(OSError):  # the next opening finds their stones
                self._database.heads.rewrite(drop=attempt_ids)

    def stamp(self) -> str:
        """The time now, as records keep it: UTC, ISO 8601."""
        return self._stamp()

    # within

    def _writing(
        self, *, at_once: bool = True, heads_at_once: bool = True
    ) -> AbstractContextManager[Connection]:
        self._check_open()
        return self._database.transaction(write=True, at_once=at_once, heads_at_once=heads_at_once)

    def _reading(self) -> AbstractContextManager[Connection]:
        self._check_open()
        return self._database.transaction(write=False)

    def _check_open(self) -> None:
        if not self._release.alive:
            raise InputError(text("records.closed"), self.name, text("records.closed_legal"))

    def _has(self, connection: Connection, attempt_id: str) -> bool:
        a = tables.attempts.c
        return connection.execute(select(a.seed).where(a.attempt_id == attempt_id)).first() is not None

    def _known(self, connection: Connection, attempt_id: str) -> None:
        if not self._has(connection, attempt_id):
            raise InputError(text("records.no_attempt", attempt=attempt_id), self.name)
        refuse_aside(connection, attempt_id, self.name)

    def _stamp(self) -> str:
        return self._now().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
