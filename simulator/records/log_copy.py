"""A copy of one attempt's log as a file of its own, for whoever finds out why it cannot be played again."""

from __future__ import annotations

import json
import logging
from pathlib import Path
from typing import Any

from simulator.records.places import data_folder
from simulator.records.private import private_folder, write_private

FOLDER = "set-aside"
_log = logging.getLogger(__name__)


def write_log_copy(store: Any, attempt_id: str, why: str = "") -> Path | None:
    """Write record, log and progress of an attempt into the folder of the records; the records stay as they are.

    Parameters
    ----------
    store : with ``attempt_record``, ``events`` and ``progress``.
    why : what went wrong, for whoever reads the file.

    Returns
    -------
    The file, for its owner's eyes alone; None where it could not be written.

    Examples
    --------
    >>> class Unreadable:
    ...     def attempt_record(self, attempt_id):
    ...         raise OSError("no such disk")
    >>> write_log_copy(Unreadable(), "a1") is None
    True
    """
    try:
        content = {
            "attempt": attempt_id,
            "why": why,
            "record": store.attempt_record(attempt_id),
            "events": store.events(attempt_id),
            "progress": store.progress(attempt_id),
        }
        folder = data_folder() / FOLDER
        private_folder(folder, tighten=True)
        name = "".join(sign if sign.isalnum() or sign in "-_" else "_" for sign in attempt_id)
        path = folder / f"attempt-{name}.json"
        write_private(path, json.dumps(content, indent=1))
    except Exception:  # noqa: BLE001 - a page opens, whatever is wrong with the copy
        _log.exception("the log of attempt %s could not be copied", attempt_id)
        return None
    return path
