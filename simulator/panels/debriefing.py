"""The debrief of a call-out that is over: marked, kept in the records, put into words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simulator.attempt import Attempt

Progress = Callable[[int, int], None]
#: Called as ``debriefer(attempt, units, progress)``; gives the debrief as plain data.
Debriefer = Callable[[Attempt, str, Progress], dict[str, Any]]


def debrief_and_keep(attempt: Attempt, units: str, progress: Progress) -> dict[str, Any]:
    """Mark an attempt that is over, keep the marks where the store keeps marks, and give the debrief.

    Parameters
    ----------
    units : "metric" or "us", for the figures in its sentences.
    progress : told how many cases are worked out, of how many.

    Raises
    ------
    RefusedAct : the call-out is not over.
    """
    from simulator.marking.debrief import debrief_of  # late: marking needs every hypothesis simulated
    from simulator.marking.service import marked_attempt

    story, cases, marked = marked_attempt(attempt, progress)
    keep = getattr(attempt.store, "save_marks", None)
    if keep is not None:
        keep(attempt.id, marked.sheet.as_dict())
    return debrief_of(story, cases, marked, units)
