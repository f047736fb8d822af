"""Working out a field sheet beside the page: begun while the sheet is typed, told how far it is, stopped when asked."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import Any

from simulator.diagnosis.field import FieldSheet
from simulator.errors import SimulatorError
from simulator.panels.exercise.debrief_work import DebriefWork, Progress, running_loop
from simulator.rig.rig import Rig, Site

WAIT = 0.1  # [s] between two looks at how far it is

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the learner's page


class Ahead:
    """All that could be wrong with one rig at one site, simulated in a thread of its own."""

    def __init__(self, rig: Rig, site: Site) -> None:
        self.card, self.done, self.total = (rig, site), 0, 1
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Give up: another rig or site is on the sheet now."""
        self._stopped.set()

    def wait(self, progress: Progress) -> None:
        """Wait until it is done; ``progress`` is told how far it is, and may raise to wait no longer."""
        while self._thread.is_alive():
            progress(self.done, self.total)
            self._thread.join(WAIT)

    def _run(self) -> None:
        from simulator.diagnosis.field import field_set  # here: it loads the whole model

        try:
            field_set(*self.card, progress=self._tell, should_stop=self._stopped.is_set)
        except SimulatorError:
            return  # stopped; or the judging meets it again, and says so
        except Exception:  # noqa: BLE001 - as above
            _log.exception("work ahead of a field sheet failed")

    def _tell(self, done: int, total: int) -> None:
        self.done, self.total = done, total


class FieldWork:
    """Judges sheets, one at a time.

    Parameters
    ----------
    tell : told how far the work is, in the page's own thread.
    """

    def __init__(self, tell: Progress) -> None:
        self._tell = tell
        self._ahead: Ahead | None = None
        self._work: DebriefWork | None = None

    @property
    def busy(self) -> bool:
        """Whether a sheet is being judged."""
        return self._work is not None and not self._work.over

    def begin(self, rig: Rig, site: Site) -> None:
        """Begin on what every sheet of a rig at a site needs; without a loop, as in a script, nothing is begun."""
        if running_loop() is None or (self._ahead is not None and self._ahead.card == (rig, site)):
            return
        if self._ahead is not None:
            self._ahead.stop()
        self._ahead = Ahead(rig, site)

    def judge(
        self,
        sheet: FieldSheet,
        judged: Callable[[FieldSheet, Progress], dict[str, Any]],
        done: Callable[[dict[str, Any] | None, Exception | None], None],
    ) -> None:
        """Judge a sheet; ``done`` is called with the outcome or the error, one of them None.

        Parameters
        ----------
        judged : works it out from the sheet, and tells a :class:`Progress` how far it is.
        """
        self.drop()

        def work(progress: Progress) -> dict[str, Any]:
            ahead = self._ahead
            if ahead is not None and ahead.card == (sheet.rig, sheet.site):
                ahead.wait(progress)
            return judged(sheet, progress)

        def ended(outcome: dict[str, Any] | None, error: Exception | None) -> None:
            self._work = None
            done(outcome, error)

        made = DebriefWork(work, self._tell, ended)
        self._work = None if made.over else made

    def stop(self) -> None:
        """Give up judging, and what was begun for it."""
        if self._work is not None:
            self._work.stop()
        if self._ahead is not None:
            self._ahead.stop()
            self._ahead = None

    def drop(self) -> None:
        """Give up without a word: nobody waits for it any more."""
        if self._work is not None:
            self._work.stop(drop=True)
            self._work = None
