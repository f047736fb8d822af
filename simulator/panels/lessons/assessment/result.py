"""The result of a sitting on the page: marks, the sheet to print, and all sittings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from simulator.classroom.asking import in_a_class
from simulator.classroom.kept_sealed import OWN
from simulator.marking.certificate import CaseResult, Sitting, SittingResult, history
from simulator.marking.decision import UNDECIDED
from simulator.marking.sheet import PASS, marks_words
from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.assessment.words import AREA, a_button, heading, said
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import day_words
from simulator.panels.papers.standard_setting import standard_sheet
from simulator.texts import entry, text


class Result:
    """What the records say of a learner's sittings.

    Parameters
    ----------
    session : the learner's.
    links : ``(id of the block, numbers of lessons) -> Block``.
    """

    def __init__(self, session: LearnerSession, links: Callable[..., Block]) -> None:
        self._session, self._links = session, links
        self._store: Any = session.store

    def blocks(self, *, playing: bool, goes_on: bool) -> list[Block]:
        """Marks and all sittings; ``playing`` while a case is on the page, ``goes_on`` while one is to come."""
        head = heading("result_title")
        lines = history(self._store, self._session.name) if self._session.name else ()
        if lines and lines[-1].state == "unmarked" and goes_on:  # one more is asked for, and not begun
            lines = (*lines[:-1], replace(lines[-1], state="open"))
        marked = [line for line in lines if line.state not in ("open", "unmarked") and line.total is not None]
        if not lines or (not marked and lines[-1].state == "open"):
            wait = {"id": "wait", "kind": "notice", "tone": "quiet", "paragraphs": [said("result_wait")]}
            return [head, wait]
        if marked:
            head |= {"arrive": "start", "arrive_for": f"sitting {marked[-1].number}"}
        blocks = [head]
        if lines[-1].state == "unmarked" and not playing:
            wait = {"id": "unmarked", "kind": "notice", "tone": "plain", "paragraphs": [said("all_done")]}
            blocks.append(wait)  # the button stands with the cases
        if lines[-1].state == "left":
            blocks += self._left(Sitting(self._store, lines[-1].sitting_id))
        if marked:
            blocks += self._sheet(Sitting(self._store, marked[-1].sitting_id).result())
        rows = [
            {
                "cells": [
                    f"{line.number}",
                    day_words(line.date),
                    text(f"marking.sheet_page.states.{line.state}"),
                    "" if line.total is None else marks_words(line.total),
                ]
            }
            for line in reversed(lines)
        ]
        columns = list(entry(f"{AREA}.history_columns"))
        title = said("history_title")
        blocks.append({"id": "history_heading", "kind": "heading", "text": title, "paragraphs": []})
        blocks.append({"id": "history", "kind": "compare", "title": title, "columns": columns, "rows": rows})
        return blocks

    def for_trainers(self) -> list[Block]:
        """Where a group of trainers sets a passing mark of its own."""
        return [
            {"id": "standard_words", "kind": "prose", "paragraphs": [said("standard", mark=f"{PASS:g}")]},
            {
                "id": "standard",
                "kind": "printout",
                "primary": False,
                "label": said("standard_link"),
                "name": "passing-mark.html",
                "html": standard_sheet(),
            },
        ]

    def _left(self, sitting: Sitting) -> list[Block]:
        """How the cases went that were handed in before a sitting was left; at first the button that has them marked."""
        if not sitting.handed_in:
            return []
        count = len(sitting.handed_in)
        lines = [said("left_one" if count == 1 else "left_some", n=count)]
        if sitting.told:
            lines.append(said("left_told"))
        notice: Block = {"id": "left", "kind": "notice", "tone": "plain", "paragraphs": lines}
        if not sitting.told:
            return [notice, {"id": "tell", "kind": "buttons", "buttons": [a_button("tell_button", "mark")]}]
        cases = sitting.told_when_left()
        title = said("marks_title", number=sitting.number)
        blocks: list[Block] = [
            notice,
            {
                "id": "left_marks",
                "kind": "compare",
                "title": title,
                "columns": list(entry(f"{AREA}.result_columns")),
                "rows": [_case_row(case) for case in cases],
            },
        ]
        for case in cases:
            named = said("case", n=case.number, title=case.title)
            why = [line for part in case.parts for line in part["evidence"]]
            blocks.append({"id": f"why_{case.number}", "kind": "heading", "text": named, "paragraphs": []})
            blocks.append({"id": f"evidence_{case.number}", "kind": "list", "ordered": False, "items": why})
        return blocks

    def _sheet(self, result: SittingResult) -> list[Block]:
        from simulator.marking.certificate_page import certificate_html  # here, as only a result needs it

        key = "undecided" if result.decision == UNDECIDED and result.complete else "not_passed"
        key = "passed" if result.passed else key
        lines = [f"**{said(key, marks=marks_words(result.total))}**"]
        if result.grave:
            lines.append(text("marking.sheet_page.grave"))
        if not result.complete:
            lines.append(said("incomplete"))
        elif result.error is not None:
            lines.append(said("error", error=f"{result.error:.0f}", n=len(result.cases)))
        if not result.passed and not result.grave and result.complete:
            lines.append(
                said("between" if key == "undecided" else "short", mark=f"{result.rule.pass_mark:g}")
            )
        lines.append(result.signature.sentence)
        tone = "plain" if result.passed else "wait"
        rows = [_case_row(case) for case in result.cases]
        columns, title = list(entry(f"{AREA}.result_columns")), said("marks_title", number=result.number)
        sealing = _sealing(result)
        return [
            {"id": "verdict", "kind": "notice", "tone": tone, "paragraphs": lines},
            {
                "id": "print",
                "kind": "printout",
                "primary": True,
                "label": said("print_link"),
                "name": "training-record.html",
                "html": certificate_html(result, history(self._store, self._session.name), sealing),
            },
            *([] if result.passed else [self._links("practise", "09") | {"quiet": True}]),
            {"id": "marks", "kind": "compare", "title": title, "columns": columns, "rows": rows},
            {"id": "aid", "kind": "prose", "paragraphs": [text("marking.sheet_page.aid")]},
        ]


def _sealing(result: SittingResult) -> str:
    """How well its cases were sealed, where it was held in a class."""
    if result.accounts:
        return text("sheets.sitting_sealed" if result.accounts == OWN else "sheets.sitting_not_sealed")
    return text("sheets.sitting_not_sealed") if in_a_class() else ""


def _case_row(case: CaseResult) -> dict[str, list[str]]:
    named = said("case", n=case.number, title=case.title)
    if not case.attempt_id:
        return {"cells": [named, said("not_played"), "", ""]}
    marks = said("case_marks", marks=marks_words(case.total)) + (
        f" {said('case_grave')}" if case.grave else ""
    )
    minutes = said("minutes", own=f"{case.minutes:.0f}", expert=f"{case.expert_minutes:.0f}")
    return {"cells": [named, marks, case.truth, minutes]}
