"""A store without a disk: for a lesson's small demonstrations and for tests.

Arguments, the same throughout: ``attempt_id`` as the store gave it; InputError is raised where there is no such attempt.
"""

from __future__ import annotations

import json
import uuid
from typing import Any

from simulator.errors import InputError


class MemoryStore:
    """Keeps attempts as JSON text in memory; same behaviour as a store on disk.

    Examples
    --------
    >>> store = MemoryStore()
    >>> attempt_id = store.create_attempt({"learner": "Ash"})
    >>> store.append_event(attempt_id, 0, {"act": "begin"}, "a")
    >>> store.events(attempt_id)
    [{'act': 'begin'}]
    """

    def __init__(self) -> None:
        self._records: dict[str, str] = {}
        self._events: dict[str, list[str]] = {}
        self._clicks: dict[str, set[str]] = {}
        self._progress: dict[str, str] = {}

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        """Keep a new attempt's ``record`` and return its id, or raise InputError where that id is taken."""
        attempt_id = attempt_id or uuid.uuid4().hex
        if attempt_id in self._records:
            raise InputError(f"the attempt {attempt_id!r} exists already", "store", "a new id")
        self._records[attempt_id] = json.dumps(record)
        self._events[attempt_id] = []
        self._clicks[attempt_id] = set()
        return attempt_id

    def attempt_record(self, attempt_id: str) -> dict[str, Any]:
        """The record given at creation."""
        self._known(attempt_id)
        return dict(json.loads(self._records[attempt_id]))

    def append_event(
        self, attempt_id: str, seq: int, event: dict[str, Any], click_id: str | None = None
    ) -> None:
        """Add one event; its ``seq`` must be the next and its ``click_id`` new, else InputError is raised."""
        self._known(attempt_id)
        log = self._events[attempt_id]
        if seq != len(log):
            raise InputError(f"event {seq} of the attempt is not the next", "store", str(len(log)))
        if click_id is not None and click_id in self._clicks[attempt_id]:
            raise InputError(f"the click {click_id!r} is in the log already", "store")
        log.append(json.dumps(event))
        if click_id is not None:
            self._clicks[attempt_id].add(click_id)

    def events(self, attempt_id: str) -> list[dict[str, Any]]:
        """All events in order."""
        self._known(attempt_id)
        return [json.loads(item) for item in self._events[attempt_id]]

    def set_progress(self, attempt_id: str, progress: dict[str, Any]) -> None:
        """Keep how far the page has shown the run: ``progress`` is {"run": number, "shown_s": seconds}."""
        self._known(attempt_id)
        self._progress[attempt_id] = json.dumps(progress)

    def progress(self, attempt_id: str) -> dict[str, Any] | None:
        """The latest progress, or None."""
        found = self._progress.get(attempt_id)
        return None if found is None else json.loads(found)

    def _known(self, attempt_id: str) -> None:
        if attempt_id not in self._records:
            raise InputError(f"there is no attempt {attempt_id!r}", "store")
