"""The guesses of lesson 01 beside what happened: figures and one plot."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from simulator.panels.lessons.how_the_rig_draws_water.guesses import (
    LOWER,
    gauge_options,
    guesses,
    lower_run,
    lower_words,
    right_gauge,
    right_lower,
    time_verdict,
)
from simulator.panels.lessons.how_the_rig_draws_water.questions import (
    SITE,
    arrival,
    fault_run,
    good_run,
    lift_pressure,
    seconds,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import UNSURE, format_quantity
from simulator.panels.teaching.scenes import OPENING
from simulator.rig.presets import load_site
from simulator.texts import entry, text
from simulator.units import SYSTEMS, UNITS

Points = list[list[float]]
EVERY = 5  # [0.1 s] between two points of a line that is drawn
AFTER = 12.0  # [s] drawn after the prime


def compare_blocks(answers: dict[str, Any], units: str) -> list[Block]:
    """A table and a plot; ``answers`` hold the guesses and the runs that were seen.

    Parameters
    ----------
    units : "metric" or "us".
    """
    own = answers["run:sound"]
    model = good_run()
    came = own["prime_s"] if own.get("prime_s") else float(model.prime_time)
    return [_table(answers, units, came), *_remarks(answers, model, units), _chart(answers, units, came)]


def _verdict(name: str, answers: dict[str, Any], came: float) -> str:
    answer = answers[f"guess:{name}"]
    if answer == UNSURE:
        return "not_known"
    if name == "prime_time":
        return time_verdict(float(answer), came)
    right = right_gauge() if name == "gauge_arrives" else right_lower()
    return "right" if answer == right else "not_quite"


def _table(answers: dict[str, Any], units: str, came: float) -> Block:
    said = {guess.id: guess.label(answers[f"guess:{guess.id}"]) for guess in guesses(units)}
    lower_time, lower_gauge = lower_words(units)
    was = {
        "prime_time": seconds(came),
        "gauge_arrives": format_quantity("vacuum", arrival(good_run())[1], units),
        "lower_pond": text(
            "lessons.draws.compare_was_lower",
            time=lower_time,
            gauge=lower_gauge,
            time_before=seconds(good_run().prime_time),
            gauge_before=format_quantity("vacuum", arrival(good_run())[1], units),
        ),
    }
    more = format_quantity("length", LOWER, units)
    names = {
        "prime_time": text("lessons.draws.compare_time"),
        "gauge_arrives": text("lessons.draws.compare_gauge"),
        "lower_pond": text("lessons.draws.compare_lower", more=more),
    }
    rows = []
    for name, label in names.items():
        verdict = text(f"lessons.words.{_verdict(name, answers, came)}")
        why = _why(name, answers, lower_time, lower_gauge)
        rows.append({"cells": [label, said[name], was[name], f"**{verdict}** {why}".strip()]})
    return {
        "id": "table",
        "kind": "compare",
        "title": text("lessons.draws.compare_title"),
        "columns": list(entry("lessons.draws.compare_columns")),
        "rows": rows,
    }


def _why(name: str, answers: dict[str, Any], time: str, gauge: str) -> str:
    answer = answers[f"guess:{name}"]
    if name == "lower_pond":
        return text(f"lessons.draws.lower_says.{answer}", other_time=time, other_gauge=gauge)
    if name == "gauge_arrives" and answer != right_gauge():
        if answer == "zero":
            return text("lessons.draws.zero_says")
        if answer == "all_it_can":
            return text("lessons.questions.arrives.all_it_can")
    return ""


def _remarks(answers: dict[str, Any], model: Any, units: str) -> list[Block]:
    said = {}
    if answers["run:sound"].get("slow"):
        said["slow"] = text("lessons.draws.compare_slow", seconds=round(model.prime_time))
    lower = lower_run()
    lift = format_quantity("vacuum", lift_pressure(lower.site), units)
    if lift != format_quantity("vacuum", arrival(lower)[1], units):
        more = format_quantity("length", LOWER, units)
        said["lift"] = text("lessons.draws.compare_lift", more=more, lift=lift)
    if "run:fault" in answers and not _with_fault(answers["run:fault"]):
        said["fault"] = text("lessons.draws.compare_fault_model")
    return [
        {"id": name, "kind": "notice", "tone": "quiet", "paragraphs": [each]} for name, each in said.items()
    ]


def _with_fault(kept: dict[str, Any] | None) -> bool:
    """Whether what was kept is a run with the fault in it: one that took its prime had been put right by then."""
    return bool(kept and kept.get("points")) and (kept or {}).get("prime_s") is None


def points_of(run: Any) -> Points:
    """The vacuum of a run to draw: [time s, Pa]."""
    return [
        [round(float(t), 1), round(float(v))]
        for t, v in zip(run.time[::EVERY], run.vacuum[::EVERY], strict=True)
    ]


def _until(points: Points, last: float) -> Points:
    return [point for point in points if point[0] <= last]


def _chart(answers: dict[str, Any], units: str, came: float) -> Block:
    own, fault = answers["run:sound"], answers.get("run:fault")
    model, lower = good_run(), lower_run()
    guessed = answers["guess:prime_time"]
    span = float(max(came, lower.prime_time) + AFTER)
    if guessed != UNSURE:
        span = max(span, min(float(guessed) * 1.1, 3.0 * span))
    lines = [
        _line(
            "main",
            "chart_yours" if own.get("points") else "chart_model",
            own.get("points") or points_of(model),
        )
    ]
    more = format_quantity("length", LOWER, units)
    lines.append(_line("other", "chart_lower", points_of(lower), more=more))
    if fault is not None and _with_fault(fault):
        lines.append(_line("third", "chart_fault", fault["points"]))
    elif fault is not None:
        open_drain = points_of(fault_run("drain_open", OPENING))
        lines.append(_line("third", "chart_fault_model", open_drain))
    for line in lines:
        line["points"] = _until(line["points"], span)
    highest = max(point[1] for line in lines for point in line["points"])
    lift = lift_pressure(load_site(SITE))
    reached, vacuum = arrival(model)
    guess_of_gauge = gauge_options().get(answers["guess:gauge_arrives"], math.nan)
    marks = []
    if guessed != UNSURE:
        pa = None if math.isnan(guess_of_gauge) else guess_of_gauge
        label = text("lessons.draws.chart_guess", seconds=f"{float(guessed):g}")
        if pa is not None:
            label = text(
                "lessons.draws.chart_guess_both",
                seconds=f"{float(guessed):g}",
                gauge=format_quantity("vacuum", pa, units),
            )
        marks.append({"t": float(guessed), "pa": pa, "label": label})
        highest = max(highest, pa or 0.0)
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    return {
        "id": "chart",
        "kind": "chart",
        "unit": {"name": unit.name, "size": unit.size},
        "span_s": span,
        "high_pa": float(max(highest, 1.15 * lift)),
        "levels": [
            {
                "pa": lift,
                "label": text("lessons.draws.chart_lift", reading=format_quantity("vacuum", lift, units)),
            }
        ],
        "lines": lines,
        "marks": marks,
        "axis_x": text("lessons.draws.chart_axis_x"),
        "axis_y": text("lessons.draws.chart_axis_y", unit=unit.name),
        "caption": text("lessons.draws.chart_caption"),
        "spoken": text(
            "lessons.draws.chart_spoken",
            seconds=round(reached),
            gauge=format_quantity("vacuum", vacuum, units),
        ),
    }


def _line(style: str, key: str, points: Points, **fields: str) -> dict[str, Any]:
    return {
        "style": style,
        "label": text(f"lessons.draws.{key}", **fields),
        "points": points,
    }


def run_summary(attempt: Any, *, primed: bool = True) -> dict[str, Any]:
    """What is kept of a learner's runs at one exercise: the curve and the prime of the run that tells most.

    ``points`` [time s, Pa] of the first run that primed, else of the longest; ``prime_s`` [s] or None.

    Parameters
    ----------
    attempt : that is over.
    primed : whether a run that primed is wanted, or one that did not, for it shows what was wrong.
    """
    best: Any = None
    for timeline in attempt.timelines:
        history = timeline.computed_history()
        wanted = bool(np.isfinite(history.prime_time)) is primed
        rank = (wanted, len(history.time))
        if best is None or rank > best[0]:
            best = (rank, timeline, history)
    if best is None:
        return {"points": [], "prime_s": None, "slow": False}
    _, timeline, history = best
    prime = float(history.prime_time)
    last = prime + AFTER if np.isfinite(prime) else min(120.0, float(history.time[-1]))
    count = int(min(last, float(history.time[-1])) * 10.0) + 1
    vacuum = history.atmosphere - np.asarray(history.suction_pressure, dtype=float)
    points = [
        [round(float(t), 1), round(float(v))]
        for t, v in zip(history.time[:count:EVERY], vacuum[:count:EVERY], strict=True)
    ]
    slow = any(
        0.0 < step.speed < 1.0 and (not np.isfinite(prime) or step.time < prime) for step in timeline.controls
    )
    return {"points": points, "prime_s": round(prime, 1) if np.isfinite(prime) else None, "slow": slow}
