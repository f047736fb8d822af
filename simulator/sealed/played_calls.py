"""Calls that are played at the service: one engine a call, asked by whoever's it is; a resumed one goes on at its second.

Throughout: ``units`` "metric" or "us", ``attempt_id`` the opaque id of an attempt.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.kept_sealed import new_id
from simulator.errors import InputError, SimulatorError
from simulator.panels.exercise.coach import PageCoach
from simulator.panels.exercise.elsewhere import packed_samples
from simulator.panels.exercise.opening import SEED_BITS, SlotStore
from simulator.panels.exercise.played import PlayedHere
from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.scenario import Scenario
from simulator.texts import text
from simulator.units import SYSTEMS

HELD = 64  # [-] engines kept in memory; any other is begun anew from its log


@dataclass
class PlayedCall:
    """One call that is played: its engine, asked by one at a time, and whose it is."""

    played: PlayedHere
    learner: str
    lock: threading.Lock = field(default_factory=threading.Lock)
    told_over: bool = False


class PlayedCalls:
    """The calls that are played here.

    Parameters
    ----------
    over : told of a call, beside whoever asked, once it is over.
    """

    def __init__(self, over: Callable[[Attempt], None]) -> None:
        self._over, self._salt = over, secrets.token_bytes(16)
        self._played: OrderedDict[str, PlayedCall] = OrderedDict()
        self._lock = threading.Lock()

    def begin(self, store: Any, learner: str, scenario: Scenario, level: str) -> PlayedCall:
        """A new call with fresh chance.

        Parameters
        ----------
        store : the records of the class.
        learner : by name.
        scenario : as it is played.
        level : what the record says that it is a call of.
        """
        attempt = Attempt(
            scenario,
            SlotStore(store, PRACTICE_SLOT, level=level, sealed=True),
            learner=learner,
            mode=scenario.mode,
            seed=secrets.randbits(SEED_BITS),
            coach=PageCoach(),
            attempt_id=new_id(),
        )
        return self.hold(attempt, learner)

    def hold(self, attempt: Attempt, learner: str) -> PlayedCall:
        """Keep an engine at hand.

        Parameters
        ----------
        attempt : that is played.
        learner : whose it is.
        """
        with self._lock:
            played_call = self._played.get(attempt.id) or PlayedCall(PlayedHere(attempt), learner)
            self._played[attempt.id] = played_call
            self._played.move_to_end(attempt.id)
            for longest_unasked in list(self._played)[:-HELD]:
                del self._played[longest_unasked]
        return played_call

    def held(self, attempt_id: str) -> PlayedCall | None:
        """The engine of a call, where it is at hand."""
        with self._lock:
            if attempt_id in self._played:
                self._played.move_to_end(attempt_id)
            return self._played.get(attempt_id)

    def drop(self, attempt_id: str) -> None:
        """Let go of an engine; the records have all of it."""
        with self._lock:
            self._played.pop(attempt_id, None)

    def state(self, played_call: PlayedCall, units: str) -> dict[str, Any]:
        """All that a page needs to begin with.

        Parameters
        ----------
        played_call : that is played.
        """
        with played_call.lock:
            return self._told(played_call) | {"page": played_call.played.page(checked_units(units))}

    def act(self, played_call: PlayedCall, told: dict[str, Any]) -> dict[str, Any]:
        """Do something: what came of it, the page anew, and the samples that it changed.

        Parameters
        ----------
        played_call : that is played.
        told : ``action``, ``args``, ``click``, ``shown`` [s], ``run``, ``units``.

        Raises
        ------
        InputError : it is no act that can be read.
        """
        action, args, click = told.get("action"), told.get("args"), told.get("click")
        if not isinstance(action, str) or not isinstance(args, dict) or not isinstance(click, str):
            raise InputError(text("sheets.service_odd").rstrip("."), "act")
        units, shown = checked_units(told.get("units")), seconds(told.get("shown"))
        with played_call.lock:
            played, failed, accepted, sentence = played_call.played, "", False, ""
            if told.get("run") != played.run:
                shown = None
            try:
                accepted, sentence = played.act(action, args, click, shown)
            except SimulatorError as error:
                failed = str(error)
            out = self._told(played_call) | {"accepted": accepted, "sentence": sentence, "failed": failed}
            out["samples"] = packed_samples(played.samples(played.changed_from))
            out["page"] = played.page(units)
        self._look_whether_over(played_call)
        return out

    def look(self, played_call: PlayedCall, told: dict[str, Any]) -> dict[str, Any]:
        """The page has shown more: the page anew where that changes it, and samples where they are asked for.

        Parameters
        ----------
        played_call : that is played.
        told : ``shown`` [s] of ``run``, ``from`` [s] or None, ``stage`` that the page shows, ``units``.
        """
        units, shown, start = checked_units(told.get("units")), seconds(told.get("shown")), told.get("from")
        with played_call.lock:
            played = played_call.played
            if shown is not None and told.get("run") == played.run:
                played.see(shown, played.run)
            out = self._told(played_call)
            if told.get("stage") != out["stage"]:
                out["page"] = played.page(units)
            out["samples"] = None if start is None else packed_samples(played.samples(seconds(start) or 0.0))
        return out

    def _told(self, played_call: PlayedCall) -> dict[str, Any]:
        played = played_call.played
        return {
            "id": played.id,
            "run": played.run,
            "ended": played.ended,
            "untouched": played.untouched,
            "changed_from": played.changed_from,
            "stage": hashlib.sha256(self._salt + played.stage.encode()).hexdigest()[
                :16
            ],  # tells nothing else
        }

    def _look_whether_over(self, played_call: PlayedCall) -> None:
        if played_call.played.ended and not played_call.told_over:
            played_call.told_over = True
            self._over(played_call.played.attempt)


def checked_units(units: Any) -> str:
    """A unit system.

    Raises
    ------
    InputError : there is none such.

    Examples
    --------
    >>> checked_units("us")
    'us'
    """
    if units not in SYSTEMS:
        raise InputError(text("sheets.service_odd").rstrip("."), "units", ", ".join(SYSTEMS))
    return str(units)


def seconds(value: Any) -> float | None:
    """A time [s] that was told, or None where it is none.

    Parameters
    ----------
    value : as it came.

    Examples
    --------
    >>> seconds(4), seconds(-1.0), seconds("4"), seconds(float("nan"))
    (4.0, 0.0, None, None)
    """
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return max(float(value), 0.0) if number and abs(float(value)) < 1e9 else None
