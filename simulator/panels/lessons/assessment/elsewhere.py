"""A sitting held at the service of the class: drawn, played, marked and signed there; here stands what is told of it.

It is asked as a :class:`simulator.marking.certificate.Sitting` is. Once it is over its records are taken over from the
class, and are read here as any other.
"""

from __future__ import annotations

import contextlib
import json
import time
from collections.abc import Callable
from typing import Any

from simulator.classroom.line import Line
from simulator.errors import InputError, RefusedAct
from simulator.marking.certificate import CaseState
from simulator.marking.decision import Rule
from simulator.panels.exercise.elsewhere import PlayedElsewhere
from simulator.panels.learner.at_service import ODD, fetch
from simulator.records import Store
from simulator.texts import text

ASK_EVERY = 0.5  # [s] between two looks at how far the marking is
Progress = Callable[[int, int], None]


class SittingElsewhere:
    """The latest sitting of a learner at the service.

    Parameters
    ----------
    line : to the service.
    store : the learner's records here.
    learner : by name.
    told : of the sitting, as the service told it.
    """

    def __init__(self, line: Line, store: Store, learner: str, told: dict[str, Any]) -> None:
        self._line, self.store, self._learner = line, store, learner
        self._attempt: PlayedElsewhere | None = None
        self._take(told)

    @classmethod
    def latest(cls, line: Line, store: Store, learner: str) -> SittingElsewhere | None:
        """The newest sitting; None before the first.

        Parameters
        ----------
        line : to the service.
        store : the learner's records here.
        learner : by name.

        Raises
        ------
        InputError : the service is away.
        """
        told = line.ask("GET", "sitting").get("sitting")
        return None if told is None else cls(line, store, learner, told)

    @classmethod
    def begin(cls, line: Line, store: Store, learner: str) -> SittingElsewhere:
        """A new sitting.

        Parameters
        ----------
        line : to the service.
        store : the learner's records here.
        learner : by name.

        Raises
        ------
        InputError : the service is away, or says why none can be begun.
        """
        return cls(line, store, learner, line.ask("POST", "sitting/begin", "{}")["sitting"])

    def _take(self, told: dict[str, Any]) -> None:
        try:
            self.id, self.number = str(told["id"]), int(told["number"])
            self._cases = tuple(
                CaseState(int(n), str(title), str(state)) for n, title, state in told["cases"]
            )
            self._current = None if told["current"] is None else int(told["current"])
            self._over, self._unmarked = told["over"] is True, told["unmarked"] is True
            self.rule = Rule(**told["rule"])
        except ODD as error:
            raise InputError(text("sheets.service_odd").rstrip("."), "sitting") from error

    @property
    def cases(self) -> tuple[CaseState, ...]:
        """The cases asked for, in their order."""
        self._follow()
        return self._cases

    @property
    def current(self) -> int | None:
        """Number of the case that is open or comes next; None when all that are asked for are over."""
        self._follow()
        return self._current

    @property
    def over(self) -> bool:
        """Whether nothing is left to play, as far as is known."""
        self._follow()
        return self._over

    @property
    def unmarked(self) -> bool:
        """Whether all cases asked for are over, and it is not worked out yet what comes of it."""
        self._follow()
        return self._unmarked

    def _follow(self) -> None:
        """Once the case on the page is over, the sitting has gone on; while nobody answers it stays as it was known."""
        if self._attempt is not None and self._attempt.ended:
            with contextlib.suppress(InputError):
                told = self._line.ask("GET", "sitting").get("sitting")
                self._attempt = None
                if told is not None:
                    self._take(told)

    def case_id(self, number: int) -> str:
        """The id of the attempt at a case.

        Parameters
        ----------
        number : of the case, from 1.
        """
        return f"{self.id}-{number}"

    def attempt(self, units: str = "metric") -> PlayedElsewhere:
        """The open case, at the same second; where none is open, the next one is begun.

        Parameters
        ----------
        units : "metric" or "us".

        Raises
        ------
        RefusedAct : the sitting is over.
        InputError : the service is away.
        """
        if self.current is None:
            raise RefusedAct("sitting_over", text("marking.certificate.over"))
        if self._attempt is None:
            said = self._line.ask("POST", "sitting/case", json.dumps({"units": units}))
            self._take(said["sitting"])
            self._attempt = PlayedElsewhere(self._line, said["call"], units)
        return self._attempt

    def leave(self) -> None:
        """Leave the sitting for good.

        Raises
        ------
        InputError : the service is away.
        """
        self._take(self._line.ask("POST", "sitting/leave", "{}")["sitting"])
        self._fetch()

    def settle(self, progress: Progress | None = None) -> bool:
        """Wait for the marks at the service: whether it is decided; where not, one more case is asked for.

        Parameters
        ----------
        progress : told how many cases are marked, of how many.

        Raises
        ------
        InputError : the service is away, or cannot mark it.
        """
        while working := self._settling():
            if progress is not None:
                progress(int(working[0]), int(working[1]))
            time.sleep(ASK_EVERY)
        decided = self._over and not self._unmarked
        if decided:
            self._fetch()
        return decided

    def _settling(self) -> list[Any] | None:
        said = self._line.ask("POST", "sitting/settle", "{}")
        self._take(said["sitting"])
        working = said.get("working")
        return working if isinstance(working, list) else None

    def fetch_where_lacking(self) -> None:
        """A sitting that is over, and of which nothing is here yet, is taken over."""
        if self._over and not self._unmarked:
            known = {row.attempt_id for row in self.store.list_attempts(self._learner)}
            if self.id not in known:
                self._fetch()

    def _fetch(self) -> None:
        played = [self.case_id(case.number) for case in self._cases if case.state != "waiting"]
        fetch(self.store, self._learner, [self.id, *played])
