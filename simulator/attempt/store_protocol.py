"""What an attempt asks of its store: one record, an append-only log, and how far the page has shown.

Throughout: ``attempt_id`` is the opaque id of an attempt.
"""

from __future__ import annotations

from typing import Any, Protocol


class AttemptStore(Protocol):
    """Where attempts live. The log is the one truth; everything else is derived from it.

    Every event is a JSON-able dict. An event is stored before anything of it is shown.
    """

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        """Keep a new attempt's record and return its opaque id.

        The record holds "learner", "mode", "seed", "scenario" (the whole scenario as a dict), "scenario_hash"
        and "model_version".
        """
        ...

    def attempt_record(self, attempt_id: str) -> dict[str, Any]:
        """The record given to :meth:`create_attempt`. Raises InputError for an unknown id."""
        ...

    def append_event(
        self, attempt_id: str, seq: int, event: dict[str, Any], click_id: str | None = None
    ) -> None:
        """Add one event to the log for good.

        Raises InputError when this seq or click_id is in the log already, so two writers cannot both go on.
        """
        ...

    def events(self, attempt_id: str) -> list[dict[str, Any]]:
        """All events in the order of their seq."""
        ...

    def set_progress(self, attempt_id: str, progress: dict[str, Any]) -> None:
        """Keep the ``progress`` of the page, {"run": number, "shown_s": seconds}; may be lost without harm."""
        ...

    def progress(self, attempt_id: str) -> dict[str, Any] | None:
        """The latest progress, or None."""
        ...
