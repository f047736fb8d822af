"""The marks of one case of a sitting: worked out, kept as plain data, and read in words.

Throughout: ``attempt_id`` is the opaque id of a record; ``store`` keeps the records.
"""

from __future__ import annotations

from typing import Any

from simulator.attempt import Attempt
from simulator.errors import InputError
from simulator.marking.sitting_records import SittingStore
from simulator.texts import text

#: What a case that was not played gives.
NOT_PLAYED: dict[str, Any] = {
    "attempt_id": "",
    "total": 0.0,
    "automatic": 0.0,
    "trainer": None,
    "grave": False,
    "minutes": 0.0,
    "parts": (),
}


class CaseStore:
    """Writes into a case's record where it belongs, and that it is sealed.

    Parameters
    ----------
    store : where the record goes.
    more : what is written into it beside what an attempt writes.
    """

    def __init__(self, store: Any, **more: Any) -> None:
        self._store, self._more = store, more

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        """A new record, see :class:`simulator.attempt.AttemptStore`."""
        return str(self._store.create_attempt({**record, **self._more}, attempt_id))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


def stored_sheet(store: SittingStore, attempt_id: str) -> dict[str, Any] | None:
    """The latest automatic marks that are kept; None where there are none."""
    sheets = [marks.sheet for marks in store.marks(attempt_id) if marks.source == "automatic"]
    return sheets[-1] if sheets else None


def worked_out(attempt: Attempt) -> dict[str, Any]:
    """The sheet of a case (``attempt``) that is over, as it is stored."""
    from simulator.marking.service import marked_attempt

    _, _, marked = marked_attempt(attempt)
    minutes = sum(step.minutes for step in marked.trail.steps)
    return {**marked.sheet.as_dict(), "minutes": round(minutes, 1)}


def in_words(part: dict[str, Any]) -> dict[str, Any]:
    """A stored ``part`` of a sheet in this reader's language."""
    return {
        "label": text(f"marking.{part['id']}.label"),
        "points": part["points"],
        "out_of": part["out_of"],
        "evidence": [said for item in part.get("evidence", ()) if (said := _reason(item))],
    }


def _reason(item: dict[str, Any]) -> str:
    """A stored reason for points in words; empty where this release has no such sentence any more."""
    try:
        return text(item["key"], **dict(item["fields"]))
    except (InputError, KeyError, IndexError, TypeError, ValueError):
        return ""


def model_now() -> str:
    """Fingerprint of the model behind marks made now."""
    from simulator.diagnosis.hypothesis_set import model_version

    return model_version()
