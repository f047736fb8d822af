"""Lesson 10: the assessment. Five sealed cases, nobody helps, and a certificate sheet with the evidence."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.errors import InputError
from simulator.marking.certificate import CaseResult, CaseState, Sitting, SittingResult, history
from simulator.panels.exercise.panel import ExercisePanel
from simulator.panels.lessons.assessment.background_marking import Beforehand
from simulator.panels.lessons.practice_yard.page import day_words
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import entry, text

AREA = "lesson_10"
SHOWN = {"waiting": "open", "open": "now", "over": "done"}  # states of a case as steps of the page show them


def said(key: str, **fields: Any) -> str:
    """A sentence of this lesson."""
    return text(f"{AREA}.{key}", **fields)


class Assessment(Lesson):
    """Assessment."""

    number = "10"

    def __init__(self, desk: Any = None) -> None:
        super().__init__(desk)
        self._box: ipywidgets.VBox | None = None
        self._panel: ExercisePanel | None = None
        self._shown = 0  # number of the case that the panel holds
        self._leaving, self._trouble = False, ""
        self._beforehand = Beforehand()
        self._sitting = self._latest()
        self._before = LessonPart("sitting", self._before_blocks, self.act)
        self._after = LessonPart("sitting-after", self._after_blocks, self.act)

    @property
    def _store(self) -> Any:
        return self.desk.store

    def _latest(self) -> Sitting | None:
        return Sitting.latest(self._store, self.desk.name) if self.desk.name else None

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What a sitting is, and its rules."""
        return self.part("aim", self._aim)

    def sitting(self) -> ipywidgets.VBox:
        """The five cases, one after another."""
        if self._box is None:
            self._box = ipywidgets.VBox([self._before])
            self._box.add_class("lesson-stack")
            self.refresh()
        return self._box

    def result(self) -> LessonPart:
        """Marks, the sheet to print, and all sittings."""
        return self.part("result", self._result)

    def what_next(self) -> LessonPart:
        """Where to go from here."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew, and put the open case on the page."""
        self._place()
        super().refresh()
        self._before.refresh()
        self._after.refresh()
        if self._box is None:
            return
        parts = (self._before, self._after)
        # A case that is handed in is put away: nothing of how it went may be seen yet.
        put_away = self._panel is None or self._case_over()
        shown = parts if put_away else (self._before, self._panel, self._after)
        if self._box.children != shown:
            self._box.children = shown

    # the case that is open

    def _open_case(self) -> bool:
        """Whether a sitting is under way."""
        return self._sitting is not None and not self._sitting.over

    def _place(self) -> None:
        """Hold the panel of the case that is shown: the open one, or the one just done until the learner goes on."""
        if self._box is None or self._sitting is None:
            return
        if self._panel is not None:
            if self._panel.units != self.units:
                self._panel.units = self.units
            return
        number = self._sitting.current
        # A sitting begun goes on at once; between two cases the learner says when.
        if number is not None and self._sitting.cases[number - 1].state == "open":
            self._open()

    def _open(self) -> None:
        """The open case, or the next one begun, on the page."""
        assert self._sitting is not None
        number = self._sitting.current
        if number is None:
            return
        try:
            attempt = self._sitting.attempt()
        except InputError:
            self._trouble = said("other_version")
            return
        panel = ExercisePanel(attempt, debriefer=None, units=self.units)
        panel.observe(lambda change: self._follow(), names="page")
        panel.observe(lambda change: self._follow_units(change["new"]), names="units")
        self._panel, self._shown, self._trouble = panel, number, ""

    def _case_over(self) -> bool:
        return self._panel is not None and bool(self._panel.attempt.yard.ended)

    def _follow(self) -> None:
        """Once a case is over, the way on comes up. What its marks need is worked out meanwhile."""
        panel, over = self._panel, self._case_over()
        # Not before a first run: what that compiles for the page is then there for the work beside it too.
        if self._sitting is not None and panel is not None and (over or panel.attempt.timeline is not None):
            self._beforehand.begin(self._sitting, self._shown, over=over)
        if self._case_over():
            self.refresh()

    def _follow_units(self, units: str) -> None:
        if units != self.units:
            self.desk.set_units(units)
            self.refresh()

    # what the parts hold

    def _aim(self) -> list[Block]:
        title = {
            "id": "title",
            "kind": "title",
            "kicker": said("kicker"),
            "text": text("lessons.titles.10"),
            "lead": said("lead"),
        }
        plan = {"id": "plan", "kind": "list", "ordered": False, "items": list(entry(f"{AREA}.rules"))}
        cautions = {
            "id": "cautions",
            "kind": "caution",
            "title": said("cautions_title"),
            "items": list(entry(f"{AREA}.cautions")),
        }
        trouble = [block for block in self.notices() if block["id"] == "trouble"]
        return [title, *trouble, self._way(), plan, self.units_block(), cautions, self.caution()]

    def _way(self) -> Block:
        """Where the learner stands, and the way to it: the rules and cautions fill the first window."""
        over = self._open_case() or self._case_over()
        key = "open" if over else "done" if self._sitting is not None else "new"
        to = {"part": "sitting", "label": said(f"way_button.{key}")}
        return {
            "id": "way",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [said(f"way.{key}")],
            "to": to,
            "quiet": key == "new",
        }

    def _head(self, key: str, paragraphs: list[str] | None = None) -> Block:
        return {"id": "heading", "kind": "heading", "text": said(key), "paragraphs": paragraphs or []}

    def _button(self, key: str, action: str, *, primary: bool = True, **args: Any) -> dict[str, Any]:
        return {"label": said(key), "action": action, "args": args, "primary": primary}

    def _before_blocks(self) -> list[Block]:
        if not self.desk.name:
            name = {
                "id": "name",
                "kind": "name",
                "label": text("lessons.home.name_label"),
                "button": text("lessons.home.name_button"),
                "hint": said("name_hint"),
                "value": "",
            }
            return [self._head("sitting_title", [said("name_first")]), name]
        if not self._open_case() and not self._case_over():
            key = "begin_again" if self._sitting is not None else "begin"
            buttons = [self._button(f"{key}_button", "begin")]
            lines = [said(f"{key}_text", name=self.desk.name)]
            return [
                self._head("sitting_title", lines),
                {"id": "begin", "kind": "buttons", "buttons": buttons},
            ]
        blocks: list[Block] = [self._steps()]
        if self._case_over():
            blocks[0] |= {"arrive": "start", "arrive_for": f"done {self._shown}"}
            return [*blocks, *self._handed_in()]
        if self._trouble:
            notice = {"id": "version", "kind": "notice", "tone": "wait", "paragraphs": [self._trouble]}
            blocks.append(notice)
        elif self._panel is None:
            blocks.append(
                {"id": "go_on", "kind": "buttons", "buttons": [self._button("case_button", "case")]}
            )
        if self._panel is not None:
            # One row, so that the case itself is in sight.
            blocks[0] |= {"row": True, "arrive": "start", "arrive_for": f"case {self._shown}"}
        return blocks

    def _handed_in(self) -> list[Block]:
        """The way on from a case that is over; it stands in the part that stays on the page when the case is put away."""
        more = self._sitting is not None and self._sitting.current is not None
        done = {
            "id": "done",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [said("case_done" if more else "all_done")],
        }
        button = self._button("next_button", "case") if more else self._button("mark_button", "mark")
        on = {"id": "on", "kind": "buttons", "buttons": [button]}
        return [done, on]

    def _steps(self) -> Block:
        assert self._sitting is not None
        items = [self._step(case) for case in self._sitting.cases]
        title = said("cases_title", number=self._sitting.number)
        return {"id": "cases", "kind": "steps", "title": title, "items": items}

    def _step(self, case: CaseState) -> dict[str, str]:
        assert self._sitting is not None
        state = SHOWN[case.state]
        if state == "open" and case.number == self._sitting.current:
            state = "now"
        # The title of a case that is still to come is not told: it is sealed.
        title = case.title if case.state != "waiting" else said("sealed_case")
        return {
            "label": said("case", n=case.number, title=title),
            "state": state,
            "says": said(
                f"case_states.{'next' if state == 'now' and case.state == 'waiting' else case.state}"
            ),
        }

    def _after_blocks(self) -> list[Block]:
        if self._case_over():
            return []
        if not self._open_case():
            return []
        if not self._leaving:
            buttons = [self._button("leave_button", "leave", primary=False)]
            return [{"id": "leave", "kind": "buttons", "buttons": buttons}]
        lines = [f"**{said('leave_title')}**", said("leave_sure"), said("leave_break")]
        sure = {"id": "sure", "kind": "notice", "tone": "wait", "paragraphs": lines}
        buttons = [
            self._button("stay_button", "stay"),
            self._button("leave_yes_button", "leave", primary=False, sure=True),
        ]
        return [sure, {"id": "leave", "kind": "buttons", "buttons": buttons}]

    def _result(self) -> list[Block]:
        head = self._head("result_title")
        lines = history(self._store, self.desk.name) if self.desk.name else ()
        marked = [
            line
            for line in lines
            if line.state in ("passed", "not_passed", "left") and line.total is not None
        ]
        if not lines or (not marked and lines[-1].state == "open"):
            wait = {"id": "wait", "kind": "notice", "tone": "quiet", "paragraphs": [said("result_wait")]}
            return [head, wait]
        if marked:
            head |= {"arrive": "start", "arrive_for": f"sitting {marked[-1].number}"}
        blocks = [head]
        if lines[-1].state == "unmarked" and self._panel is None:
            wait = {"id": "unmarked", "kind": "notice", "tone": "plain", "paragraphs": [said("all_done")]}
            button = {"id": "mark", "kind": "buttons", "buttons": [self._button("mark_button", "mark")]}
            blocks += [wait, button]
        if marked:
            blocks += self._sheet(Sitting(self._store, marked[-1].sitting_id).result())
        rows = [
            {
                "cells": [
                    f"{line.number}",
                    day_words(line.date),
                    text(f"marking.sheet_page.states.{line.state}"),
                    "" if line.total is None else f"{line.total:.0f}",
                ]
            }
            for line in reversed(lines)
        ]
        columns = list(entry(f"{AREA}.history_columns"))
        title = said("history_title")
        blocks.append({"id": "history_heading", "kind": "heading", "text": title, "paragraphs": []})
        blocks.append({"id": "history", "kind": "compare", "title": title, "columns": columns, "rows": rows})
        return blocks

    def _sheet(self, result: SittingResult) -> list[Block]:
        from simulator.marking.certificate_page import certificate_html  # here, as only a result needs it

        lines = [f"**{said('passed' if result.passed else 'not_passed', marks=f'{result.total:.0f}')}**"]
        if result.grave:
            lines.append(text("marking.sheet_page.grave"))
        if not result.complete:
            lines.append(said("incomplete"))
        if not result.passed and not result.grave and result.complete:
            lines.append(said("short"))
        tone = "plain" if result.passed else "wait"
        rows = [_case_row(case) for case in result.cases]
        columns, title = list(entry(f"{AREA}.result_columns")), said("marks_title", number=result.number)
        return [
            {"id": "verdict", "kind": "notice", "tone": tone, "paragraphs": lines},
            {
                "id": "print",
                "kind": "printout",
                "primary": True,
                "label": said("print_link"),
                "name": "training-record.html",
                "html": certificate_html(result, history(self._store, self.desk.name)),
            },
            *([] if result.passed else [self.links("practise", "09") | {"quiet": True}]),
            {"id": "marks", "kind": "compare", "title": title, "columns": columns, "rows": rows},
            {"id": "aid", "kind": "prose", "paragraphs": [text("marking.sheet_page.aid")]},
        ]

    def _what_next(self) -> list[Block]:
        if self._open_case():
            head = self._head("next_title", [said("next_open")])
            return [head, self.links("go", "00") | {"quiet": True}]
        head = self._head("next_title", list(entry(f"{AREA}.next_text")))
        return [head, self.links("go", "09", "00") | {"quiet": True}, *self.carry.reminder()]

    # clicks

    def on_name(self, args: dict[str, Any], click: str) -> None:
        """The learner's name was typed."""
        self.desk.set_name(str(args.get("name", "")))
        self._sitting = self._latest()

    def on_begin(self, args: dict[str, Any], click: str) -> None:
        """A new sitting, with its first case on the page."""
        if self._open_case():
            return
        self._sitting = Sitting.begin(self._store, self.desk.name)
        self._panel, self._leaving = None, False
        self._open()

    def on_case(self, args: dict[str, Any], click: str) -> None:
        """On to the next case."""
        if self._sitting is not None and (self._panel is None or self._case_over()):
            self._panel = None
            self._open()

    def on_leave(self, args: dict[str, Any], click: str) -> None:
        """Leave the sitting for good, at the second press."""
        if self._sitting is None or not self._open_case():
            return
        if not args.get("sure"):
            self._leaving = True
            return
        self._sitting.leave()
        self._beforehand.stop()
        self._panel, self._leaving, self._trouble = None, False, ""

    def on_stay(self, args: dict[str, Any], click: str) -> None:
        """Do not leave after all."""
        self._leaving = False

    def on_mark(self, args: dict[str, Any], click: str) -> None:
        """Mark the cases; nothing of it was shown before."""
        if self._sitting is None or not self._sitting.over:
            return
        total = len(self._sitting.cases)
        self._beforehand.wait(lambda left: self._progress(max(total - left, 0), total))
        self._sitting.result(self._progress)
        self._panel = None
        self._tell("")

    def _progress(self, done: int, total: int) -> None:
        """Long work says how far it is."""
        self._tell(said("marking", done=done, total=total))

    def _tell(self, sentence: str) -> None:
        for part in (self._before, self.parts.get("result")):
            if part is not None:
                part.send({"kind": "progress", "sentence": sentence})


def _case_row(case: CaseResult) -> dict[str, list[str]]:
    named = said("case", n=case.number, title=case.title)
    if not case.attempt_id:
        return {"cells": [named, said("not_played"), "", ""]}
    marks = said("case_marks", marks=f"{case.total:.0f}") + (f" {said('case_grave')}" if case.grave else "")
    minutes = said("minutes", own=f"{case.minutes:.0f}", expert=f"{case.expert_minutes:.0f}")
    return {"cells": [named, marks, case.truth, minutes]}
