"""Lesson 11: shutting down, draining, frost.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np

from simulator.panels.lessons.shutting_down.drills import (
    AREA,
    CHECK,
    DRAINS,
    DRILLS,
    EMPTY,
    ICE,
    MORNING,
    STAYS,
    STOP_AT,
    drained,
    emptied,
    litres,
    stopped,
)
from simulator.panels.page.blocks import Block
from simulator.panels.teaching.cases import faulted, usual_rig, usual_site
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, frame, geometry, points, track
from simulator.panels.teaching.plan import Plan
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import ControlStep, Run, simulate
from simulator.texts import entry, text

EASE_AT, STOPS_AT, STOP_SPAN = 5.0, 20.0, 80.0  # [s] of the run that shows a stop
DRAIN_SPAN, LINE_SPAN, MORNING_SPAN = 90.0, 1200.0, 60.0  # [s]
HALF = 0.5  # [-] of rated speed, to let it cool


def _stop() -> Run:
    """A pump that runs is brought down to half speed, then stopped."""
    rig, site = usual_rig(), usual_site()
    start = stopped(rig, site).state_at(STOP_AT - 5.0)
    controls = (ControlStep(0.0, 1.0), ControlStep(EASE_AT, HALF), ControlStep(STOPS_AT, 0.0))
    return simulate(rig, site, controls=controls, start=start, duration=STOP_SPAN)


def _run(name: str) -> tuple[Run, float]:
    rig, site = usual_rig(), usual_site()
    if name == "stop":
        return _stop(), STOP_SPAN
    if name == "casing":
        return drained(rig, site, 1.0, 0.0), DRAIN_SPAN
    if name == "line":
        return drained(rig, site, 1.0, 1.0, LINE_SPAN), LINE_SPAN
    return faulted("drain_open", 1.0), MORNING_SPAN


def _share(run: Run, channel: str, last: float) -> list[list[float]]:
    """A filling in percent against time [s], to draw."""
    count = min(round(last / 0.1), len(run.time) - 1) + 1
    stride = max(1, count // 200)
    values = 100.0 * np.asarray(getattr(run, channel))
    return [
        [round(float(t), 1), round(float(v), 1)]
        for t, v in zip(run.time[:count:stride], values[:count:stride], strict=True)
    ]


def fillings(run: Run, units: str, last: float, spoken: str) -> Block:
    """How full casing and discharge line are, in percent against time.

    Parameters
    ----------
    run : after a stop, with its drains open.
    last : [s] of the time axis.
    spoken : what those are told who do not see it.
    """
    lines = [
        (text(f"{AREA}.filling.{name}"), _share(run, f"{name}_fill", last)) for name in ("casing", "line")
    ]
    block = chart("figure", lines, units, span=last, spoken=spoken)
    axis = text(f"{AREA}.filling.axis")
    return block | {
        "unit": {"name": "%", "size": 1.0, "decimals": 0},
        "high_pa": 100.0,
        "levels": [],
        "axis_x": text(f"{AREA}.filling.axis_time"),
        "axis_y": axis,
    }


def idea_figure(name: str, units: str) -> Block:
    """The moment or the curve that shows an idea.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    spoken = text(f"{AREA}.figures.{name}")
    if name == "bring_down":
        run, last = _run("stop")
        lines = [(text(f"{AREA}.tracks.stop.label"), points(run, last))]
        return chart(
            "figure", lines, units, span=last, site=run.site, spoken=spoken, caption=text(f"{AREA}.cut_short")
        )
    if name == "two_drains":
        run, last = _run("line")
        return fillings(run, units, last, spoken)
    run, time = (
        (faulted("drain_open", 1.0), 30.0)
        if name == "shut_again"
        else (stopped(usual_rig(), usual_site()), 199.0)
    )
    return {
        "id": "figure",
        "kind": "picture",
        "rig": geometry(run, usual_rig(), usual_site()),
        "pictures": ["pump"],
        "units": units,
        "height": 300,
        "frame": frame(run, time) | {"speed": float(run.value("speed_ratio", time))},
        "caption": spoken,
    }


def what_stays(chance: random.Random, units: str) -> Drill:
    """Prediction: the water in the casing after a stop."""
    rig, site = usual_rig(), usual_site()
    fill = float(stopped(rig, site).casing_fill[-1])
    right = "none" if fill < EMPTY else "lip" if fill < 0.8 else "full"
    said = {"left": litres(fill * rig.casing.volume, units), "all": litres(rig.casing.volume, units)}
    return drill(f"{AREA}.predictions.what_stays", STAYS, "osier stopped", right, said)


def one_drain(chance: random.Random, units: str) -> Drill:
    """Prediction: the casing drain alone."""
    run = drained(usual_rig(), usual_site(), 1.0, 0.0)
    said = {
        "casing": f"{100 * float(run.casing_fill[-1]):.0f}",
        "line": f"{100 * float(run.line_fill[-1]):.0f}",
    }
    return drill(f"{AREA}.predictions.one_drain", DRAINS, "casing drain open", emptied(run), said)


def next_morning(chance: random.Random, units: str) -> Drill:
    """Prediction: a start with the drains still open."""
    run = faulted("drain_open", 1.0)
    right = "never" if not run.primed else "late"
    return drill(f"{AREA}.predictions.next_morning", MORNING, "drain open", right, {})


def tracks(units: str) -> list[dict[str, Any]]:
    """A stop, two drainings, and the next morning."""
    out = []
    rig = usual_rig()
    for name in entry(f"{AREA}.tracks"):
        run, last = _run(name)
        says = remarks(f"{AREA}.tracks.{name}", run, units, {})
        label = text(f"{AREA}.tracks.{name}.label")
        made = track(name, label, run, rig, units, last=last, says=says, site=usual_site())
        if name in ("casing", "line"):
            made["chart"] = fillings(run, units, last, text(f"{AREA}.filling.spoken", name=label))
        out.append(made)
    return out


PLAN = Plan(
    area=AREA,
    minutes=25,
    ideas=("bring_down", "what_stays", "two_drains", "ice", "shut_again"),
    idea_figure=idea_figure,
    predictions=(what_stays, one_drain, next_morning),
    tracks=tracks,
    case=None,
    drills=DRILLS,
    check=CHECK,
    following=("09",),
)


class ShuttingDown(TaughtLesson):
    """Shutting down, draining, frost."""

    number = "11"
    plan = PLAN

    def fields(self, key: str) -> dict[str, str]:
        """How much more room ice takes.

        Parameters
        ----------
        key : of the sentence that has the fields.
        """
        return {"ice": f"{100 * (ICE - 1.0):.0f}"} if key == "cautions" else {}
