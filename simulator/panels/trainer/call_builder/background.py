"""What takes a second or two, worked out beside the page: look-alikes and level of the call-out that is wanted last.

Arguments, the same throughout: ``scenario`` a call-out.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from statistics import fmean
from typing import Any

from simulator.attempt.level import SEEDS, Effort, effort
from simulator.panels.exercise.debrief_work import DebriefWork, Progress, StoppedByReader, running_loop
from simulator.panels.trainer.call_builder import outlook
from simulator.scenario import Scenario, scenario_hash

QUIET = (
    0.35  # [s] without a change before it is begun: the curve has the machine to itself while somebody types
)
KEPT = 30  # call-outs whose outcome is kept, for steps back and on

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page

Found = dict[str, Any]


class Judging:
    """Works out what is wanted last, one call-out at a time; without a page's loop, when it is asked for.

    Parameters
    ----------
    tell : called when something has come.
    """

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._found: dict[tuple[str, str], Found] = {}
        self._wanted: Scenario | None = None
        self._timer: Any = None
        self._work: DebriefWork | None = None

    def alike(self, scenario: Scenario) -> Found | None:
        """Look-alikes and whether the checks suffice; None while it is not known."""
        return self._found.get(("alike", scenario_hash(scenario)))

    def hard(self, scenario: Scenario) -> Found | None:
        """Level and minutes; None while it is not known."""
        return self._found.get(("hard", scenario_hash(scenario)))

    def wanted(self, scenario: Scenario) -> None:
        """This call-out counts now; whatever was under way for another is dropped."""
        self._wanted = scenario
        if self._timer is not None:
            self._timer.cancel()
        if self._work is not None:
            self._work.stop(drop=True)
            self._work = None
        loop = running_loop()
        if loop is not None and scenario.faults and self.hard(scenario) is None:
            self._timer = loop.call_later(QUIET, self.begin)

    def begin(self) -> None:
        """Begin on what is wanted: the look-alikes first, then the level."""
        scenario = self._wanted
        if scenario is None or not scenario.faults:
            return
        key = scenario_hash(scenario)
        for kind, find in (("alike", self._alike), ("hard", self._hard)):
            if (kind, key) not in self._found:
                self._start(kind, key, scenario, find)
                return

    def _start(
        self, kind: str, key: str, scenario: Scenario, find: Callable[[Scenario, Progress], Found]
    ) -> None:
        def done(found: Found | None, error: Exception | None) -> None:
            self._work = None
            if isinstance(error, StoppedByReader):
                return
            if error is not None:
                _log.error("a call-out could not be judged", exc_info=error)
            self._keep(kind, key, found if found is not None else {"failed": True})
            self._tell()
            self.begin()

        work = DebriefWork(lambda progress: find(scenario, progress), lambda one, all_: None, done)
        self._work = None if work.over else work

    def _keep(self, kind: str, key: str, found: Found) -> None:
        while len(self._found) >= 2 * KEPT:
            self._found.pop(next(iter(self._found)))
        self._found[kind, key] = found

    @staticmethod
    def _alike(scenario: Scenario, progress: Progress) -> Found:
        return outlook.alike(scenario, progress)

    @staticmethod
    def _hard(scenario: Scenario, progress: Progress) -> Found:
        played = []
        for number, seed in enumerate(SEEDS):
            progress(number, len(SEEDS))  # where it can be stopped
            played.append(effort(scenario, (seed,)))
        means = (fmean(getattr(each, name) for each in played) for name in ("minutes", "steps", "solved"))
        return outlook.hard_words(Effort(*means))
