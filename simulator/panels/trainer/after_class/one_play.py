"""One call that somebody played: marks, what was looked at, the curve of certainty, what was said of it.

Throughout: ``call`` is its summary.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simulator.classroom.after_class import certainty, taken_for
from simulator.classroom.seen import SOUND, Seen
from simulator.classroom.seen_words import name_words, suspect_words
from simulator.classroom.trainer_words import Word
from simulator.instruments.checks import CHECKS
from simulator.panels.page.blocks import Block
from simulator.panels.trainer.after_class.blocks import danger_words, figure
from simulator.texts import entry, knows, text

MARKERS = 10
LEAST_SPAN = 5.0  # [min]


def play_blocks(call: Seen, words: Sequence[Word]) -> list[Block]:
    """All that stands of it.

    Parameters
    ----------
    words : remarks on it, in the order in which they were said.
    """
    truth = " + ".join(suspect_words(name) for name in call.faults if name) or suspect_words(SOUND)
    told = [
        text("after_class.one.truth", truth=truth),
        text("after_class.one.taken", what=suspect_words(taken_for(call))),
    ]
    heading = {
        "id": "play_heading",
        "kind": "heading",
        "text": text("after_class.one.heading", name=name_words(call.learner), title=call.title),
        "paragraphs": told,
        "arrive": "start",
        "arrive_for": call.attempt_id,
    }
    close = {"label": text("after_class.one.close"), "action": "close", "args": {}}
    return [
        heading,
        {"id": "play_close", "kind": "buttons", "buttons": [close]},
        _marks(call),
        _curve(call),
        _looks(call),
        *_said(words),
        _remark(call, words),
    ]


def _marks(call: Seen) -> Block:
    rows = [
        {
            "key": name,
            "cells": [_part(name), "–" if points is None else f"{points:g}", f"{out_of:g}"],
            "buttons": [],
        }
        for name, points, out_of in call.parts
    ]
    if call.total is not None:
        rows.append(
            {
                "key": "total",
                "cells": [text("after_class.one.marks"), figure(call.total), "100"],
                "buttons": [],
            }
        )
    below = any(points is not None and points < 0.0 for _, points, _ in call.parts)
    foot = {"foot": text("after_class.one.below")} if below else {}
    return _rows("play_marks", "marks", rows, "not_marked") | foot


def _part(name: str) -> str:
    return text(f"marking.{name}.label") if knows(f"marking.{name}.label") else name


def _curve(call: Seen) -> Block:
    if not call.calls:
        return {"id": "play_no_curve", "kind": "prose", "paragraphs": [text("after_class.one.no_curve")]}
    points = [[minute, float(n)] for minute, n in certainty(call)]
    return {
        "id": "play_curve",
        "kind": "chart",
        "lines": [{"label": text("after_class.one.line"), "style": "main", "points": points}],
        "unit": {"name": text("after_class.one.curve_unit"), "size": 1.0},
        "clock": "min",
        "span_s": max(LEAST_SPAN, points[-1][0]),
        "high_pa": float(MARKERS),
        "axis_x": text("after_class.one.axis_x"),
        "axis_y": text("after_class.one.axis_y"),
        "spoken": text("after_class.one.spoken"),
        "height": 240,
    }


def _looks(call: Seen) -> Block:
    told: list[tuple[float, str]] = [(minute, _look(name, place)) for name, place, minute in call.looks]
    told += [(minute, text("after_class.one.work", what=_work(name))) for name, _, minute in call.works]
    told += [(minute, text("after_class.one.call", what=_stated(markers))) for minute, markers in call.calls]
    told += [
        (minute, text("after_class.one.breach", what=danger_words(danger)))
        for _, danger, minute in call.breaches
    ]
    rows = [
        {"key": f"{n}", "cells": [figure(minute), words], "buttons": []}
        for n, (minute, words) in enumerate(sorted(told, key=lambda each: each[0]))
    ]
    return _rows("play_looks", "looks", rows, "looks_none")


def _rows(block_id: str, key: str, rows: list[dict[str, Any]], none: str) -> Block:
    return {
        "id": block_id,
        "kind": "rows",
        "title": text(f"after_class.one.{key}"),
        "columns": list(entry(f"after_class.one.{key}_columns")),
        "none": text(f"after_class.one.{none}"),
        "rows": rows,
    }


def _look(name: str, place: str) -> str:
    words = text(f"checks.{name}.label") if name in CHECKS else name
    return f"{words} ({place})" if place else words


def _work(name: str) -> str:
    return text(f"remedies.{name}.name") if knows(f"remedies.{name}.name") else name


def _stated(markers: dict[str, int]) -> str:
    most = sorted(markers.items(), key=lambda each: -each[1])
    return ", ".join(text("after_class.hard.times", what=suspect_words(name), n=n) for name, n in most)


def _said(words: Sequence[Word]) -> list[Block]:
    if not words:
        return []
    items = [remark_words(word) for word in words]
    title = text("after_class.one.earlier_title")
    return [{"id": "play_said", "kind": "list", "ordered": False, "title": title, "items": items}]


def remark_words(word: Word) -> str:
    """A remark with who said it and when.

    Parameters
    ----------
    word : the remark.
    """
    key = "earlier" if word.total is None else "earlier_marks"
    return text(
        f"after_class.one.{key}", by=word.by, day=word.at[:10], total=figure(word.total), text=word.text
    )


def _remark(call: Seen, words: Sequence[Word]) -> Block:
    fields: list[dict[str, Any]] = [
        {"id": "text", "label": text("after_class.one.remark"), "value": "", "long": True,
         "hint": text("after_class.one.remark_hint")},
        {"id": "total", "label": text("after_class.one.total"), "value": "", "most": "5",
         "hint": text("after_class.one.total_hint")},
    ]  # fmt: skip
    return {"id": f"remark_{len(words)}_{call.attempt_id}", "kind": "form", "fields": fields, "action": "remark",
            "args": {"attempt": call.attempt_id}, "button": text("after_class.one.keep")}  # fmt: skip
