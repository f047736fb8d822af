"""What the wall shows: a page of its own, given what is seen from outside and what the trainer has told, and no more.

It is opened as a window of its own that belongs to no kernel. The trainer's page hands on to it what is made here, as it
is: nothing else of a demonstration ever goes there.

Arguments, the same throughout: ``run`` the demonstration.
"""

from __future__ import annotations

from html import escape
from typing import Any

from simulator.panels.page import assets
from simulator.panels.trainer.bench.run import QUESTIONS, BenchRun
from simulator.panels.trainer.bench.words import fault_words, mark_words
from simulator.texts import entry, text

#: Acts that everybody sees or hears.
OPEN = ("start", "stop", "speed", "ask")


def wall_words() -> dict[str, Any]:
    """Words of the wall: labels of gauges, curve and pictures, and what its own controls are called."""
    return {"wall": entry("bench.wall"), "picture": entry("picture")}


def wall_page(
    run: BenchRun,
    still: dict[str, Any],
    shown: dict[str, Any],
    told: frozenset[int],
    *,
    rig: dict[str, Any],
    inside: bool,
    ask: bool,
) -> dict[str, Any]:
    """What stands on the wall besides needles and curve.

    Parameters
    ----------
    still : what does not change in a demonstration.
    shown : the run as the page knows it.
    told : numbers of the faults that the trainer has told.
    rig : as it is drawn; inside : whether one looks inside; ask : whether the question stands there.
    """
    marks = [
        {"t": mark["t"], "label": mark_words(mark)}
        for mark in run.marks()
        if mark["kind"] in OPEN or mark["number"] in told
    ]
    return {
        "header": {"title": text("bench.wall.title"), "rig_line": still["rig_line"]},
        "engine": {"running": run.running},
        "rig": rig,
        "gauges": still["gauges"],
        "curve": still["curve"],
        "see_through": inside,
        "run": shown,
        "marks": marks,
        "told": [fault_words(run, number, letter=True) for number in sorted(told) if number in run.faults],
        "ask": None,
        "asked": asked(run) if ask else None,
        "caution": text("common.training_aid"),
    }


def asked(run: BenchRun) -> dict[str, Any] | None:
    """The question that was put to the class last, with the hands; None before the first.

    Examples
    --------
    >>> from simulator.panels.trainer.bench.run import Setting
    >>> asked(BenchRun(Setting())) is None
    True
    """
    acts = [act for act in run.acts if act.kind == "ask"]
    if not acts:
        return None
    question, hands = acts[-1].args["question"], acts[-1].args["hands"]
    return {
        "id": f"{len(acts)}:{question}",
        "question": text(f"bench.ask.questions.{question}"),
        "options": [
            {"id": option, "label": text(f"bench.ask.options.{option}"), "hands": count}
            for option, count in zip(QUESTIONS[question], hands, strict=True)
        ],
    }


def wall_document(channel: str) -> str:
    """The wall as one HTML page that needs nothing else.

    Parameters
    ----------
    channel : name of the channel on which it listens.

    Examples
    --------
    >>> "data-channel=\\"wall-1\\"" in wall_document("wall-1")
    True
    """
    script = assets.built("wall.js").replace("</script", "<\\/script")
    title = escape(text("bench.wall.title"))
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{title}</title>'
        f"<style>{assets.built('wall.css')}</style></head>"
        f'<body><main id="wall" data-channel="{escape(channel)}"></main>'
        f'<script type="module">{script}</script></body></html>'
    )
