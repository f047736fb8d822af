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
from simulator.run.once import shared_runs
from simulator.scenario import Scenario, scenario_hash

QUIET = 0.2  # [s] without a change before it is begun: the curve has the machine to itself until it is drawn
KEPT = 30  # call-outs whose outcome is kept, for steps back and on

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page

Found = dict[str, Any]


class Judging:
    """Works out what is wanted last; without a page's loop, when it is asked for.

    Look-alikes and then whether the looks suffice come from one piece of work, the level beside them from another.

    Parameters
    ----------
    tell : called when something has come.
    """

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._found: dict[tuple[str, str], Found] = {}
        self._wanted: Scenario | None = None
        self._timer: Any = None
        self._work: dict[str, DebriefWork] = {}

    def alike(self, scenario: Scenario) -> Found | None:
        """Look-alikes; None while they are not known."""
        return self._found.get(("alike", scenario_hash(scenario)))

    def enough(self, scenario: Scenario) -> Found | None:
        """Whether the looks that may be made suffice; None while it is not known."""
        return self._found.get(("enough", scenario_hash(scenario)))

    def hard(self, scenario: Scenario) -> Found | None:
        """Level and minutes; None while it is not known."""
        return self._found.get(("hard", scenario_hash(scenario)))

    def wanted(self, scenario: Scenario) -> None:
        """This call-out counts now; whatever was under way for another is dropped."""
        self._wanted = scenario
        if self._timer is not None:
            self._timer.cancel()
        for work in self._work.values():
            work.stop(drop=True)
        self._work.clear()
        loop = running_loop()
        if loop is not None and scenario.faults and not self._known(scenario):
            self._timer = loop.call_later(QUIET, self.begin)

    def _known(self, scenario: Scenario) -> bool:
        key = scenario_hash(scenario)
        return all((kind, key) in self._found for chain in CHAINS for kind in chain)

    def begin(self) -> None:
        """Begin on what is wanted and not known yet."""
        scenario = self._wanted
        if scenario is None or not scenario.faults:
            return
        key = scenario_hash(scenario)
        for chain in CHAINS:
            todo = [kind for kind in chain if (kind, key) not in self._found]
            if todo and chain[0] not in self._work:
                self._start(chain[0], todo[0], key, scenario)

    def _start(self, chain: str, kind: str, key: str, scenario: Scenario) -> None:
        def done(found: Found | None, error: Exception | None) -> None:
            self._work.pop(chain, None)
            if isinstance(error, StoppedByReader):
                return
            if error is not None:
                _log.error("a call-out could not be judged", exc_info=error)
            self._keep(kind, key, found if found is not None else {"failed": True})
            self._tell()
            self.begin()

        find = FIND[kind]
        work = DebriefWork(lambda progress: find(scenario, progress), lambda one, all_: None, done)
        if not work.over:
            self._work[chain] = work

    def _keep(self, kind: str, key: str, found: Found) -> None:
        while len(self._found) >= len(FIND) * KEPT:
            self._found.pop(next(iter(self._found)))
        self._found[kind, key] = found


def _hard(scenario: Scenario, progress: Progress) -> Found:
    played = []
    with shared_runs():  # chance is in the looks: most plays start the same rigs in the same way
        for number, seed in enumerate(SEEDS):
            progress(number, len(SEEDS))  # where it can be stopped
            played.append(effort(scenario, (seed,)))
    means = (fmean(getattr(each, name) for each in played) for name in ("minutes", "steps", "solved"))
    return outlook.hard_words(Effort(*means))


FIND: dict[str, Callable[[Scenario, Progress], Found]] = {
    "alike": outlook.alike,
    "enough": outlook.enough,
    "hard": _hard,
}
#: What is worked out one after another, for the second needs what the first has simulated; the chains side by side.
CHAINS = (("alike", "enough"), ("hard",))
