"""The tables of the page: people, calls, plays, what was hard and unsafe, sign-offs.

Throughout: ``rows`` are calls together, ``calls`` summaries of call-outs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simulator.classroom.after_class import Row, SignOff, hardest, passed, rows_by, unsafe
from simulator.classroom.seen import DANGERS, Seen
from simulator.classroom.seen_words import ended_words, name_words, rig_words, suspect_words, trouble_words
from simulator.classroom.trainer_words import Word
from simulator.marking.sheet import marks_words
from simulator.panels.page.blocks import Block
from simulator.texts import entry, knows, text

TableRow = tuple[str, Sequence[Any], Sequence[dict[str, Any]]]
FEW = 3  # [-] plays below which a mean says little


def share_words(n: int, all_: int) -> str:
    """So many of so many; nothing of none.

    Parameters
    ----------
    n, all_ : how many, of how many [-].
    """
    return text("after_class.hard.of", n=n, all=all_) if all_ else ""


def figure(value: float | None) -> str:
    """Whole marks or minutes; nothing where there are none.

    Parameters
    ----------
    value : marks [of 100] or minutes [min].
    """
    return "" if value is None else marks_words(value)


def wrong_words(row: Row) -> str:
    """What calls were mostly taken for, and how often.

    Parameters
    ----------
    row : calls together.
    """
    return ", ".join(text("after_class.hard.times", what=suspect_words(name), n=n) for name, n in row.wrong)


def weakest_words(row: Row) -> str:
    """The part of the marks in which most was lost.

    Parameters
    ----------
    row : calls together.
    """
    return text(f"marking.{row.weakest}.label") if knows(f"marking.{row.weakest}.label") else row.weakest


def table(block_id: str, key: str, rows: Sequence[TableRow], none: str, columns: str = "") -> Block:
    """A table whose rows can be acted on.

    Parameters
    ----------
    block_id : by which the page knows it.
    key : of its title.
    rows : key, cells, buttons of each.
    none : what is said where there is no row.
    columns : key of its columns; ``columns`` beside the title by default.
    """
    return {
        "id": block_id,
        "kind": "rows",
        "title": text(f"after_class.{key}"),
        "columns": list(entry(f"after_class.{columns or key.rpartition('.')[0] + '.columns'}")),
        "none": none,
        "rows": [
            {"key": name, "cells": list(cells), "buttons": list(buttons)} for name, cells, buttons in rows
        ],
    }


def button(key: str, action: str, args: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """A button of a row; what it says to who does not see the row stands under the same key with ``_of``.

    Parameters
    ----------
    key : of its label.
    action, args : what it asks for.
    """
    says = text(f"after_class.{key}_of", **fields)
    return {"label": text(f"after_class.{key}"), "says": says, "action": action, "args": args}


def people_cells(row: Row) -> list[str]:
    """A person's row."""
    return [
        name_words(row.key),
        share_words(row.done, row.begun),
        figure(row.marks),
        share_words(row.passed, row.done),
        share_words(row.right, row.done),
        figure(row.minutes),
        str(row.hints),
        str(row.lapses),
    ]


def call_cells(row: Row) -> list[str]:
    """A call's row."""
    first = row.calls[0]
    return [
        first.title,
        trouble_words(first.troubles),
        share_words(row.done, row.begun),
        figure(row.marks),
        share_words(row.right, row.done),
        figure(row.minutes),
        wrong_words(row),
    ]


def play_cells(call: Seen, word: Word | None) -> list[Any]:
    """A play's row.

    Parameters
    ----------
    call : somebody's.
    word : the trainer's latest remark on it.
    """
    marks: Any = figure(call.total) if call.total is not None else text("after_class.plays.shut")
    if call.total is not None and not passed(call):
        marks = {"text": marks, "tone": "wait"}
    how: Any = ended_words(call)
    if any(grave == "grave" for grave, _, _ in call.breaches):
        how = {"text": how, "tone": "bad"}
    yours = figure(word.total) if word else ""
    return [
        name_words(call.learner),
        call.title,
        call.made_at[:10],
        marks if call.finished else "",
        yours,
        figure(call.minutes),
        how,
    ]


def hard_blocks(calls: Sequence[Seen]) -> list[Block]:
    """What the class found hard, and what was unsafe."""
    troubles = hardest(rows_by(calls, lambda call: call.troubles))
    by_call = hardest(rows_by(calls, lambda call: [call.call]))
    none = text("after_class.hard.none")
    out = [
        {"id": "hard", "kind": "heading", "text": text("after_class.hard.heading"), "paragraphs": []},
        table(
            "hard_troubles", "hard.trouble", [(row.key, trouble_cells(row), ()) for row in troubles], none,
            "hard.trouble_columns",
        ),
        table(
            "hard_calls", "hard.calls", [(row.key, hard_call_cells(row), ()) for row in by_call], none,
            "hard.calls_columns",
        ),
        table(
            "unsafe", "hard.unsafe", [(f"{n}", cells, ()) for n, cells in enumerate(unsafe_cells(calls))],
            text("after_class.hard.unsafe_none"), "hard.unsafe_columns",
        ),
    ]  # fmt: skip
    if any(row.done < FEW for row in by_call):
        few = {"id": "few", "kind": "prose", "paragraphs": [text("after_class.hard.few")]}
        out.insert(3, few)
    return out


def trouble_cells(row: Row) -> list[str]:
    """The row of a kind of trouble."""
    return [trouble_words([row.key]), *_hard_cells(row)]


def _hard_cells(row: Row) -> list[str]:
    return [
        share_words(row.done, row.begun),
        figure(row.marks),
        share_words(row.right, row.done),
        wrong_words(row),
        weakest_words(row),
    ]


def hard_call_cells(row: Row) -> list[str]:
    """The row of a call among the hard ones."""
    return [row.calls[0].title, *_hard_cells(row)]


def unsafe_cells(calls: Sequence[Seen]) -> list[list[str]]:
    """Rows of what was unsafe."""
    return [
        [
            text(f"class_board.breach.{how}"),
            danger_words(danger),
            str(n),
            ", ".join(who),
        ]
        for how, danger, n, who in unsafe(calls)
    ]


def danger_words(name: str) -> str:
    """What was dangerous about a breach, in words.

    Parameters
    ----------
    name : of a danger, or of what was let happen; nothing where neither was kept.

    Examples
    --------
    >>> danger_words("ran_dry")
    'The pump ran without water for ten minutes.'
    """
    if knows(f"{DANGERS}{name}"):
        return text(f"{DANGERS}{name}")
    if name != "nearly" and knows(f"marking.safety.{name}"):
        said = text(f"marking.safety.{name}")
        return f"{said[:1].upper()}{said[1:]}."
    return text("after_class.hard.danger_unknown")


def sign_off_cells(line: SignOff, today: str) -> list[Any]:
    """A line of the table of sign-offs.

    Parameters
    ----------
    line : of the table.
    today : a day (ISO 8601).
    """
    word, state = line.word, line.state(today)
    until: Any = word.until if word else ""
    if state == "over" and word:
        until = {"text": text("after_class.sign_offs.over", day=word.until), "tone": "wait"}
    return [
        name_words(line.person),
        rig_words(line.rig),
        trouble_words([line.trouble]),
        share_words(line.passed, line.done),
        figure(line.best),
        word.at[:10] if word else "",
        word.by if word else "",
        until,
    ]
