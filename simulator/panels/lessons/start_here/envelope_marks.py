"""Marks of calls whose envelopes were opened: worked out beside the start page, one call after another."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable

from simulator.attempt import Attempt
from simulator.classroom.kept_sealed import played_at_service
from simulator.panels.exercise import debrief_work
from simulator.panels.exercise.opening import SlotStore
from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.panels.learner.session import LearnerSession
from simulator.panels.learner.sheet_calls import DONE, GivenSheet

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the learner's page


class EnvelopeMarks:
    """Marks the calls of sheets that are open and that nobody has marked yet.

    Parameters
    ----------
    session : the learner's.
    tell : called when marks have come.
    """

    def __init__(self, session: LearnerSession, tell: Callable[[], None]) -> None:
        self._session, self._tell = session, tell
        self._failed: set[str] = set()
        self._work: debrief_work.DebriefWork | None = None

    def coming(self, sheets: Iterable[GivenSheet]) -> frozenset[str]:
        """Begin on the first that lacks its marks; the attempts whose marks are still to come.

        Parameters
        ----------
        sheets : that are handed out.
        """
        todo = [
            call.attempt_id
            for given in sheets
            if not given.shut
            for call in given.calls
            if call.state == DONE and self._lacks(call.attempt_id)
        ]
        if self._work is None:
            for attempt_id in todo:
                self._one(attempt_id)
                if self._work is not None:
                    break
        return frozenset(each for each in todo if self._lacks(each))

    def _lacks(self, attempt_id: str) -> bool:
        """Whether it is to be marked here: what the service of a class plays is marked there."""
        if not attempt_id or attempt_id in self._failed or played_at_service(attempt_id):
            return False
        return self._session.total(attempt_id) is None

    def _one(self, attempt_id: str) -> None:
        def work(progress: debrief_work.Progress) -> dict[str, object]:
            attempt = Attempt.resume(SlotStore(self._session.store, PRACTICE_SLOT), attempt_id)
            return debrief_work.debrief_and_keep(attempt, self._session.units, progress)

        def done(found: dict[str, object] | None, error: Exception | None) -> None:
            beside, self._work = self._work is not None, None
            if found is None:
                _log.error("a call could not be marked", exc_info=error)
                self._failed.add(attempt_id)
            if beside:
                self._tell()

        made = debrief_work.DebriefWork(work, lambda one, all_: None, done)
        if not made.over:
            self._work = made
