"""The debrief of a call-out that is over: marked, kept in the records, put into words."""

from __future__ import annotations

import asyncio
import threading
import weakref
from collections.abc import Callable
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.kept_sealed import played_at_service
from simulator.errors import SimulatorError
from simulator.panels.learner.how_sure import how_sure_so_far
from simulator.panels.learner.how_worked import AREA, KEY
from simulator.texts import text

Progress = Callable[[int, int], None]
#: Called as ``debriefer(attempt, units, progress)``; gives the debrief as plain data.
Debriefer = Callable[[Attempt, str, Progress], dict[str, Any]]


def running_loop() -> asyncio.AbstractEventLoop | None:
    """The loop of the page's own thread; None in a script or a test, where nothing is worked out beside it."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def in_page_thread(listen: Callable[[Callable[[], bool]], None], act: Callable[[], None]) -> None:
    """Have something done in the page's own thread whenever it is told of beside it; without a loop, where it is told.

    Parameters
    ----------
    listen : takes what is to be called; what that gives back is whether anybody still listens.
    act : a method of what is on the page, which is not kept alive by it.
    """
    loop, method = running_loop(), weakref.WeakMethod(act)

    def do() -> None:
        if (there := method()) is not None:
            there()

    def told() -> bool:
        if loop is None:
            do()
        elif not loop.is_closed():
            loop.call_soon_threadsafe(do)
        return method() is not None

    listen(told)


class StoppedByReader(SimulatorError):
    """Raised out of long work at its next report, once the reader has pressed Stop."""


class DebriefWork:
    """One working-out of a debrief: beside the page's own thread where that has a loop, so that Stop is heard.

    Parameters
    ----------
    work : called with a function that reports how far it is; gives the debrief.
    report : told how far the work is, in the page's own thread.
    done : called once with the debrief and the error, one of them None, in the page's own thread; not at all once
        the work was dropped.
    """

    def __init__(
        self,
        work: Callable[[Progress], dict[str, Any]],
        report: Progress,
        done: Callable[[dict[str, Any] | None, Exception | None], None],
    ) -> None:
        self._work, self._report, self._done = work, report, done
        self._stopped, self._dropped, self.over = threading.Event(), False, False
        self._loop = running_loop()
        if self._loop is None:  # nobody could press Stop meanwhile
            self._finish(*self._run())
        else:
            threading.Thread(target=self._beside, daemon=True).start()

    def stop(self, *, drop: bool = False) -> None:
        """Give up at the next report; ``drop``: nobody waits for it any more."""
        self._dropped = self._dropped or drop
        self._stopped.set()

    def _run(self) -> tuple[dict[str, Any] | None, Exception | None]:
        try:
            return self._work(self._tell), None
        except Exception as error:  # noqa: BLE001 - whoever asked for it says what went wrong
            return None, error

    def _beside(self) -> None:
        outcome = self._run()
        assert self._loop is not None
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._finish, *outcome)

    def _tell(self, done: int, total: int) -> None:
        if self._stopped.is_set():
            raise StoppedByReader("stopped by the reader", "debrief")
        if self._loop is None:
            self._report(done, total)
        else:
            self._loop.call_soon_threadsafe(self._report, done, total)

    def _finish(self, debrief: dict[str, Any] | None, error: Exception | None) -> None:
        self.over = True
        if not self._dropped:
            self._done(debrief, error)


def debrief_and_keep(attempt: Attempt, units: str, progress: Progress) -> dict[str, Any]:
    """The debrief of an attempt that is over; its marks, and how it was worked, are kept where its store keeps marks.

    As :func:`simulator.marking.service.debrief_and_keep` gives it, with how the learner worked in this call, and how sure
    the learner was over the latest ones, how often right.

    Parameters
    ----------
    units : "metric" or "us".
    progress : told how many cases are worked out, of how many.

    Raises
    ------
    RefusedAct : the call-out is not over.
    """
    # late: marking needs every hypothesis simulated
    from simulator.marking import service
    from simulator.marking.debrief import debrief_of
    from simulator.panels.exercise.working import how_worked, sentences

    story, cases, marked = service.marked_attempt(attempt, progress)
    keep = getattr(attempt.store, "save_marks", None)
    if keep is not None and not played_at_service(attempt.id):
        keep(attempt.id, {**marked.sheet.as_dict(), KEY: how_worked(story, marked)})
    found = debrief_of(story, cases, marked, units)
    return {
        **found,
        "truth": service.with_cause(found["truth"], attempt.scenario.cause),
        "worked": {
            "title": text(f"{AREA}.title"),
            "note": text(f"{AREA}.note"),
            "said": sentences(story, marked),
        },
        "how_sure": how_sure_so_far(attempt.store, attempt.id),
    }
