"""What a learner's pages show of a call sheet: its calls in order, and how each stands."""

from __future__ import annotations

from typing import Any

from simulator.panels.learner.sheet_calls import DONE, GivenSheet, SheetCall
from simulator.panels.page.blocks import Block
from simulator.texts import entry, text

LATEST = 3  # [-] sheets shown


def sheet_blocks(sheets: list[GivenSheet], reads: bool) -> list[Block]:
    """The newest sheets, their calls in order.

    Parameters
    ----------
    sheets : that are handed out, the newest first.
    reads : whether the page can show how a call went.
    """
    out: list[Block] = []
    for given in sheets[:LATEST]:
        due = given.due
        rows = [
            _row(given, call, reads, due is not None and call.number == due.number) for call in given.calls
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


def _row(given: GivenSheet, call: SheetCall, reads: bool, is_next: bool) -> dict[str, Any]:
    title = f"{call.number + 1}. {given.sheet.calls[call.number].title}"
    state = "sealed" if call.state == DONE and given.shut else call.state
    says = text("sheets.now") if is_next and state == "open" else text(f"sheets.state.{state}")
    buttons = []
    if reads and call.state == DONE and not given.shut:
        buttons.append(
            {"label": text("sheets.read"), "says": text("sheets.read_of", n=call.number + 1), "action": "read",
             "args": {"sheet": given.sheet.id, "number": call.number}}
        )  # fmt: skip
    return {"key": str(call.number), "cells": [title, says], "buttons": buttons, "now": is_next}
