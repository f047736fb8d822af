"""Take a work file into the records: nothing is lost, nothing comes twice, and nothing that is there is changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, func, select

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.rows import as_json, plain
from simulator.records.store import Store
from simulator.records.work_file import Work, attempts_of
from simulator.records.writing import put_attempt, put_ending, put_events, put_marks, put_progress

BESIDE = "branch_of"  # in a record: the attempt of which this is another way to go on


@dataclass
class Merged:
    """What came in [-]: new attempts, events added to known ones, marks; ``beside`` of the attempts are another way on.

    ``same`` is whether the records of this learner now hold what the file holds and nothing more.
    """

    attempts: int = 0
    events: int = 0
    marks: int = 0
    beside: int = 0
    same: bool = False

    @property
    def anything(self) -> bool:
        """Whether anything was new."""
        return bool(self.attempts or self.events or self.marks)


@dataclass
class _Here:
    """The learner's attempts that are here, by id and by the attempt they belong to."""

    by_id: dict[str, dict[str, Any]] = field(default_factory=dict)
    family: dict[str, list[dict[str, Any]]] = field(default_factory=dict)

    def add(self, attempt: dict[str, Any]) -> None:
        self.by_id[attempt["attempt_id"]] = attempt
        self.family.setdefault(_origin(attempt), []).append(attempt)


def merge_work(store: Store, work: Work) -> Merged:
    """Take all that is in a work file into a store's records; loading a file again changes nothing.

    An attempt that went on in both places from the same point is kept both ways, the one from the file beside the one
    that is here. Answers on a lesson's page are joined. All of it is taken in, or nothing.

    Raises
    ------
    InputError : it cannot be stored.

    Examples
    --------
    >>> from simulator.records.work_file import read_work, write_work
    >>> with Store.open("sqlite://") as one, Store.open("sqlite://") as other:
    ...     attempt = one.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     work = read_work(write_work(one, "Ash"))
    ...     merge_work(other, work).attempts, merge_work(other, work).attempts
    (1, 0)
    """
    out = Merged()
    with store.transaction() as connection:
        here = _Here()
        for attempt in attempts_of(connection, work.learner):
            here.add(attempt)
        for attempt in work.attempts:
            _take(connection, here, attempt, out)
        known = {_mark_of(each) for each in work.attempts}
        out.same = {_mark_of(each) for each in here.by_id.values()} == known
    return out


def nameless(store: Store) -> tuple[dict[str, Any], ...]:
    """What was done here without a name and was not taken over since, as in a work file, the oldest first.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "", "lesson": "01", "mode": "lesson"})
    ...     len(nameless(store))  # nothing was answered yet
    0
    """
    with store.transaction(write=False) as connection:
        found = [each for each in attempts_of(connection, "") if len(each["events"]) > 1]
        gone = _origins(connection) if found else set()
    return tuple(each for each in found if each["attempt_id"] not in gone)


def take_over(store: Store, learner: str, attempts: Iterable[dict[str, Any]]) -> int:
    """Keep work that was done without a name under a learner's too; gives how many came [-].

    Each is kept once, whoever asks: as a copy that says where it is from. What is there stays as it is. Of a lesson's
    page of which the learner has answers of their own nothing comes.

    Parameters
    ----------
    attempts : of :func:`nameless`.

    Raises
    ------
    InputError : it cannot be stored.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "", "lesson": "09", "mode": "practice", "scenario": {}})
    ...     for n in (0, 1):
    ...         _ = store.append_event(attempt, n, {"act": "wait"})
    ...     found = nameless(store)
    ...     take_over(store, "Ash", found), take_over(store, "Reed", found), len(nameless(store))
    (1, 0, 0)
    """
    came = 0
    with store.transaction() as connection:
        gone = _origins(connection)
        own = {each["record"].get("lesson") for each in attempts_of(connection, learner) if _of_a_page(each)}
        for each in attempts:
            if each["attempt_id"] in gone or (_of_a_page(each) and each["record"].get("lesson") in own):
                continue
            copy = _beside({**each, "record": {**each["record"], "learner": learner}}, None)
            put_attempt(connection, copy["attempt_id"], copy["record"], copy["made_at"], copy.get("number"))
            fresh = {**copy, "events": [], "marks": [], "ending": None, "progress": None}
            _go_on(connection, fresh, copy, Merged())
            came += 1
    return came


def _of_a_page(attempt: dict[str, Any]) -> bool:
    return "scenario" not in attempt["record"]


def _origins(connection: Connection) -> set[str]:
    """Ids of the attempts of which there is another way on, or a copy under a name."""
    records = connection.execute(select(tables.attempts.c.record)).scalars()
    return {str(record[BESIDE]) for record in map(_read, records) if BESIDE in record}


def _read(record: Any) -> dict[str, Any]:
    try:
        return plain(record, "records")
    except InputError:  # damaged, and set aside
        return {}


def _take(connection: Connection, here: _Here, attempt: dict[str, Any], out: Merged) -> None:
    known = _the_same(here, attempt)
    if known is not None:
        _go_on(connection, known, attempt, out)
        return
    taken = _is_taken(connection, attempt["attempt_id"])
    if taken:
        attempt = _beside(attempt, here.by_id.get(attempt["attempt_id"]))
        out.beside += 1
        if _is_taken(connection, attempt["attempt_id"]):  # of somebody else's records: nothing more to do
            return
    put_attempt(
        connection, attempt["attempt_id"], attempt["record"], attempt["made_at"], attempt.get("number")
    )
    out.attempts += 1
    fresh = {**attempt, "events": [], "marks": [], "ending": None, "progress": None}
    here.add(fresh)
    _go_on(connection, fresh, attempt, Merged())


def _the_same(here: _Here, attempt: dict[str, Any]) -> dict[str, Any] | None:
    """The attempt that is here of which this one is an earlier or a later state."""
    plain = _plain(attempt["record"])
    family = [each for each in here.family.get(_origin(attempt), []) if _plain(each["record"]) == plain]
    if "scenario" not in attempt["record"]:
        return family[0] if family else None
    theirs = _log(attempt)
    fitting = []
    for each in family:
        ours = _log(each)
        shared = min(len(ours), len(theirs))
        if ours[:shared] == theirs[:shared]:
            fitting.append((shared, len(ours), each))
    return max(fitting, key=lambda item: item[:2])[2] if fitting else None


def _go_on(connection: Connection, known: dict[str, Any], attempt: dict[str, Any], out: Merged) -> None:
    """Add to an attempt that is here what it lacks."""
    attempt_id = known["attempt_id"]
    had = len(known["events"])
    there = {_event_mark(event) for event in known["events"]}
    rows: list[tuple[int, dict[str, Any], str | None, str]] = []
    for event in attempt["events"]:
        mark = _event_mark(event)
        if mark in there:
            continue
        new = {**event, "seq": len(known["events"])}
        rows.append((new["seq"], new["payload"], new["click_id"], new["made_at"]))
        known["events"].append(new)
        there.add(mark)
    put_events(connection, attempt_id, rows)
    out.events += len(rows)
    _take_marks(connection, known, attempt["marks"], out)
    if attempt["ending"] and not known["ending"]:
        known["ending"] = attempt["ending"]
        put_ending(connection, attempt_id, attempt["ending"]["reason"], attempt["ending"]["made_at"])
        out.events += 1
    shown = attempt["progress"]
    newer = shown and (not known["progress"] or known["progress"]["made_at"] < shown["made_at"])
    further = len(known["events"]) > had or len(attempt["events"]) == len(known["events"])
    if shown and newer and further:
        put_progress(connection, attempt_id, shown["data"], shown["made_at"])
        known["progress"] = shown


def _take_marks(
    connection: Connection, known: dict[str, Any], marks: list[dict[str, Any]], out: Merged
) -> None:
    for new in marks:
        if any(_as_mark(new) == _as_mark(each) for each in known["marks"]):
            continue
        m = tables.marks.c
        last = connection.execute(
            select(func.max(m.version)).where(m.attempt_id == known["attempt_id"], m.source == new["source"])
        ).scalar()
        row = {**new, "version": 1 + (last or 0)}
        known["marks"].append(row)
        put_marks(
            connection,
            known["attempt_id"],
            row["source"],
            row["version"],
            row["marked_by"],
            new["sheet"],
            new["made_at"],
        )
        out.marks += 1


def _beside(attempt: dict[str, Any], ours: dict[str, Any] | None) -> dict[str, Any]:
    """The same attempt under an id of its own, which its content gives; the longer way on counts as the later one."""
    origin = _origin(attempt)
    content = as_json({"of": origin, "record": _plain(attempt["record"])}) + json.dumps(_log(attempt))
    longer = ours is not None and len(attempt["events"]) > len(ours["events"])
    return {
        **attempt,
        "attempt_id": hashlib.sha256(content.encode()).hexdigest()[:32],
        "record": {**_plain(attempt["record"]), BESIDE: origin},
        "made_at": _nudged(attempt["made_at"], 1 if longer else -1),
    }


def _nudged(stamp: str, by: int) -> str:
    """A time a millisecond later or earlier, as records keep it."""
    moved = datetime.fromisoformat(stamp) + timedelta(milliseconds=by)
    return moved.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _is_taken(connection: Connection, attempt_id: str) -> bool:
    a = tables.attempts.c
    return connection.execute(select(a.seed).where(a.attempt_id == attempt_id)).first() is not None


def _origin(attempt: dict[str, Any]) -> str:
    return str(attempt["record"].get(BESIDE) or attempt["attempt_id"])


def _plain(record: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in record.items() if key != BESIDE}


def _event_mark(event: dict[str, Any]) -> tuple[str, str]:
    return event["click_id"] or "", as_json(event["payload"])


def _log(attempt: dict[str, Any]) -> list[tuple[str, str]]:
    return [_event_mark(event) for event in attempt["events"]]


def _as_mark(marks: dict[str, Any]) -> tuple[str, str, str, str]:
    """What makes marks the same: a trainer may come back to earlier ones, the program gives them once."""
    when = marks["made_at"] if marks["source"] == "trainer" else ""
    return marks["source"], marks["marked_by"], as_json(marks["sheet"]), when


def _mark_of(attempt: dict[str, Any]) -> tuple[str, int, int, bool]:
    return _origin(attempt), len(attempt["events"]), len(attempt["marks"]), bool(attempt["ending"])


def amount(store: Store, learner: str) -> int:
    """How much a learner's records hold: events, marks and endings together [-].

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     amount(store, "Ash")
    0
    """
    a = tables.attempts.c
    mine = select(a.attempt_id).where(a.learner == learner)
    with store.transaction(write=False) as connection:
        counts = [
            connection.execute(
                select(func.count()).select_from(table).where(table.c.attempt_id.in_(mine))
            ).scalar()
            for table in (tables.events, tables.marks, tables.endings)
        ]
    return sum(int(count or 0) for count in counts)


def latest_work(store: Store, learner: str) -> str:
    """When the newest event of a learner was kept, in UTC by ISO 8601; an empty text where there is none.

    Parameters
    ----------
    store : the records.
    learner : as typed by the learner.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     latest_work(store, "Ash")
    ''
    """
    a, e = tables.attempts.c, tables.events.c
    mine = select(a.attempt_id).where(a.learner == learner)
    with store.transaction(write=False) as connection:
        return str(
            connection.execute(select(func.max(e.made_at)).where(e.attempt_id.in_(mine))).scalar() or ""
        )
