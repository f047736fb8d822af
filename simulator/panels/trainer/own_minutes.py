"""Minutes that an old hand looks at a trainer's own call-outs: worked out once for each, kept beside them.

Arguments, the same throughout: ``scenario`` a call-out.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from simulator.attempt.level import effort
from simulator.errors import InputError
from simulator.panels.exercise.debrief_work import DebriefWork, running_loop
from simulator.panels.lessons.practice_yard.call_book import own_folder
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import LARGEST_FILE, read_whole
from simulator.scenario import Scenario, scenario_hash

FILE_NAME = "minutes.json"
KEPT = 1000  # [-] call-outs, the latest ones

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page


def _file() -> Path:
    return own_folder() / FILE_NAME


def _key(scenario: Scenario) -> str:
    return scenario_hash(scenario)[:16]


def _kept() -> dict[str, float]:
    """What is kept; a file that cannot be read counts as none: its minutes are worked out anew."""
    try:
        raw = json.loads(read_whole(_file(), LARGEST_FILE))
    except (InputError, OSError, ValueError, RecursionError):
        return {}
    found = raw if isinstance(raw, dict) else {}
    return {str(key): float(each) for key, each in found.items() if type(each) in (int, float) and each > 0.0}


def own_minutes(scenario: Scenario) -> float | None:
    """Minutes [min] of looking that one of the trainer's own costs an old hand; None while they are not known."""
    return _kept().get(_key(scenario))


def keep_minutes(scenario: Scenario, minutes: float) -> None:
    """Keep what was worked out; where the folder cannot be written to, it is worked out again another time.

    Parameters
    ----------
    minutes : of looking [min].
    """
    kept = {**_kept(), _key(scenario): round(minutes, 1)}
    try:
        private_folder(own_folder(), tighten=False)
        write_private(_file(), json.dumps(dict(list(kept.items())[-KEPT:])))
    except OSError as error:
        _log.warning("minutes cannot be kept", exc_info=error)


class MinutesBeside:
    """Works minutes out one call-out after another, beside the page where that has a loop.

    Parameters
    ----------
    tell : called when some have come.
    """

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._failed: set[str] = set()
        self._work: DebriefWork | None = None

    def failed(self, scenario: Scenario) -> bool:
        """Whether its minutes could not be worked out."""
        return _key(scenario) in self._failed

    def begin(self, wanted: Iterable[Scenario]) -> None:
        """Begin on the first whose minutes are not known; who is told of it asks for the next.

        Parameters
        ----------
        wanted : call-outs of the trainer's own.
        """
        if self._work is not None:
            return
        kept = _kept()
        todo = [each for each in wanted if _key(each) not in kept and not self.failed(each)]
        for scenario in todo:
            self._one(scenario)
            if running_loop() is not None:
                return

    def _one(self, scenario: Scenario) -> None:
        inline = running_loop() is None

        def done(found: dict[str, Any] | None, error: Exception | None) -> None:
            self._work = None
            if found is None:
                _log.error("minutes could not be worked out", exc_info=error)
                self._failed.add(_key(scenario))
            else:
                keep_minutes(scenario, found["minutes"])
            if not inline:
                self._tell()

        work = DebriefWork(
            lambda progress: {"minutes": effort(scenario).minutes}, lambda one, all_: None, done
        )
        if not work.over:
            self._work = work
