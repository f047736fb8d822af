"""Lesson 09: the practice yard, one call after another at the learner's level."""

from __future__ import annotations

from typing import Any

from simulator.diagnosis.words import fault_name
from simulator.errors import InputError, broken_program
from simulator.marking.sheet import marks_words
from simulator.panels.learner.next_call import PRACTICE_SLOT, practice_level
from simulator.panels.learner.sheet_blocks import sheet_blocks
from simulator.panels.learner.sheet_calls import PREFIX, GivenSheet, given_sheets
from simulator.panels.lessons.practice_yard.call_book import whole_book
from simulator.panels.lessons.practice_yard.yard import PracticeYard
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import day_words, words
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import entry, knows, text

LATEST = 8  # calls listed
LEFT_OUT_SHOWN = 5  # files of the book named on the page


class Practice(Lesson):
    """Practice yard."""

    number = "09"
    on_page = ("aim", "calls", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._yard: PracticeYard | None = None
        self._stage: tuple[str, bool] | None = None  # the call on the page, and whether it is over

    def aim(self) -> LessonPart:
        """What the practice yard is, and what was done there."""
        return self.part("aim", self._aim)

    def calls(self) -> PracticeYard | LessonPart:
        """The calls: the open one goes on, else the next one comes in; where a file of the program is broken, what is
        wrong with it: no call is played with a cause, a look or a work missing.
        """
        try:
            return self._yard_on_page()
        except InputError as error:
            if broken_program(error) is None:
                raise
            broken = error

        def told() -> list[Block]:
            raise broken

        return self.part("calls", told)

    def _yard_on_page(self) -> PracticeYard:
        if self._yard is None:
            self._yard = PracticeYard(
                level=practice_level(self.session),
                learner=self.session.name,
                store=self.session.store,
                slot=PRACTICE_SLOT,
                units=self.units,
            )
            self._yard.observe(lambda change: self._follow(), names="page")
            self._yard.observe(lambda change: self._follow_units(change["new"]), names="units")
        return self._yard

    def what_next(self) -> LessonPart:
        """The calls so far, and the way back."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew."""
        super().refresh()
        if self._yard is not None and self._yard.units != self.units:
            self._yard.units = self.units

    def _follow(self) -> None:
        """A debrief has come or a new call was taken: the lists of calls may have changed."""
        stage = (self._yard.played.id, self._yard.played.ended) if self._yard is not None else None
        if stage != self._stage:
            self._stage = stage
            if "aim" in self.parts:
                self.parts["aim"].refresh()
        if "what_next" in self.parts:
            self.parts["what_next"].refresh()

    def _sheets(self) -> list[GivenSheet]:
        return given_sheets(self.session.store, self.session.name, PRACTICE_SLOT)

    def on_read(self, args: dict[str, Any], click: str) -> None:
        """Show on the screen how a call of a sheet went.

        Parameters
        ----------
        args : ``sheet`` its id, ``number`` of the call [-], from 0.
        click : id of the click.
        """
        for given in self._sheets():
            for call in given.calls:
                if (given.sheet.id, call.number) == (
                    args.get("sheet"),
                    args.get("number"),
                ) and call.attempt_id:
                    self._yard_on_page().read(call.attempt_id)

    def _follow_units(self, units: str) -> None:
        if units != self.units:
            self.session.set_units(units)
            self.refresh()

    def _has_done_one(self) -> bool:
        return any(self.session.total(row.attempt_id) is not None for row in self.session.rows(PRACTICE_SLOT))

    def _aim(self) -> list[Block]:
        # Who has done a call knows how it goes: the call itself comes sooner then.
        plan = {"id": "plan", "kind": "list", "ordered": True, "items": words("practice.plan")}
        return [
            {
                "id": "title",
                "kind": "title",
                "kicker": text("lessons.practice.kicker"),
                "text": text("lessons.practice.title"),
                "lead": text("lessons.practice.lead"),
            },
            *self.notices(),
            *self._left_out(),
            *sheet_blocks(self._sheets(), self.session.total),
            *([] if self._has_done_one() else [plan]),
            self.caution(),
        ]

    def _left_out(self) -> list[Block]:
        """Files of the yard's book that cannot be used, for the one who can mend them."""
        named = whole_book().left_out
        if not named:
            return []
        more = len(named) - LEFT_OUT_SHOWN
        said = [text("panel.yard.left_out"), *named[:LEFT_OUT_SHOWN], *([f"… + {more}"] if more > 0 else [])]
        return [{"id": "left_out", "kind": "notice", "tone": "quiet", "paragraphs": said}]

    def _what_next(self) -> list[Block]:
        return [
            self.heading("log_heading", "practice.log_title"),
            self._log(),
            self.heading("heading", "practice.next_title", words("practice.next_text")),
            self.links("go", "00") | {"quiet": True},
            *self.transfer.reminder(),
        ]

    def _log(self) -> Block:
        rows = [row for row in self.session.rows(PRACTICE_SLOT) if row.events > 1][-LATEST:]
        current = self._yard.played.id if self._yard is not None else ""
        cells = []
        for row in reversed(rows):
            if row.attempt_id == current and not row.finished:
                continue
            record = self.session.store.attempt_record(row.attempt_id)
            if str(record.get("level", "")).startswith(PREFIX):
                continue  # it stands on its sheet
            title = record["scenario"]["title"]
            total = self.session.total(row.attempt_id)
            how = (
                text("lessons.practice.log_left")
                if total is None
                else text("lessons.practice.log_marks", marks=marks_words(total))
            )
            was = "" if total is None else was_wrong(record["scenario"])
            cells.append({"cells": [title, day_words(row.made_at), was, how]})
        if not cells:
            return {"id": "none", "kind": "prose", "paragraphs": [text("lessons.practice.log_none")]}
        columns = list(entry("lessons.practice.log_columns"))
        return {
            "id": "log",
            "kind": "compare",
            "title": text("lessons.practice.log_title"),
            "columns": columns,
            "rows": cells,
        }


def was_wrong(scenario: dict[str, Any]) -> str:
    """What was wrong in a call that is over and marked, by name: calls of one place are told apart by it.

    Parameters
    ----------
    scenario : the call-out as its record holds it.
    """
    names = [str(each.get("fault", "")) for each in scenario.get("faults") or ()] or ["sound"]
    # a fault of an older release may have no name any more
    return text("diagnosis.and").join(fault_name(name) for name in names if knows(f"faults.{name}.name"))
