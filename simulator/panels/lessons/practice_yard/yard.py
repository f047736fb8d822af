"""The practice yard: one call-out after another, random ones at the learner's level or those of the yard's book."""

from __future__ import annotations

import contextlib
import secrets
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.call_sheet import CallSheet
from simulator.classroom.sheet_attempts import level_of
from simulator.errors import InputError, broken_program
from simulator.panels.exercise.coach import PageCoach
from simulator.panels.exercise.debrief_work import Debriefer, debrief_and_keep
from simulator.panels.exercise.elsewhere import begin_call, leave_call
from simulator.panels.exercise.opening import SlotStore, begin, latest, why_not_gone_on_with
from simulator.panels.exercise.panel import ExercisePanel, default_store
from simulator.panels.exercise.played import Played, PlayedHere
from simulator.panels.learner.next_call import next_scenario
from simulator.panels.learner.sheet_calls import (
    BEGUN,
    DONE,
    PREFIX,
    SEALED,
    GivenSheet,
    given_sheets,
)
from simulator.panels.lessons.practice_yard.call_book import LEVELS as BOOK_LEVELS
from simulator.panels.lessons.practice_yard.call_book import BookCall, whole_book
from simulator.scenario import LEVELS
from simulator.texts import text

SLOT = "practice-yard"
_BOOK = "book_"  # and its level; and, for one call of it, a dash and its key


class PracticeYard(ExercisePanel):
    """An exercise panel with a level and a button for the next call-out; calls of a sheet come first, in order.

    Parameters
    ----------
    level : one of the levels of random call-outs, or ``book_1`` to ``book_5`` for the yard's book; an unfinished
        call-out keeps its own.
    learner : as typed by the learner.
    store : where attempts are kept; the user's own records by default.
    slot : under what name attempts are kept.
    debriefer : as for the exercise panel.
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
    ) -> None:
        self._book = whole_book().calls
        self._learner, self._slot = learner, slot
        self._kept = default_store() if store is None else store
        self._told, self._usual = debriefer, level
        self._sheets = self._handed_out()
        self._checked(level)
        self._level = self._due_level() or level
        self._leaving, self._why_new, self._first_units = False, "", units
        new_here = not self._has_begun() and hasattr(self._kept, "list_attempts")
        first = self._first()
        # Who is here for the first time reads the page and picks a level: the call waits until it is taken.
        self._waits = new_here and not self._why_new and not self._level.startswith(PREFIX)
        if self._waits:
            self._why_new = text("panel.yard.first_waits")
        elif new_here and not self._why_new:  # a sheet's takes the whole window before the page was read
            self._why_new = text("panel.yard.first_call")
        super().__init__(first, debriefer=debriefer, units=units, notice=self._why_new, whole_window=True)

    def _first(self) -> Attempt | Played:
        begun = next(
            (each for each in self._sheets if each.elsewhere and each.due and each.due.state == BEGUN), None
        )
        if begun is not None:
            self._level = begun.level
            return self._new_or_usual()
        found = latest(self._kept, self._learner, self._slot)
        if found is not None:
            try:
                attempt = Attempt.resume(SlotStore(self._kept, self._slot), found, coach=PageCoach())
                return self._gone_on_with(attempt, self._kept.attempt_record(found).get("level"))
            except InputError as error:
                if broken_program(error) is not None:
                    raise
                why = why_not_gone_on_with(self._kept, found, error)
                self._why_new = f"{why} {text('panel.link.new_one')}"
                self._kept.end_attempt(found, "unreadable")
        return self._new_or_usual()

    def _new_or_usual(self) -> Attempt | Played:
        """The next call; where it is one of the service, and that is away, one of the usual kind."""
        try:
            return self._new()
        except InputError as error:
            if not self._level.startswith(PREFIX):
                raise
            self._why_new, self._level = str(error), self._usual
            return self._new()

    def _handed_out(self) -> list[GivenSheet]:
        return given_sheets(self._kept, self._learner, self._slot)

    def _due_level(self) -> str:
        """The newest sheet with a call to do; nothing where there is none."""
        return next((each.level for each in self._sheets if each.due), "")

    def _gone_on_with(self, attempt: Attempt, kept: Any) -> Attempt | Played:
        """The attempt, with its level for the next one; a sheet's calls come before a call that nobody has touched."""
        due = self._due_level()
        if isinstance(kept, str) and kept.startswith(PREFIX):
            return attempt
        if kept in self._names():
            self._usual = str(kept)
        self._level = due or self._usual
        if due and len(attempt.log) <= 1 and not attempt.yard.ended:
            fresh = self._new_or_usual()
            self._kept.end_attempt(attempt.id, "left")
            return fresh
        return attempt

    def _new(self) -> Attempt | Played:
        kept, _, key = self._level.partition("-")
        if kept.startswith(PREFIX):
            return self._of_sheet(kept)
        if kept.startswith(_BOOK):
            call = self._from_book(kept, key)
            self._level, scenario = kept, call.scenario
        else:
            scenario = next_scenario(self._kept, self._learner, kept)
        return begin(scenario, SlotStore(self._kept, self._slot, level=kept), self._learner)

    def _of_sheet(self, level: str) -> Attempt | Played:
        """The next call of a sheet; once all are done, a call of the usual kind."""
        self._sheets = self._handed_out()
        given = next((each for each in self._sheets if each.level == level and each.due), None)
        if given is None or given.due is None:
            self._level = self._usual
            return self._new()
        number, self._level = given.due.number, level
        if not isinstance(given.sheet, CallSheet):
            units = self.units if hasattr(self, "_played") else self._first_units
            return begin_call(given.sheet.id, number, units)
        kept = SlotStore(self._kept, self._slot, level=level_of(given.sheet.id, number))
        return begin(given.sheet.played(number), kept, self._learner)

    def _open(self, attempt: Attempt | Played) -> None:
        """Put a call on the page; while its envelope is shut nothing is told of how it went."""
        here = isinstance(attempt, Attempt | PlayedHere)
        self._debriefer = self._told if here and not self._is_shut(attempt.id) else None
        super()._open(attempt)

    def _is_shut(self, attempt_id: str) -> bool:
        record = self._kept.attempt_record(attempt_id) if hasattr(self._kept, "attempt_record") else {}
        sheet = str(record.get("level", "")).partition("-")[0]
        return any(each.shut for each in self._sheets if each.level == sheet)

    def _refresh(self) -> None:
        """Draw the page anew. A call that is over in a shut envelope is done for the records."""
        here = isinstance(self._played, PlayedHere)
        if here and self._played.ended and self._debriefer is None and self._is_shut(self._played.id):
            self._kept.end_attempt(self._played.id, SEALED)  # first: who follows the page asks the records
        super()._refresh()
        news = None if self._handing is None else self._handing.sheets
        if news != self._known_sheets:
            self._known_sheets = news
            with contextlib.suppress(InputError):  # the service is away: the button looks again
                self._look_in_envelope()

    def read(self, attempt_id: str) -> None:
        """Show how a call went whose envelope is open.

        Parameters
        ----------
        attempt_id : of the attempt.

        Raises
        ------
        InputError : it cannot be gone through again, or its envelope is shut.
        """
        self._sheets = self._handed_out()
        attempt = Attempt.resume(SlotStore(self._kept, self._slot), attempt_id, coach=PageCoach())
        if not attempt.yard.ended or self._is_shut(attempt.id):
            raise InputError(text("sheets.sealed_note").rstrip("."))
        self._open(attempt)

    def _from_book(self, level: str, key: str) -> BookCall:
        """The call of that key, or any of the level that this learner has not had; if all were had, any."""
        calls = [call for call in self._book if f"{_BOOK}{call.level}" == level]
        if key:
            return next(call for call in calls if call.key == key)
        had = self._had()
        return secrets.choice([call for call in calls if call.hash not in had] or calls)

    def _had(self) -> set[str]:
        if not hasattr(self._kept, "list_attempts"):
            return set()
        rows = self._kept.list_attempts(self._learner, self._slot)
        return {self._kept.attempt_record(row.attempt_id).get("scenario_hash", "") for row in rows}

    def _has_begun(self) -> bool:
        """Whether this learner has done anything in a call."""
        if not hasattr(self._kept, "list_attempts"):
            return False
        return any(row.events > 1 for row in self._kept.list_attempts(self._learner, self._slot))

    def _levels(self) -> list[dict[str, str]]:
        """What can be chosen: random calls, the levels of the book, and the single calls of the level chosen."""
        chosen = [
            {"id": each.level, "label": _sheet_label(each, each.done + self._just_done(each))}
            for each in self._sheets
        ]
        chosen += [{"id": name, "label": text(f"panel.yard.levels.{name}")} for name in LEVELS]
        for level in BOOK_LEVELS:
            calls = [call for call in self._book if call.level == level]
            if not calls:
                continue
            name = f"{_BOOK}{level}"
            chosen.append({"id": name, "label": text("panel.yard.book", level=level, n=len(calls))})
            if self._level.partition("-")[0] == name:
                chosen += [{"id": f"{name}-{call.key}", "label": _label(call)} for call in calls]
        return chosen

    def _just_done(self, given: GivenSheet) -> bool:
        """Whether the call on the page is one of a sheet, and over since the sheets were looked at."""
        played = self._played
        told = {call.attempt_id for each in self._sheets for call in each.calls if call.state == DONE}
        if not played.ended or played.id in told:
            return False
        if not isinstance(played, PlayedHere):
            return given.elsewhere and given.level == self._level
        record = self._kept.attempt_record(played.id) if hasattr(self._kept, "attempt_record") else {}
        return str(record.get("level", "")).startswith(f"{given.level}-")

    def _checked(self, level: str) -> None:
        """Whether there is such a level, or such a call in the book.

        Raises
        ------
        InputError : there is none.
        """
        single = {f"{_BOOK}{call.level}-{call.key}" for call in self._book}
        if level not in {*self._names(), *single, *(each.level for each in self._sheets)}:
            raise InputError(f"there is no level {level!r}", "level", ", ".join(self._names()))

    def _names(self) -> tuple[str, ...]:
        """The levels there are, those of the book after the others."""
        return (*LEVELS, *sorted({f"{_BOOK}{call.level}" for call in self._book}))

    def _additions(self) -> dict[str, Any]:
        return {
            "yard": {
                "level": self._level,
                "levels": self._levels(),
                "waits": self._waits and self._played.untouched,
            },
            "envelope": self._played.ended and self._in_envelope(),
        }

    def _in_envelope(self) -> bool:
        """Whether nothing is told yet of how the call on the page went; what is played elsewhere is read here later."""
        return not isinstance(self._played, PlayedHere) or self._is_shut(self._played.id)

    def _look_in_envelope(self) -> tuple[bool, str]:
        """Read how the call on the page went, if its envelope is open by now."""
        if self._played.ended and self._in_envelope():
            self._sheets = self._handed_out()
            opened = {call.attempt_id for each in self._sheets if not each.shut for call in each.calls}
            if self._played.id not in opened:
                return False, text("panel.debrief.envelope_shut")
            self.read(self._played.id)
        return True, ""

    def _perform(
        self, action: str, args: dict[str, Any], click_id: str, shown: float | None
    ) -> tuple[bool, str]:
        if action == "yard_level":
            return self._set_level(str(args.get("level", "")))
        if action == "envelope":
            return self._look_in_envelope()
        if action == "yard_next":
            return self._next(click_id)
        self._leaving, self._notice = False, ""  # it was said before anything was done
        return super()._perform(action, args, click_id, shown)

    def _set_level(self, level: str) -> tuple[bool, str]:
        self._checked(level)
        self._level = level
        if not level.startswith(PREFIX):
            self._usual = level
        if self._waits and self._played.untouched and not level.startswith(PREFIX):
            self._notice = text("panel.yard.level_now")
            self._leave(self._played)
            self._open(self._new())
            return True, ""
        return True, text("panel.yard.level_next")

    def _next(self, click_id: str) -> tuple[bool, str]:
        """The next call-out; an open one is left only at the second press."""
        if click_id == self._last_next:
            return True, ""
        played = self._played
        if not played.ended and not played.untouched and not self._leaving:
            self._leaving = True
            return False, text("panel.yard.next_open")
        self._leaving, self._last_next, self._waits = False, click_id, False
        self._notice = ""  # what was said of the first call
        due = next((each for each in self._sheets if each.level == self._level and each.due), None)
        fresh = self._new() if due is not None and due.elsewhere and isinstance(played, PlayedHere) else None
        if not played.ended:  # not before that: a service that is away leaves the call where it is
            self._leave(played)
        self._open(fresh or self._new())
        return True, ""

    def _leave(self, played: Played) -> None:
        if not isinstance(played, PlayedHere):
            leave_call(played.id)
        elif hasattr(self._kept, "end_attempt"):
            self._kept.end_attempt(played.id, "left")

    _last_next = ""
    _known_sheets: int | None = None  # of what is handed out, as it was looked at last


def _sheet_label(given: GivenSheet, done: int) -> str:
    """What the list says of a sheet: its title and how far one has got."""
    return text("sheets.level", title=given.sheet.title, done=done, count=len(given.calls))


def _label(call: BookCall) -> str:
    """What the list says of a call: its number, place and rig; its title where it has no number."""
    if call.number is None:
        return text("panel.yard.book_call_plain", title=call.scenario.title, rig=call.rig)
    return text("panel.yard.book_call", number=call.number, place=call.place, rig=call.rig)
