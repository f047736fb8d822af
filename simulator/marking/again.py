"""Marking a stored attempt again: the same marks, or a sentence on which version changed them.

The automatic marks and a trainer's are kept apart in the records; nothing here touches a trainer's.

Throughout: ``attempt_id`` is the opaque id of an attempt; ``stored`` and ``now`` are two sheets of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import simulator
from simulator.attempt import Attempt
from simulator.diagnosis.hypothesis_set import model_version
from simulator.errors import InputError, broken_program
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import MARKING_VERSION
from simulator.texts import knows, text

SAME, NOT_MARKED, NO_REPLAY = "same", "not_marked", "no_replay"
BY_MARKING, BY_MODEL, BY_WEIGHTS, UNEXPLAINED = "marking", "model", "weights", "unexplained"


@dataclass(frozen=True)
class Again:
    """What came of marking again: ``cause`` in a word, a sentence, and both sheets (None where there is none)."""

    cause: str
    sentence: str
    stored: dict[str, Any] | None
    now: dict[str, Any] | None

    @property
    def same(self) -> bool:
        """Whether the marks are what they were."""
        return self.cause == SAME


def mark_again(store: Any, attempt_id: str) -> Again:
    """Replay a stored attempt, mark it anew, and hold that against the latest automatic marks. Nothing is stored.

    Parameters
    ----------
    store : with ``attempt_record``, ``events`` and ``marks``.

    Raises
    ------
    InputError : there is no such attempt.
    RefusedAct : it is not over.
    """
    sheets = [marks.sheet for marks in store.marks(attempt_id) if marks.source == "automatic"]
    stored = sheets[-1] if sheets else None
    record = store.attempt_record(attempt_id)
    try:
        attempt = Attempt.resume(store, attempt_id)
    except InputError as error:
        if broken_program(error) is not None:
            raise
        made = str(record.get("model_version", ""))
        said = text("marking.again.no_replay", made=made, now=simulator.__version__, model=model_version())
        return Again(NO_REPLAY, said, stored, None)
    now = marked_attempt(attempt)[2].sheet.as_dict()
    if stored is None:
        return Again(NOT_MARKED, text("marking.again.not_marked"), None, now)
    cause = why_other(stored, now)
    fields: dict[str, Any] = {
        "before": stored.get("total"),
        "after": now["total"],
        "version": stored.get("version"),
        "now": MARKING_VERSION,
        "model": stored.get("model"),
        "new_model": now["model"],
        "why": why_since(stored.get("version")),
    }
    return Again(cause, text(f"marking.again.{cause}", **fields), stored, now)


def why_since(version: object) -> str:
    """What changed in the marking rules since a version, in sentences.

    Examples
    --------
    >>> why_since(MARKING_VERSION), why_since(2) in why_since(1)
    ('', True)
    """
    first = version if isinstance(version, int) else 1
    keys = [f"marking.again.why.rules_{n}" for n in range(first + 1, MARKING_VERSION + 1)]
    return " ".join(text(key) for key in keys if knows(key))


def why_other(stored: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Why two sheets of one attempt differ, in a word; "same" where all points are the same.

    Examples
    --------
    >>> one = {"parts": [{"id": "found", "points": 30.0, "out_of": 40.0}], "version": 1, "model": "a"}
    >>> other = {"parts": [{"id": "found", "points": 31.0, "out_of": 40.0}], "version": 2, "model": "a"}
    >>> why_other(one, one), why_other(one, other)
    ('same', 'marking')
    """

    def points(sheet: Mapping[str, Any]) -> list[tuple[Any, ...]]:
        return [(part["id"], part["points"], part["out_of"]) for part in sheet["parts"]]

    if points(stored) == points(now):
        return SAME
    if stored.get("version") != now.get("version"):
        return BY_MARKING
    if [part["out_of"] for part in stored["parts"]] != [part["out_of"] for part in now["parts"]]:
        return BY_WEIGHTS
    return BY_MODEL if stored.get("model") != now.get("model") else UNEXPLAINED
