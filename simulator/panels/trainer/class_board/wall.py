"""One call on the wall: the dials, the curve and the pictures that its learner sees from outside; no name, and nothing of
what is wrong."""

from __future__ import annotations

import base64
from dataclasses import replace

from simulator.attempt import Attempt
from simulator.panels.exercise.page_model import build_page, sample_message
from simulator.panels.page.blocks import Block
from simulator.panels.trainer.bench.wall import wall_document, wall_words
from simulator.texts import entry, text

EVERY = 2  # [-] samples of 0.1 s one of which goes to the wall
GIVEN = ("rig", "gauges", "curve", "units")  # of the page, as they are from outside


def wall_block(attempt: Attempt, channel: str, units: str) -> Block:
    """What the page hands on to the wall.

    Parameters
    ----------
    attempt : played again up to the second that its learner sees.
    channel : name of the channel on which the wall listens.
    units : a unit system.
    """
    terms = attempt.state.terms
    attempt.state.terms = replace(terms, scenario=terms.scenario.model_copy(update={"see_through": False}))
    try:
        page = build_page(attempt, units)
        samples = attempt.samples(0.0, attempt.shown, False)
    finally:
        attempt.state.terms = terms
    message, rows = sample_message(
        replace(samples, data=samples.data[:, ::EVERY], step=samples.step * EVERY, final=True), 0.0
    )
    return {
        "id": "wall",
        "kind": "class_wall",
        "labels": entry("class_board.wall"),
        "kit": {"channel": channel, "document": wall_document(channel), "words": wall_words()},
        "shown": attempt.shown if page["run"]["id"] is not None else 0.0,
        "page": {
            **{name: page[name] for name in GIVEN},
            "header": {"title": text("bench.wall.title"), "rig_line": page["header"]["rig_line"]},
            "engine": {"running": False},
            "see_through": False,
            "run": {key: page["run"].get(key) for key in ("id", "shown", "duration")},
            "marks": [],
            "told": [],
            "ask": None,
            "asked": None,
            "follows": True,
            "caution": text("common.training_aid"),
        },
        "samples": message,
        "rows": base64.b64encode(rows).decode("ascii"),
    }
