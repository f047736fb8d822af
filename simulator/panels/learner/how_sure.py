"""How sure the learner was over the latest calls, and how often right, for the home page and the debrief."""

from __future__ import annotations

from typing import Any

from simulator.marking.how_sure import LEAST, Band, bands, calls_of
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.texts import entry, text


def how_sure_block(session: LearnerSession) -> list[Block]:
    """What markers came to, by how many there were; nothing before there are calls enough to tell.

    Parameters
    ----------
    session : of the learner.
    """
    calls = calls_of(session.store, session.name) if session.name else ()
    if len(calls) < LEAST:
        return []
    title = text("skills.how_sure.title", n=len(calls))
    return [
        {"id": "how_sure_heading", "kind": "heading", "text": title, "paragraphs": []},
        {
            "id": "how_sure",
            "kind": "compare",
            "title": title,
            "columns": list(entry("skills.how_sure.columns")),
            "rows": [{"cells": _cells(band)} for band in bands(calls)],
        },
    ]


def how_sure_so_far(store: Any, attempt_id: str) -> dict[str, Any] | None:
    """The same beside the debrief of a call-out, or what is still missing until it can be told.

    None where the records know no name.

    Parameters
    ----------
    store : where the call-out is kept.
    attempt_id : its id.
    """
    learner = str(store.attempt_record(attempt_id).get("learner", ""))
    if not learner or not hasattr(store, "list_attempts"):
        return None
    calls = calls_of(store, learner)
    if len(calls) < LEAST:
        return {
            "title": text("skills.how_sure.title_short"),
            "said": text("skills.how_sure.later", n=len(calls), least=LEAST),
        }
    return {
        "title": text("skills.how_sure.title", n=len(calls)),
        "columns": list(entry("skills.how_sure.columns")),
        "rows": [_cells(band) for band in bands(calls)],
    }


def _cells(band: Band) -> list[str]:
    key = "one" if band.least == band.most else "some"
    fields = {"least": band.least, "most": band.most}
    return [text(f"skills.how_sure.{key}", **fields), f"{band.stated}", f"{band.right}"]
