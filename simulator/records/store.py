"""The one writer of records: attempts, their append-only logs, their marks. Nothing leaves the machine."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Literal

from sqlalchemy import Connection, Engine, func, select

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.connect import open_engine
from simulator.records.failures import sentences
from simulator.records.rows import AttemptRow, EventRow, Marks, as_json, attempt_values, event_values
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

    def __init__(self, engine: Engine, name: str, now: Callable[[], datetime] = _utc_now) -> None:
        self._engine, self.name, self._now = engine, name, now

    @classmethod
    def open(cls, path_or_url: Path | str | None = None, *, now: Callable[[], datetime] = _utc_now) -> Store:
        """The store in a file, at a database URL, or in the user's own data folder (``SIMULATOR_DATA_DIR``).

        Raises
        ------
        InputError : the place cannot be written to or is a network drive; the file is damaged, not ours
            or too new. The file is then left as it is.
        """
        engine, name = open_engine(path_or_url)
        return cls(engine, name, now)

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

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
        values = attempt_values(record)
        with self._writing() as connection:
            if self._has(connection, attempt_id):
                raise InputError(text("records.attempt_exists", attempt=attempt_id), self.name)
            connection.execute(
                tables.attempts.insert().values(attempt_id=attempt_id, made_at=self._stamp(), **values)
            )
        return attempt_id

    def attempt_record(self, attempt_id: str) -> dict[str, Any]:
        """The record given to :meth:`create_attempt`.

        Raises
        ------
        InputError : there is no such attempt.
        """
        with self._reading() as connection:
            found = connection.execute(
                select(tables.attempts.c.record).where(tables.attempts.c.attempt_id == attempt_id)
            ).scalar()
        if found is None:
            raise InputError(text("records.no_attempt", attempt=attempt_id), self.name)
        return dict(json.loads(found))

    def list_attempts(self, learner: str | None = None, lesson: str | None = None) -> list[AttemptRow]:
        """Attempts, the oldest first; of one learner, of one lesson, or all."""
        a, e = tables.attempts.c, tables.events.c
        count = select(func.count()).where(e.attempt_id == a.attempt_id).scalar_subquery()
        marked = select(func.count()).where(
            tables.marks.c.attempt_id == a.attempt_id, tables.marks.c.source == "automatic"
        )
        ended = select(func.count()).where(tables.endings.c.attempt_id == a.attempt_id)
        finished = marked.scalar_subquery() + ended.scalar_subquery()
        plain = (
            a.attempt_id,
            a.learner,
            a.lesson,
            a.mode,
            a.seed,
            a.scenario_hash,
            a.model_version,
            a.made_at,
        )
        query = select(*plain, count, finished).order_by(a.made_at, a.attempt_id)
        if learner is not None:
            query = query.where(a.learner == learner)
        if lesson is not None:
            query = query.where(a.lesson == lesson)
        with self._reading() as connection:
            rows = connection.execute(query).all()
        return [AttemptRow(*row[:9], finished=bool(row[9])) for row in rows]

    def latest_unfinished(self, learner: str, lesson: str) -> str | None:
        """Id of a learner's newest attempt at a lesson with no automatic mark and not ended; or None."""
        rows = [row for row in self.list_attempts(learner, lesson) if not row.finished]
        return rows[-1].attempt_id if rows else None

    def end_attempt(self, attempt_id: str, reason: str = "left") -> None:
        """Say that an attempt will not be gone on with. Twice is the same as once.

        Raises
        ------
        InputError : there is no such attempt.
        """
        with self._writing() as connection:
            self._known(connection, attempt_id)
            table = tables.endings
            if (
                connection.execute(select(table.c.reason).where(table.c.attempt_id == attempt_id)).first()
                is None
            ):
                connection.execute(
                    table.insert().values(attempt_id=attempt_id, reason=reason[:40], made_at=self._stamp())
                )

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
        values = event_values(event)
        written = values["payload"]
        with self._writing() as connection:
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
            connection.execute(
                tables.events.insert().values(
                    attempt_id=attempt_id,
                    seq=seq,
                    click_id=click_id,
                    made_at=self._stamp(),
                    **values,
                )
            )
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
        InputError : there is no such attempt.
        """
        e = tables.events.c
        columns = (e.seq, e.click_id, e.yard_minutes, e.run_seconds, e.kind, e.payload, e.made_at)
        with self._reading() as connection:
            self._known(connection, attempt_id)
            rows = connection.execute(
                select(*columns).where(e.attempt_id == attempt_id).order_by(e.seq)
            ).all()
        return [EventRow(*row[:5], payload=json.loads(row.payload), made_at=row.made_at) for row in rows]

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
            connection.execute(
                tables.marks.insert().values(
                    attempt_id=attempt_id,
                    source=source,
                    version=version,
                    marked_by=marked_by,
                    sheet=written,
                    made_at=self._stamp(),
                )
            )
        return int(version)

    def marks(self, attempt_id: str, source: MarkSource | None = None) -> list[Marks]:
        """All versions of an attempt's marks, the oldest first; of one source or of both.

        Raises
        ------
        InputError : there is no such attempt.
        """
        m = tables.marks.c
        query = select(m.attempt_id, m.source, m.version, m.marked_by, m.sheet, m.made_at)
        query = query.where(m.attempt_id == attempt_id).order_by(m.made_at, m.source, m.version)
        if source is not None:
            query = query.where(m.source == source)
        with self._reading() as connection:
            self._known(connection, attempt_id)
            rows = connection.execute(query).all()
        return [Marks(*row[:4], sheet=json.loads(row.sheet), made_at=row.made_at) for row in rows]

    # what the page has shown

    def set_progress(self, attempt_id: str, progress: dict[str, Any]) -> None:
        """Keep how far the page has shown the run; the only thing that is written over.

        It is not waited for until it is on the disk: a power cut may lose the last of it, nothing else.

        Raises
        ------
        InputError : there is no such attempt, or it cannot be stored.
        """
        written, table = as_json(progress), tables.progress
        with self._writing(at_once=False) as connection:
            self._known(connection, attempt_id)
            new = {"data": written, "made_at": self._stamp()}
            done = connection.execute(table.update().where(table.c.attempt_id == attempt_id).values(**new))
            if done.rowcount == 0:
                connection.execute(table.insert().values(attempt_id=attempt_id, **new))

    def get_progress(self, attempt_id: str) -> dict[str, Any] | None:
        """The latest progress of an attempt, or None."""
        table = tables.progress
        with self._reading() as connection:
            found = connection.execute(select(table.c.data).where(table.c.attempt_id == attempt_id)).scalar()
        return None if found is None else dict(json.loads(found))

    progress = get_progress  # the name an attempt asks for

    # many rows at once

    def transaction(self, *, write: bool = True) -> AbstractContextManager[Connection]:
        """One transaction over the tables of the records: all of it or nothing. For this package alone."""
        return self._writing() if write else self._reading()

    def stamp(self) -> str:
        """The time now, as records keep it: UTC, ISO 8601."""
        return self._stamp()

    # within

    @contextmanager
    def _writing(self, at_once: bool = True) -> Iterator[Connection]:
        with sentences(self.name), self._engine.connect().execution_options(write=True) as connection:
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
        if self._engine.dialect.name == "sqlite" and driver is not None:
            driver.execute(f"PRAGMA synchronous = {how}")

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with sentences(self.name), self._engine.connect() as connection, connection.begin():
            yield connection

    def _has(self, connection: Connection, attempt_id: str) -> bool:
        a = tables.attempts.c
        return connection.execute(select(a.seed).where(a.attempt_id == attempt_id)).first() is not None

    def _known(self, connection: Connection, attempt_id: str) -> None:
        if not self._has(connection, attempt_id):
            raise InputError(text("records.no_attempt", attempt=attempt_id), self.name)

    def _stamp(self) -> str:
        return self._now().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
