"""The class as a trainer's page knows it, kept up to date beside the page."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from datetime import datetime

from simulator.classroom.overview import ClassNow
from simulator.classroom.watching import Watching
from simulator.errors import InputError
from simulator.panels.exercise.debrief_work import running_loop

EVERY = 3.0  # [s] between two looks
LONGEST = 30.0  # [s] between two tries while the class cannot be reached


class Following:
    """Looks again and again for as long as somebody listens; without a page's loop only when it is asked.

    Parameters
    ----------
    watch : at what is looked.
    now : the clock.
    """

    def __init__(self, watch: Watching, now: Callable[[], datetime]) -> None:
        self.watch, self._now = watch, now
        self.known, self.heard, self.trouble = ClassNow(), "", ""
        self._lock, self._listeners = threading.Lock(), list[Callable[[], bool]]()

    def look(self) -> bool:
        """Look once; whether the class could be reached."""
        with self._lock:
            try:
                self.watch.look(self.known)
            except InputError as error:
                self.trouble = str(error)
                return False
            self.trouble, self.heard = "", self._now().astimezone().strftime("%H:%M")
            return True

    def listen(self, told: Callable[[], bool]) -> None:
        """Tell somebody after every look, and look by itself from now where the page has a loop.

        Parameters
        ----------
        told : called without anything; gives back whether to tell it again.
        """
        self._listeners.append(told)
        if running_loop() is not None and len(self._listeners) == 1:
            threading.Thread(target=self._go_on, daemon=True).start()

    def _go_on(self) -> None:
        wait = EVERY
        while self._listeners:
            time.sleep(wait)
            wait = EVERY if self.look() else min(2.0 * wait, LONGEST)
            self._listeners = [told for told in self._listeners if told()]
