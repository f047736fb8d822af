"""What the store hands out, and what it can keep.

Throughout: ``value`` is anything, ``written`` JSON text, ``where`` names it in a sentence, ``key`` is a word of a
record and ``length`` how long it may be [-].
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from simulator.errors import InputError
from simulator.texts import text

MAX_CHARACTERS = 256 * 1024  # of one record as JSON


@dataclass(frozen=True)
class AttemptRow:
    """One attempt as a list shows it; ``made_at`` in UTC (ISO 8601), ``events`` the length of its log [-].

    ``ending`` is why it will not be gone on with, where somebody said so: "left" for another one, "unreadable" here.
    """

    attempt_id: str
    learner: str
    lesson: str
    mode: str
    seed: int
    scenario_hash: str
    model_version: str
    made_at: str
    events: int
    finished: bool
    ending: str = ""


@dataclass(frozen=True)
class EventRow:
    """One event of a log; minutes of the yard and seconds of the run as the event gave them, or None."""

    seq: int
    click_id: str | None
    yard_minutes: float | None
    run_seconds: float | None
    kind: str
    payload: dict[str, Any]
    made_at: str


@dataclass(frozen=True)
class Marks:
    """One version of an attempt's marks; the automatic and the trainer's are counted apart."""

    attempt_id: str
    source: str
    version: int
    marked_by: str
    sheet: dict[str, Any]
    made_at: str


def as_json(value: dict[str, Any]) -> str:
    """Canonical JSON of a record.

    Raises
    ------
    InputError : it holds what JSON cannot keep, or is too large.

    Examples
    --------
    >>> as_json({"b": 1.5, "a": [True]})
    '{"a":[true],"b":1.5}'
    """
    try:
        written = json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))
    except (TypeError, ValueError, RecursionError) as error:
        raise InputError(
            text("records.not_json", reason=str(error)), "records", text("records.not_json_legal")
        ) from error
    if len(written) > MAX_CHARACTERS:
        raise InputError(
            text("records.too_large"),
            "records",
            text("records.too_large_legal", most=MAX_CHARACTERS // 1024),
        )
    return written


def plain(written: Any, where: str) -> dict[str, Any]:
    """A record of the database as plain data.

    Raises
    ------
    InputError : it is damaged.

    Examples
    --------
    >>> plain('{"a":1}', "records")
    {'a': 1}
    """
    try:
        found = json.loads(written)
        if isinstance(found, dict):
            return found
    except (TypeError, ValueError, RecursionError):
        pass
    raise InputError(text("records.row_damaged"), where, text("records.row_damaged_legal"))


def one_line(record: dict[str, Any], key: str, length: int) -> str:
    """A word or name of a record, empty where it has none.

    Raises
    ------
    InputError : it is too long, or not one line.

    Examples
    --------
    >>> one_line({"learner": "Ash"}, "learner", 80)
    'Ash'
    """
    value = record.get(key, "")
    value = "" if value is None else str(value)
    if len(value) > length or not value.isprintable():
        raise InputError(f"{key} is {value[:40]!r}", key, f"one line of at most {length} characters")
    return value


def figure(value: Any) -> float | None:
    """A number as a float, anything else as None.

    Examples
    --------
    >>> figure(3), figure("3")
    (3.0, None)
    """
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def yard_minutes(event: dict[str, Any]) -> float | None:
    """Time of the yard's clock an event gives, as "yard_minutes" or as "clock_s" [min]; None without one.

    Examples
    --------
    >>> yard_minutes({"clock_s": 90.0}), yard_minutes({"yard_minutes": 2}), yard_minutes({})
    (1.5, 2.0, None)
    """
    seconds = figure(event.get("clock_s"))
    minutes = figure(event.get("yard_minutes"))
    return minutes if minutes is not None or seconds is None else seconds / 60.0


ATTEMPT_FIELDS = (("learner", 80), ("lesson", 80), ("mode", 20), ("scenario_hash", 64), ("model_version", 40))


def attempt_values(record: dict[str, Any]) -> dict[str, Any]:
    """The columns of an attempt that its record gives.

    Raises
    ------
    InputError : the record is not plain data, or a field of it cannot be stored.

    Examples
    --------
    >>> attempt_values({"learner": "Ash", "seed": 7})["seed"]
    7
    """
    written = as_json(record)
    values: dict[str, Any] = {key: one_line(record, key, length) for key, length in ATTEMPT_FIELDS}
    seed = record.get("seed", 0)
    if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed < 2**31:
        raise InputError(f"the seed is {seed!r}", "seed", f"a whole number, 0 to {2**31 - 1}")
    return {**values, "seed": seed, "record": written}


def event_values(event: dict[str, Any]) -> dict[str, Any]:
    """The columns of an event that its content gives.

    Raises
    ------
    InputError : it is not plain data, or too large.

    Examples
    --------
    >>> event_values({"kind": "begin", "clock_s": 90.0})["yard_minutes"]
    1.5
    """
    return {
        "yard_minutes": yard_minutes(event),
        "run_seconds": figure(event.get("run_seconds", event.get("shown_s"))),
        "kind": str(event.get("kind", event.get("act", "")))[:40],
        "payload": as_json(event),
    }
