"""Working out marks of a sitting beside the page, while the learner plays on; nothing of it is shown or kept."""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections.abc import Callable

from simulator.diagnosis.hypothesis_set import StoppedError
from simulator.marking.certificate import Sitting
from simulator.panels.exercise.debrief_work import running_loop

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the learner's page

LOOK_EVERY = 0.2  # [s] between two looks at how far it is


class BackgroundMarking:
    """One thread that prepares the marking of cases, one after another, for as long as the page lives.

    Without a loop, as in a script, nothing is worked out beforehand: the marking then does it all.
    """

    def __init__(self) -> None:
        self._jobs: queue.Queue[tuple[Sitting, int] | None] = queue.Queue()
        self._asked: set[tuple[str, int, bool]] = set()
        self._thread: threading.Thread | None = None
        self._stopped = threading.Event()

    def begin(self, sitting: Sitting, number: int, *, over: bool) -> None:
        """Prepare a case that is under way, or mark one that is over; asked twice it is done once.

        Parameters
        ----------
        number : of the case in its sitting [-], from 1.
        """
        job = (sitting.id, number, over)
        if job in self._asked or running_loop() is None:
            return
        self._asked.add(job)
        self._jobs.put((sitting, number))
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, daemon=True)
            self._thread.start()

    def wait(self, tell: Callable[[int], None]) -> None:
        """Wait for all that was asked for; ``tell`` is called in between with the number of pieces left."""
        while self._thread is not None and (left := self._jobs.unfinished_tasks):
            tell(left)
            time.sleep(LOOK_EVERY)

    def stop(self) -> None:
        """The sitting was left: what is still to be worked out is of no use."""
        self._stopped.set()
        self._jobs.put(None)
        self._thread, self._jobs, self._stopped = None, queue.Queue(), threading.Event()

    def _work(self) -> None:
        jobs, stopped = self._jobs, self._stopped
        while not stopped.is_set():
            job = jobs.get()
            if job is None:
                return
            sitting, number = job
            try:
                sitting.prepare(number, should_stop=stopped.is_set)
            except StoppedError:
                return
            except Exception:  # noqa: BLE001 - the marking at the end meets it again, and says so
                _log.exception("marks of a case could not be worked out beforehand")
            finally:
                jobs.task_done()
