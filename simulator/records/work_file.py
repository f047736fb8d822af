"""A learner's whole work in one file: JSON with a name of its own, a version and a checksum, to take to another place.

What has no marks yet may hold an answer that its learner is still looking for; such a record is packed, so that a glance
into the file gives nothing away. That keeps out a casual look, no more.

Throughout: ``body`` is what a file holds as plain data, ``data`` the file itself, ``connection`` is one of
SQLAlchemy's, within a transaction.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

import simulator
from simulator.errors import InputError
from simulator.records import tables
from simulator.records.kinds import check_entry, newer_than
from simulator.records.rows import plain
from simulator.records.store import Store
from simulator.records.work_limits import MAX_ATTEMPTS, MAX_BYTES, Allowance
from simulator.records.writing import progress_hash
from simulator.texts import text
from simulator.units import SYSTEMS

FORMAT, VERSION = "call-out work", 1
HEAD_BYTES = 64 * 1024  # kept free for what stands round the records
_GZIP = b"\x1f\x8b"


@dataclass(frozen=True)
class Work:
    """A work file that was read: whose it is, the units in use, when it was made (UTC, ISO 8601), and its attempts.

    An attempt is plain data: ``attempt_id``, ``made_at``, ``record``, ``events`` (``seq``, ``click_id``, ``payload``,
    ``made_at``), ``marks``, ``ending`` and ``progress``.
    """

    learner: str
    units: str
    made_at: str
    attempts: tuple[dict[str, Any], ...]


def write_work(store: Store, learner: str, units: str = "metric") -> str:
    """Text of a file with all of a learner's attempts, their logs, marks and endings.

    Parameters
    ----------
    learner : as typed; an empty one is the work done without a name.
    units : the unit system to go on with, "metric" or "us".

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     work = read_work(write_work(store, "Ash"))
    >>> work.learner, [each["attempt_id"] == attempt for each in work.attempts]
    ('Ash', [True])
    """
    attempts, _ = _that_fit(store, learner)
    body: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "made_at": store.stamp(),
        "model_version": simulator.__version__,
        "learner": learner,
        "units": units,
        "attempts": [_closed(each) for each in attempts],
    }
    head = {key: value for key, value in body.items() if key != "attempts"} | {"checksum": checksum(body)}
    lines = [f" {json.dumps(key)}: {_plain(value)},\n" for key, value in head.items()]
    records = ",\n".join(_plain(each) for each in body["attempts"])
    return "{\n" + "".join(lines) + f' "attempts": [\n{records}\n ]\n}}\n'


def _plain(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def left_out(store: Store, learner: str) -> tuple[str, ...]:
    """Ids of a learner's records that are in no work file: nothing could read them back, or the file would be too large.

    The newest records go first into a file.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     odd = store.create_attempt({"learner": "Ash", "mode": "juggling"})
    ...     left_out(store, "Ash") == (odd,)
    True
    """
    return tuple(each["attempt_id"] for each in _that_fit(store, learner)[1])


def _that_fit(store: Store, learner: str) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """A learner's records that can be read back from a file, and those that cannot; both the oldest first."""
    fit: list[dict[str, Any]] = []
    unfit: list[dict[str, Any]] = []
    left = MAX_BYTES - HEAD_BYTES
    with store.transaction(write=False) as connection:
        records = attempts_of(connection, learner)
    for each in reversed(records):
        try:
            check_entry(each)
            left -= len(_plain(each).encode())
            if left < 0 or len(fit) == MAX_ATTEMPTS:
                raise ValueError("too much for one file")
        except ValueError:
            unfit.append(each)
        else:
            fit.append(each)
    return fit[::-1], unfit[::-1]


def checksum(body: dict[str, Any]) -> str:
    """SHA-256 over the canonical JSON of all of a file but its checksum, in hexadecimal.

    Examples
    --------
    >>> checksum({"a": 1, "checksum": "x"}) == checksum({"a": 1})
    True
    """
    rest = {key: value for key, value in body.items() if key != "checksum"}
    return hashlib.sha256(_canonical(rest).encode()).hexdigest()


def attempts_of(connection: Connection, learner: str) -> list[dict[str, Any]]:
    """All attempts of a learner as plain data, the oldest first."""
    a, e, m = tables.attempts.c, tables.events.c, tables.marks.c
    mine = select(a.attempt_id).where(a.learner == learner)
    out: dict[str, dict[str, Any]] = {}
    row: Any
    aside = select(tables.set_aside.c.attempt_id)
    mine = mine.where(a.attempt_id.not_in(aside))
    query = select(a.attempt_id, a.number, a.made_at, a.record).where(a.attempt_id.in_(mine))
    for row in connection.execute(query.order_by(a.number, a.made_at, a.attempt_id)):
        out[row.attempt_id] = {
            "attempt_id": row.attempt_id,
            "number": row.number,
            "made_at": row.made_at,
            "record": plain(row.record, "records"),
            "events": [],
            "marks": [],
            "ending": None,
            "progress": None,
        }
    columns = (e.attempt_id, e.seq, e.click_id, e.payload, e.made_at)
    for row in connection.execute(select(*columns).where(e.attempt_id.in_(mine)).order_by(e.seq)):
        event = {"seq": row.seq, "click_id": row.click_id, "made_at": row.made_at}
        out[row.attempt_id]["events"].append({**event, "payload": plain(row.payload, "records")})
    kept = (m.attempt_id, m.source, m.version, m.marked_by, m.sheet, m.made_at)
    for row in connection.execute(select(*kept).where(m.attempt_id.in_(mine)).order_by(m.link)):
        marks = {"source": row.source, "version": row.version, "marked_by": row.marked_by}
        marks |= {"sheet": plain(row.sheet, "records"), "made_at": row.made_at}
        out[row.attempt_id]["marks"].append(marks)
    ends, shown = tables.endings, tables.progress
    for row in connection.execute(select(ends).where(ends.c.attempt_id.in_(mine))):
        out[row.attempt_id]["ending"] = {"reason": row.reason, "made_at": row.made_at}
    for row in connection.execute(select(shown).where(shown.c.attempt_id.in_(mine))):
        if row.hash == progress_hash(row.attempt_id, row.data, row.made_at):  # else it is as good as none
            out[row.attempt_id]["progress"] = {"data": plain(row.data, "records"), "made_at": row.made_at}
    return list(out.values())


def read_work(data: bytes | str) -> Work:
    """Read a work file, packed with gzip or plain. All of it is looked at before any of it is given back.

    Raises
    ------
    InputError : it is a file of another kind, of a newer program, too large, or damaged.
    """
    allowance = Allowance()
    body = _parsed(data, allowance)
    if not isinstance(body, dict) or body.get("format") != FORMAT:
        raise InputError(text("records.work.other_kind"), "file", text("records.work.legal"))
    version = body.get("version")
    if type(version) is int and version > VERSION:
        newer = text("records.work.too_new_legal", known=VERSION)
        raise InputError(text("records.work.too_new", found=version), "file", newer)
    if type(version) is not int or version != VERSION:
        raise _damaged("version")
    entries, learner, units, made_at = (body.get(key) for key in ("attempts", "learner", "units", "made_at"))
    try:
        if body.get("checksum") != checksum(body):
            raise _damaged("checksum")
    except ValueError as error:
        raise _damaged("checksum") from error
    if not isinstance(entries, list) or len(entries) > MAX_ATTEMPTS:
        raise _damaged("attempts")
    if units not in tuple(SYSTEMS):
        raise _damaged("units")
    # A file of an earlier release gives its records no numbers; its order does.
    attempts = tuple(
        {"number": place, **_checked(each, place, allowance)} for place, each in enumerate(entries, start=1)
    )
    if len({each["attempt_id"] for each in attempts}) != len(attempts):
        raise _damaged("attempts")
    # the name and the time of the file are of the same kind as those of a record
    frame = {"attempt_id": "file", "made_at": made_at, "record": {"mode": "lesson", "learner": learner}}
    try:
        check_entry({**frame, "events": [], "marks": [], "ending": None, "progress": None})
    except ValueError as error:
        raise _damaged("learner") from error
    for number, each in enumerate(attempts, start=1):
        if (each["record"].get("learner") or "") != learner:
            raise _damaged(text("records.work.at_record", n=number, where="learner"))
    return Work(str(learner), str(units), str(made_at), attempts)


def _parsed(data: bytes | str, allowance: Allowance) -> Any:
    raw = data.encode(errors="surrogatepass") if isinstance(data, str) else data
    try:
        if raw.startswith(_GZIP):
            raw = allowance.unpacked(raw, 31)
        return allowance.parsed(raw)
    except zlib.error as error:
        raise _damaged("zlib") from error
    except ValueError as error:
        # A file of ours that was cut off still says what it is at its head.
        if f'"{FORMAT}"'.encode() in raw[:200]:
            raise _damaged("JSON") from error
        raise InputError(text("records.work.other_kind"), "file", text("records.work.legal")) from error


def _damaged(where: str) -> InputError:
    return InputError(text("records.work.damaged", where=where), "file", text("records.work.damaged_legal"))


def _is_open(attempt: dict[str, Any]) -> bool:
    """Whether a glance may see a record: nothing that is wrong with a rig stands in it, or its marks were given."""
    marked = any(each["source"] == "automatic" for each in attempt["marks"])
    return marked or "scenario" not in attempt["record"]


def _closed(attempt: dict[str, Any]) -> dict[str, Any]:
    if _is_open(attempt):
        return attempt
    packed = base64.b85encode(zlib.compress(_canonical(attempt).encode(), 9)).decode()
    return {"attempt_id": attempt["attempt_id"], "made_at": attempt["made_at"], "closed": packed}


def _checked(entry: Any, number: int, allowance: Allowance) -> dict[str, Any]:
    """A record of a file, unpacked, with every part of the kind it must be; what is wrong is an InputError.

    Parameters
    ----------
    number : of the record in the file, from 1.
    """
    outside = entry if isinstance(entry, dict) else {}
    try:
        if "closed" in outside:
            packed = outside["closed"]
            if not isinstance(packed, str):
                raise ValueError("closed")
            entry = allowance.parsed(allowance.unpacked(base64.b85decode(packed), 15))
            if not isinstance(entry, dict) or entry.get("attempt_id") != outside.get("attempt_id"):
                raise ValueError("attempt_id")
        check_entry(entry)
    except (ValueError, zlib.error) as error:
        made = _made_with(entry)
        if newer_than(made, simulator.__version__):
            newer = text("records.work.newer_record_legal", release=made)
            raise InputError(text("records.work.newer_record", release=made), "file", newer) from error
        raise _damaged(text("records.work.at_record", n=number, where=_said(error))) from error
    return dict(entry)


def _said(error: Exception) -> str:
    """Where a record is wrong, as the one who reads the file may look it up."""
    words = str(error)
    return words if words and len(words) <= 120 else type(error).__name__


def _made_with(entry: Any) -> str:
    record = entry.get("record") if isinstance(entry, dict) else None
    version = record.get("model_version") if isinstance(record, dict) else None
    return version if isinstance(version, str) and len(version) <= 40 else ""


def _canonical(value: Any) -> str:
    return json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))
