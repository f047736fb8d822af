"""What is printed after class: the report and the table of sign-offs.

Throughout: ``calls`` are summaries of call-outs; ``today`` is a day (ISO 8601).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simulator.classroom.after_class import SignOff, hardest, remarks, rows_by
from simulator.classroom.seen import Seen
from simulator.classroom.trainer_words import Word
from simulator.panels.papers.sheet import sheet
from simulator.panels.trainer.after_class.blocks import (
    hard_call_cells,
    people_cells,
    sign_off_cells,
    trouble_cells,
    unsafe_cells,
)
from simulator.panels.trainer.after_class.one_play import remark_words
from simulator.texts import entry, text


def report_page(calls: Sequence[Seen], words: Sequence[Word], today: str) -> str:
    """The class report: people, what was hard, what was unsafe, remarks.

    Parameters
    ----------
    words : the trainer's.
    """
    days = sorted(call.made_at[:10] for call in calls) or [today]
    people = rows_by(calls, lambda call: [call.learner])
    tables = [
        _table("out.paper_people", "people.columns", [people_cells(row) for row in people]),
        _table("hard.trouble", "hard.trouble_columns",
               [trouble_cells(row) for row in hardest(rows_by(calls, lambda call: call.troubles))]),
        _table("hard.calls", "hard.calls_columns",
               [hard_call_cells(row) for row in hardest(rows_by(calls, lambda call: [call.call]))]),
        _table("out.paper_unsafe", "hard.unsafe_columns", unsafe_cells(calls)),
    ]  # fmt: skip
    said = remarks(words)
    told = [
        f"{call.learner}, {call.title}: {remark_words(said[call.attempt_id])}"
        for call in calls
        if call.attempt_id in said
    ]
    lead = text("after_class.out.paper_lead", n=len(calls), first=days[0], last=days[-1], day=today)
    title = text("after_class.out.paper_title")
    return sheet("class_tables.html", title, lead=lead, tables=tables, remarks=told, signature="", foot="")


def sign_off_page(lines: Sequence[SignOff], today: str) -> str:
    """The table of sign-offs, with room for a signature.

    Parameters
    ----------
    lines : of the table.
    """
    rows = [[_plain(cell) for cell in sign_off_cells(line, today)] for line in lines]
    return sheet(
        "class_tables.html",
        text("after_class.sign_offs.paper_title"),
        lead=text("after_class.sign_offs.paper_lead", day=today),
        tables=[_table("sign_offs.table", "sign_offs.columns", rows)],
        remarks=[],
        signature=text("after_class.sign_offs.signature"),
        foot=text("after_class.sign_offs.caution"),
    )


def _plain(cell: Any) -> str:
    return str(cell["text"]) if isinstance(cell, dict) else str(cell)


def _table(title: str, columns: str, rows: Sequence[Sequence[Any]]) -> dict[str, Any]:
    return {"title": text(f"after_class.{title}"), "columns": entry(f"after_class.{columns}"), "rows": rows}
