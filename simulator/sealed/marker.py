"""Marks of sealed calls: worked out beside whoever plays, one after another, kept where no learner can read them yet."""

from __future__ import annotations

import logging
import os
import queue
import sys
import threading
from collections.abc import Callable

_log = logging.getLogger(__name__)
CALM = 5  # nice value of the thread that marks, where the system has one for each thread


class Marker:
    """One thread that does what it is given, in order; what goes wrong is met again when marks are asked for.

    Examples
    --------
    >>> marker = Marker()
    >>> done = []
    >>> marker.add("a", lambda: done.append("a"))
    >>> marker.wait("a")
    >>> done
    ['a']
    """

    def __init__(self) -> None:
        self._jobs: queue.Queue[tuple[str, Callable[[], object]]] = queue.Queue()
        self._waiting: dict[str, threading.Event] = {}
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None

    def add(self, name: str, job: Callable[[], object]) -> None:
        """Have something done; under the same name once at a time.

        Parameters
        ----------
        name : of it.
        job : called without anything.
        """
        with self._lock:
            if name in self._waiting:
                return
            self._waiting[name] = threading.Event()
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, daemon=True)
                self._thread.start()
        self._jobs.put((name, job))

    def wait(self, name: str) -> None:
        """Until a job is done; at once where there is none.

        Parameters
        ----------
        name : of it.
        """
        with self._lock:
            found = self._waiting.get(name)
        if found is not None:
            found.wait()

    def under_way(self, name: str) -> bool:
        """Whether a job waits or is being done.

        Parameters
        ----------
        name : of it.
        """
        with self._lock:
            return name in self._waiting

    def _work(self) -> None:
        if sys.platform == "linux":  # whoever plays comes first
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), CALM)
        while True:
            name, job = self._jobs.get()
            try:
                job()
            except Exception:  # noqa: BLE001 - the next job is to be done all the same
                _log.exception("a sealed call could not be marked")
            finally:
                with self._lock:
                    self._waiting.pop(name).set()
