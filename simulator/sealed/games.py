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
class Game:
    """One call that is played: its engine, asked by one at a time, and whose it is."""

    played: PlayedHere
    learner: str
    lock: threading.Lock = field(default_factory=threading.Lock)
    told_over: bool = False


class Games:
    """The calls that are played here.

    Parameters
    ----------
    over : told of a call, beside whoever asked, once it is over.
    """

    def __init__(self, over: Callable[[Attempt], None]) -> None:
        self._over, self._salt = over, secrets.token_bytes(16)
        self._games: OrderedDict[str, Game] = OrderedDict()
        self._lock = threading.Lock()

    def begin(self, store: Any, learner: str, scenario: Scenario, level: str) -> Game:
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

    def hold(self, attempt: Attempt, learner: str) -> Game:
        """Keep an engine at hand.

        Parameters
        ----------
        attempt : that is played.
        learner : whose it is.
        """
        with self._lock:
            game = self._games.get(attempt.id) or Game(PlayedHere(attempt), learner)
            self._games[attempt.id] = game
            self._games.move_to_end(attempt.id)
            while len(self._games) > HELD:
                self._games.popitem(last=False)
        return game

    def held(self, attempt_id: str) -> Game | None:
        """The engine of a call, where it is at hand."""
        with self._lock:
            if attempt_id in self._games:
                self._games.move_to_end(attempt_id)
            return self._games.get(attempt_id)

    def drop(self, attempt_id: str) -> None:
        """Let go of an engine; the records have all of it."""
        with self._lock:
            self._games.pop(attempt_id, None)

    def state(self, game: Game, units: str) -> dict[str, Any]:
        """All that a page needs to begin with.

        Parameters
        ----------
        game : that is played.
        """
        with game.lock:
            return self._told(game) | {"page": game.played.page(checked_units(units))}

    def act(self, game: Game, told: dict[str, Any]) -> dict[str, Any]:
        """Do something: what came of it, the page anew, and the samples that it changed.

        Parameters
        ----------
        game : that is played.
        told : ``action``, ``args``, ``click``, ``shown`` [s], ``run``, ``units``.

        Raises
        ------
        InputError : it is no act that can be read.
        """
        action, args, click = told.get("action"), told.get("args"), told.get("click")
        if not isinstance(action, str) or not isinstance(args, dict) or not isinstance(click, str):
            raise InputError(text("sheets.service_odd").rstrip("."), "act")
        units, shown = checked_units(told.get("units")), seconds(told.get("shown"))
        with game.lock:
            played, failed, accepted, sentence = game.played, "", False, ""
            if told.get("run") != played.run:
                shown = None
            try:
                accepted, sentence = played.act(action, args, click, shown)
            except SimulatorError as error:
                failed = str(error)
            out = self._told(game) | {"accepted": accepted, "sentence": sentence, "failed": failed}
            out["samples"] = packed_samples(played.samples(played.changed_from))
            out["page"] = played.page(units)
        self._look_whether_over(game)
        return out

    def look(self, game: Game, told: dict[str, Any]) -> dict[str, Any]:
        """The page has shown more: the page anew where that changes it, and samples where they are asked for.

        Parameters
        ----------
        game : that is played.
        told : ``shown`` [s] of ``run``, ``from`` [s] or None, ``stage`` that the page shows, ``units``.
        """
        units, shown, start = checked_units(told.get("units")), seconds(told.get("shown")), told.get("from")
        with game.lock:
            played = game.played
            if shown is not None and told.get("run") == played.run:
                played.see(shown, played.run)
            out = self._told(game)
            if told.get("stage") != out["stage"]:
                out["page"] = played.page(units)
            out["samples"] = None if start is None else packed_samples(played.samples(seconds(start) or 0.0))
        return out

    def _told(self, game: Game) -> dict[str, Any]:
        played = game.played
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

    def _look_whether_over(self, game: Game) -> None:
        if game.played.ended and not game.told_over:
            game.told_over = True
            self._over(game.played.attempt)


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
