"""Lesson 08: primes, then loses it.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.panels.lessons.primes_then_loses_it.drills import (
    AREA,
    BEFORE,
    CAUSE,
    CAUSES,
    CHECK,
    DRILLS,
    LOOK,
    MEND,
    NEEDLE,
    curve,
    drawn,
    fields,
    first_look,
    losing,
    mending,
    moved,
    sound_at,
)
from simulator.panels.page.blocks import Block
from simulator.panels.teaching.cases import faulted, usual_rig, usual_site, vacuum_at
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, metered, on_one_scale, points, track
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import Run
from simulator.texts import text

LAST = 110.0  # [s] of the runs that are played
#: Runs of the lesson: fault and size in SI units.
RUNS = {
    "air_joint": ("flange_works_loose", 0.008),
    "weed": ("strainer_clogs", 0.985),
    "level": ("level_falls", 1.4),
    "burst": ("line_bursts", 0.9),
}


def _run(name: str) -> Run:
    return faulted(*RUNS[name])


def _sound() -> Run:
    return sound_at(usual_site().lift)


def idea_figure(name: str, units: str) -> Block:
    """The suction needle that shows an idea, beside the sound rig's.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    spoken = text(f"{AREA}.figures.{name}")
    if name == "lost":
        lines = [
            (text(f"{AREA}.tracks.{each}.label"), points(_run(each), LAST)) for each in ("weed", "air_joint")
        ]
    else:
        lines = [
            (text(f"{AREA}.tracks.{name}.label"), points(_run(name), LAST)),
            (text("teaching.sound_rig"), points(_sound(), LAST)),
        ]
    return chart("figure", lines, units, span=LAST, site=_sound().site, spoken=spoken)


def _way(name: str) -> str:
    run = _run(name)
    return moved(vacuum_at(run, BEFORE), vacuum_at(run, losing(run)))


def weed_needle(chance: random.Random, units: str) -> Drill:
    """Prediction: the suction needle as weed gathers."""
    said = fields(_run("weed"), _sound(), units)
    return drill(f"{AREA}.predictions.weed_needle", NEEDLE, "strainer_clogs 0.985", _way("weed"), said)


def joint_needle(chance: random.Random, units: str) -> Drill:
    """Prediction: the suction needle as a flange works loose."""
    said = fields(_run("air_joint"), _sound(), units)
    return drill(
        f"{AREA}.predictions.joint_needle", NEEDLE, "flange_works_loose 8 mm", _way("air_joint"), said
    )


def burst_needle(chance: random.Random, units: str) -> Drill:
    """Prediction: the flow through the pump when the line bursts."""
    run = _run("burst")
    flow, good = run.value("discharge_flow", 90.0), _sound().value("discharge_flow", 90.0)
    right = "more" if flow > 1.05 * good else "less" if flow < 0.95 * good else "same"
    return drill(
        f"{AREA}.predictions.burst_needle", CAUSE, "line_bursts 0.9", right, fields(run, _sound(), units)
    )


def tracks(units: str) -> list[dict[str, Any]]:
    """Four pumps that lose it."""
    out = []
    for name in RUNS:
        run = _run(name)
        said = fields(run, _sound(), units)
        says = remarks(f"{AREA}.tracks.{name}", run, units, said)
        label = text(f"{AREA}.tracks.{name}.label")
        out.append(track(name, label, run, usual_rig(), units, last=LAST, says=says, site=_sound().site))
    return on_one_scale(out)


def losing_it(chance: random.Random, units: str) -> Case:
    """A pump that primed and now fails: needles, cause, look, work."""
    run, sound, cause, name = drawn(chance)
    at = losing(run)
    said = fields(run, sound, units)
    said |= {
        "cause": text(f"{AREA}.cause_names.{cause}"),
        "end": text(f"{AREA}.because.{cause}", **said),
        "look_end": text(f"{AREA}.look_because.{cause}"),
        "shown": text(f"{AREA}.look_shows.{cause}"),
    }

    def step(key: str, skill: str, right: str) -> Drill:
        return drill(f"{AREA}.case.{key}", skill, name, right, said)

    way = moved(vacuum_at(run, BEFORE), vacuum_at(run, at))
    flows = run.value("discharge_flow", at) > 0.95 * run.value("discharge_flow", BEFORE)
    means = "burst" if flows else "held" if way == "up" else "air"
    said["means_end"] = text(f"{AREA}.means_because.{means}", **said)
    return Case(
        case=name,
        brief=tuple(text(f"{AREA}.case_brief.{each}", **said) for each in ("call", "now")),
        figures=(curve(run, sound, units), metered(run, sound, units, at + 15.0)),
        steps=(
            step("suction", NEEDLE, way),
            step("means", NEEDLE, means),
            step("look", LOOK, first_look(run)),
            step("cause", CAUSE, cause),
            step("mend", MEND, mending(run, sound)),
        ),
        close=(text(f"{AREA}.case_close.{cause}"),),
    )


PLAN = Plan(
    area=AREA,
    minutes=40,
    ideas=("lost", *CAUSES.values()),
    idea_figure=idea_figure,
    predictions=(weed_needle, joint_needle, burst_needle),
    tracks=tracks,
    case=losing_it,
    solo_call=SoloCalls(
        ("flange_works_loose", "strainer_clogs", "level_falls", "line_bursts"), before_the_plate=False
    ),
    drills=DRILLS,
    check=CHECK,
    following=("09", "11"),
)


class LosesIt(TaughtLesson):
    """Primes, then loses it."""

    number = "08"
    plan = PLAN
