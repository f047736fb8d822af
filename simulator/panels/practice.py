"""The practice yard: one random call-out after another, at the learner's level."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from simulator.attempt import Attempt
from simulator.errors import InputError
from simulator.panels.debriefing import Debriefer, debrief_and_keep
from simulator.panels.exercise import ExercisePanel, default_store
from simulator.panels.lesson_skills import next_scenario
from simulator.panels.opening import SlotStore, begin, latest
from simulator.scenario import LEVELS
from simulator.texts import text

SLOT = "practice-yard"


def _utc_now() -> datetime:
    return datetime.now(UTC)


class PracticeYard(ExercisePanel):
    """An exercise panel with a level and a button for the next call-out.

    Parameters
    ----------
    level : one of the levels of random call-outs; an unfinished call-out keeps its own.
    learner : as typed by the learner.
    store : where attempts are kept; the user's own records by default.
    slot : under what name attempts are kept.
    debriefer : as for the exercise panel.
    now : the clock, by which it is told what the learner should meet again.
    """

    def __init__(
        self,
        *,
        level: str = "usual",
        learner: str = "",
        store: Any = None,
        slot: str = SLOT,
        debriefer: Debriefer | None = debrief_and_keep,
        units: str = "metric",
        now: Callable[[], datetime] = _utc_now,
    ) -> None:
        if level not in LEVELS:
            raise InputError(f"there is no level {level!r}", "level", ", ".join(LEVELS))
        self._level, self._learner, self._slot, self._now = level, learner, slot, now
        self._kept = default_store() if store is None else store
        self._leaving = False
        super().__init__(self._first(), debriefer=debriefer, units=units)

    def _first(self) -> Attempt:
        found = latest(self._kept, self._learner, self._slot)
        if found is not None:
            try:
                attempt = Attempt.resume(SlotStore(self._kept, self._slot), found)
                self._level = self._kept.attempt_record(found).get("level", self._level)
                return attempt
            except InputError:
                self._kept.end_attempt(found, "left")
        return self._new()

    def _new(self) -> Attempt:
        scenario = next_scenario(self._kept, self._learner, self._level, self._now())
        return begin(scenario, SlotStore(self._kept, self._slot, level=self._level), self._learner)

    def _additions(self) -> dict[str, Any]:
        levels = [{"id": name, "label": text(f"panel.yard.levels.{name}")} for name in LEVELS]
        return {"yard": {"level": self._level, "levels": levels}}

    def _perform(
        self, action: str, args: dict[str, Any], click_id: str, shown: float | None
    ) -> tuple[bool, str]:
        if action == "yard_level":
            return self._set_level(str(args.get("level", "")))
        if action == "yard_next":
            return self._next(click_id)
        self._leaving = False
        return super()._perform(action, args, click_id, shown)

    def _set_level(self, level: str) -> tuple[bool, str]:
        if level not in LEVELS:
            raise InputError(f"there is no level {level!r}", "level", ", ".join(LEVELS))
        self._level = level
        return True, text("panel.yard.level_next")

    def _next(self, click_id: str) -> tuple[bool, str]:
        """The next call-out; an open one is left only at the second press."""
        if click_id == self._last_next:
            return True, ""
        attempt = self._attempt
        untouched = len(attempt.log) <= 1
        if not attempt.yard.ended and not untouched and not self._leaving:
            self._leaving = True
            return False, text("panel.yard.next_open")
        self._leaving, self._last_next = False, click_id
        if not attempt.yard.ended and hasattr(self._kept, "end_attempt"):
            self._kept.end_attempt(attempt.id, "left")
        self._open(self._new())
        return True, ""

    _last_next = ""
