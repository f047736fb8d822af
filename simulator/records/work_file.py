"""A learner's whole work in one file: JSON with a name of its own, a version and a checksum, to take to another place.

What has no marks yet may hold an answer that its learner is still looking for; such a record is packed, so that a glance
into the file gives nothing away. That keeps out a casual look, no more.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

import simulator
from simulator.errors import InputError
from simulator.records import tables
from simulator.records.rows import attempt_values, event_values, plain
from simulator.records.store import Store
from simulator.records.writing import progress_hash
from simulator.texts import text

FORMAT, VERSION = "call-out work", 1
MAX_BYTES = 64 * 1024 * 1024  # of a file that is read, unpacked
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
    with store.transaction(write=False) as connection:
        attempts = [_closed(each) for each in attempts_of(connection, learner)]
    body = {
        "format": FORMAT,
        "version": VERSION,
        "made_at": store.stamp(),
        "model_version": simulator.__version__,
        "learner": learner,
        "units": units,
        "attempts": attempts,
    }
    return json.dumps({**body, "checksum": checksum(body)}, indent=1, ensure_ascii=False) + "\n"


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
    """Read a work file, packed with gzip or plain.

    Raises
    ------
    InputError : it is a file of another kind, of a newer program, or damaged.
    """
    body = _parsed(data)
    if not isinstance(body, dict) or body.get("format") != FORMAT:
        raise InputError(text("records.work.other_kind"), "file", text("records.work.legal"))
    version = body.get("version")
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        newer = text("records.work.too_new_legal", known=VERSION)
        raise InputError(text("records.work.too_new", found=version), "file", newer)
    try:
        if version != VERSION or not isinstance(body["attempts"], list):
            raise _damaged("version")
        if body["checksum"] != checksum(body):
            raise _damaged("checksum")
        # A file of an earlier release gives no numbers; its order does.
        attempts = tuple(
            {"number": place, **_checked(each)} for place, each in enumerate(body["attempts"], start=1)
        )
        ids = {each["attempt_id"] for each in attempts}
        learner = body["learner"]
        if len(ids) != len(attempts) or any(_whose(each) != learner for each in attempts):
            raise _damaged("attempts")
        return Work(_word(learner), _word(body["units"]), _word(body["made_at"]), attempts)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise _damaged(type(error).__name__) from error


def _parsed(data: bytes | str) -> Any:
    raw = data.encode() if isinstance(data, str) else data
    if raw.startswith(_GZIP):
        raw = _unpacked(raw, 31)
    if len(raw) > MAX_BYTES:
        most = text("records.work.too_large_legal", most=MAX_BYTES // 2**20)
        raise InputError(text("records.work.too_large"), "file", most)
    try:
        return json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        # A file of ours that was cut off still says what it is at its head.
        if f'"{FORMAT}"'.encode() in raw[:200]:
            raise _damaged("JSON") from error
        raise InputError(text("records.work.other_kind"), "file", text("records.work.legal")) from error


def _unpacked(raw: bytes, bits: int) -> bytes:
    unpack = zlib.decompressobj(bits)
    try:
        out = unpack.decompress(raw, MAX_BYTES + 1)
    except zlib.error as error:
        raise _damaged("zlib") from error
    if not unpack.eof and len(out) <= MAX_BYTES:
        raise _damaged("zlib")
    return out


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


def _checked(entry: dict[str, Any]) -> dict[str, Any]:
    """An attempt of a file with every part of the kind it must be; what is wrong raises."""
    if "closed" in entry:
        opened = json.loads(_unpacked(base64.b85decode(entry["closed"]), 15))
        if opened["attempt_id"] != entry["attempt_id"]:
            raise _damaged("attempt_id")
        entry = opened
    attempt_values(entry["record"])
    number = entry.get("number", 1)
    if type(number) is not int or not 0 < number < 2**31:
        raise _damaged("number")
    _word(_whose(entry))
    for number, event in enumerate(entry["events"]):
        event_values(event["payload"])
        if event["seq"] != number or not isinstance(event["click_id"], (str, type(None))):
            raise _damaged("events")
    for marks in entry["marks"]:
        if marks["source"] not in ("automatic", "trainer") or not isinstance(marks["sheet"], dict):
            raise _damaged("marks")
        _word(marks["marked_by"])
    ending, progress = entry["ending"], entry["progress"]
    if ending is not None:
        _word(ending["reason"], 40)
    if progress is not None and not isinstance(progress["data"], dict):
        raise _damaged("progress")
    stamped = [entry, *entry["events"], *entry["marks"], *([ending] if ending else [])]
    for each in (*stamped, *([progress] if progress else [])):
        datetime.fromisoformat(_word(each["made_at"], 32))
    _word(entry["attempt_id"], 64)
    return dict(entry)


def _whose(attempt: dict[str, Any]) -> Any:
    return attempt["record"].get("learner") or ""


def _word(value: Any, most: int = 80) -> str:
    if not isinstance(value, str) or len(value) > most:
        raise _damaged(type(value).__name__)
    return value


def _canonical(value: Any) -> str:
    return json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))
