"""What a learner's pages show of a call sheet: its calls in order, and how each stands."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simulator.marking.sheet import marks_words
from simulator.panels.learner.sheet_calls import DONE, OPEN, GivenSheet, SheetCall
from simulator.panels.page.blocks import Block
from simulator.texts import entry, text

LATEST = 3  # [-] sheets shown
Marks = Callable[[str], float | None]


def sheet_blocks(
    sheets: list[GivenSheet], marks: Marks, read_on: str = "", coming: frozenset[str] = frozenset()
) -> list[Block]:
    """The newest sheets, their calls in order, each that may be read with its marks and the way there.

    Parameters
    ----------
    sheets : that are handed out, the newest first.
    marks : gives those of an attempt out of 100 [-], or None.
    read_on : file of the page that shows how a call went; empty: it is this one.
    coming : attempts whose marks are being worked out.
    """
    out: list[Block] = []
    for given in sheets[:LATEST]:
        due = given.due
        rows = [
            _row(given, call, due is not None and call.number == due.number, marks, read_on, coming)
            for call in given.calls
        ]
        title = text("sheets.home_title", title=given.sheet.title)
        out.append(
            {"id": f"given_{given.sheet.id}", "kind": "rows", "title": title, "rows": rows, "none": "",
             "columns": list(entry("sheets.columns"))}
        )  # fmt: skip
        if given.shut:
            said = [text("sheets.sealed_note")]
            out.append(
                {"id": f"note_{given.sheet.id}", "kind": "notice", "tone": "quiet", "paragraphs": said}
            )
    return out


def _row(
    given: GivenSheet, call: SheetCall, is_next: bool, marks: Marks, read_on: str, coming: frozenset[str]
) -> dict[str, Any]:
    title = f"{call.number + 1}. {given.sheet.calls[call.number].title}"
    may_read = call.state == DONE and not given.shut
    buttons = []
    if may_read:
        button = {"label": text("sheets.read"), "says": text("sheets.read_of", n=call.number + 1), "action": "read",
                  "args": {"sheet": given.sheet.id, "number": call.number},
                  "hash": f"read-{given.sheet.id}-{call.number}"}  # fmt: skip
        buttons.append(button | ({"file": read_on} if read_on else {}))
    says = text("sheets.now") if is_next and call.state == OPEN else _state_words(given, call, marks, coming)
    return {"key": str(call.number), "cells": [title, says], "buttons": buttons, "now": is_next}


def _state_words(given: GivenSheet, call: SheetCall, marks: Marks, coming: frozenset[str]) -> str:
    if call.state != DONE:
        return text(f"sheets.state.{call.state}")
    if given.shut:
        return text("sheets.state.sealed")
    total = marks(call.attempt_id)
    if total is not None:
        return text("sheets.state.marked", marks=marks_words(total))
    return text("sheets.state.marks_coming" if call.attempt_id in coming else "sheets.state.done")
