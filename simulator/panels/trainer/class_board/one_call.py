"""One call as its learner has it, played again from its log: notes, dials at the second that is shown, the curve.

Throughout: ``units`` is a unit system.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.seen import Seen
from simulator.classroom.watching import Watching
from simulator.errors import InputError
from simulator.marking.debrief import truth_of
from simulator.panels.page.blocks import Block
from simulator.panels.teaching.figures import dials
from simulator.texts import entry, text
from simulator.units import SYSTEMS, UNITS

EVERY = 5  # [-] samples of 0.1 s a point of the curve
LEAST_HIGH, LEAST_SPAN = 40e3, 60.0  # [Pa], [s] that the curve's axes span at least
MOST_NOTES = 40
SHOWN = {"suction_shown": "suction", "motive_shown": "motive", "discharge_shown": "discharge"}


@dataclass(frozen=True)
class Played:
    """An attempt played again, as it stood after so many steps [-] at that second [s]; or why it cannot be."""

    attempt_id: str
    steps: int
    shown: float
    attempt: Attempt | None
    trouble: str = ""

    def is_of(self, at: Seen) -> bool:
        """Whether it is that record as it now stands.

        Parameters
        ----------
        at : its summary.
        """
        return (self.attempt_id, self.steps) == (at.attempt_id, at.steps)


def play_again(watch: Watching, at: Seen) -> Played:
    """Fetch an attempt and play it again; what cannot be played says why.

    Parameters
    ----------
    watch : where it lies.
    at : its summary.
    """
    try:
        with watch.copy(at.attempt_id) as copy:
            store: Any = copy
            attempt = Attempt.resume(store, at.attempt_id)
        return Played(at.attempt_id, at.steps, at.run_s, attempt)
    except InputError as error:
        return Played(at.attempt_id, at.steps, at.run_s, None, str(error).rstrip("."))


def blocks_of(played: Played, at: Seen, units: str) -> list[Block]:
    """What the trainer sees of it.

    Parameters
    ----------
    played : the attempt.
    at : its summary.
    """
    attempt = played.attempt
    facts = [
        line.format(minutes=f"{at.minutes:.0f}", starts=at.starts, hints=at.hints)
        for line in entry("class_board.one.facts")
    ]
    if attempt is None:
        said = text("class_board.one.gone", why=played.trouble)
        return [{"id": "facts", "kind": "prose", "paragraphs": [*facts, said]}]
    truth = truth_of(attempt.scenario.what_is_wrong())
    facts.append(text("class_board.one.wrong", truth=truth))
    return [
        {"id": "facts", "kind": "prose", "paragraphs": facts},
        *_gauges(attempt, at, units),
        _notes(attempt, units),
    ]


def _gauges(attempt: Attempt, at: Seen, units: str) -> list[Block]:
    if attempt.timeline is None:
        return []
    if not attempt.yard.ended:
        attempt.state.pass_to(at.run_s)
    samples = attempt.samples(0.0, attempt.shown, False)
    data = {name: samples.data[samples.channels.index(name)] for name in SHOWN}
    if not data["suction_shown"].size:
        return []
    readings = {SHOWN[name]: float(row[-1]) for name, row in data.items() if math.isfinite(float(row[-1]))}
    curve = [
        [round(samples.start + n * samples.step, 1), round(float(value))]
        for n, value in enumerate(data["suction_shown"])
        if n % EVERY == 0
    ]
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    chart = {
        "id": "curve",
        "kind": "chart",
        "lines": [{"label": text("class_board.one.line"), "style": "main", "points": curve}],
        "unit": {"name": unit.name, "size": unit.size},
        "span_s": max(LEAST_SPAN, curve[-1][0]),
        "high_pa": max(LEAST_HIGH, *(value for _, value in curve)),
        "axis_x": text("class_board.one.axis_x"),
        "axis_y": text("class_board.one.axis_y", unit=unit.name),
        "spoken": text("class_board.one.spoken"),
        "height": 260,
    }
    return [dials("dials", readings, units, text("class_board.one.dials")), chart]


def _notes(attempt: Attempt, units: str) -> Block:
    notes: list[dict[str, Any]] = attempt.snapshot(units).notes[-MOST_NOTES:]
    rows = [
        {"key": str(n), "cells": [note["clock"], note["text"]], "buttons": []}
        for n, note in reversed(list(enumerate(notes)))
    ]
    return {
        "id": "notes",
        "kind": "rows",
        "title": text("class_board.one.notes"),
        "rows": rows,
        "columns": list(entry("class_board.one.notes_columns")),
        "none": text("class_board.one.notes_none"),
    }
