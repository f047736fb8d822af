"""Lesson 03: reading the gauge.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.panels.lessons.reading_the_gauge.drills import APART, AREA, BESIDE, CHECK, DRILLS, LIFT, SHAPE
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    vacuum_at,
)
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, on_one_scale, points, track
from simulator.panels.teaching.gauge_shapes import SHAPES, drawn_shape, end_of_interest, side
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.pull_downs import common, curve
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import Run
from simulator.texts import text

#: What may be wrong in the call done alone: each shape of the curve two or three ways.
ALONE = (
    *("screen_plugged", "belt_loose"),
    *("flange_leaks", "joint_ring", "drain_open"),
    *("strainer_plugged", "liner_collapsed"),
)
LAST = 100.0  # [s] of the runs that are played
#: The runs of the lesson: fault and size in SI units.
RUNS = {
    "healthy": ("sound", 0.0),
    "slow": ("screen_plugged", 0.94),
    "flat_low": ("flange_leaks", 0.008),
    "fast_dry": ("strainer_plugged", 0.998),
}


def _run(name: str) -> Run:
    return faulted(*RUNS[name])


def idea_figure(name: str, units: str) -> Block:
    """The curve that shows an idea, beside the sound rig's.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    sound = run_of(usual_rig(), usual_site())
    label = text("teaching.sound_rig")
    if name == "healthy":
        lines = [(label, points(sound, 60.0))]
        return chart(
            "figure",
            lines,
            units,
            span=60.0,
            site=sound.site,
            spoken=text(f"{AREA}.figures.healthy"),
        )
    if name == "plateau":
        lines = [
            (text(f"{AREA}.shapes.{each}"), points(_run(each), LAST)) for each in ("fast_dry", "flat_low")
        ]
        return chart(
            "figure",
            lines,
            units,
            span=LAST,
            site=sound.site,
            spoken=text(f"{AREA}.figures.plateau"),
        )
    lines = [(text(f"{AREA}.shapes.{name}"), points(_run(name), LAST)), (label, points(sound, 50.0))]
    return chart("figure", lines, units, span=LAST, site=sound.site, spoken=text(f"{AREA}.figures.{name}"))


def held_back(chance: random.Random, units: str) -> Drill:
    """Prediction: how the needle climbs when the strainer is plugged."""
    run, sound = _run("fast_dry"), run_of(usual_rig(), usual_site())
    past = float(run.vacuum.max()) > 1.25 * lift_pressure(run.site)
    here, good = vacuum_at(run, 20.0), vacuum_at(sound, 20.0)
    right = ("faster" if here > good + APART else "same" if here > good - APART else "low") if past else "low"
    said = common(run, units) | {
        "here": format_quantity("vacuum", here, units),
        "good": format_quantity("vacuum", good, units),
    }
    return drill(f"{AREA}.predictions.held_back", SHAPE, "strainer_plugged 0.998", right, said)


def leaking(chance: random.Random, units: str) -> Drill:
    """Prediction: where the needle comes to rest when air gets in."""
    run = _run("flat_low")
    right = side(resting_vacuum(run), lift_pressure(run.site))
    return drill(f"{AREA}.predictions.leaking", LIFT, "flange_leaks 0.008", right, common(run, units))


def choked(chance: random.Random, units: str) -> Drill:
    """Prediction: what a half-plugged screen does to the climb."""
    run, sound = _run("slow"), run_of(usual_rig(), usual_site())
    right = (
        "late"
        if run.primed and run.prime_time > 1.3 * sound.prime_time
        else "never"
        if not run.primed
        else "same"
    )
    said = common(run, units) | {"usual": text("teaching.seconds", n=round(sound.prime_time))}
    return drill(f"{AREA}.predictions.choked", BESIDE, "screen_plugged 0.94", right, said)


def tracks(units: str) -> list[dict[str, Any]]:
    """The four shapes to play."""
    rig = usual_rig()
    sound = run_of(rig, usual_site())
    out = []
    for name in RUNS:
        run = _run(name)
        says = remarks(f"{AREA}.tracks.{name}", run, units, common(run, units))
        last = 70.0 if name == "healthy" else LAST
        out.append(
            track(
                name,
                text(f"{AREA}.tracks.{name}.label"),
                run,
                rig,
                units,
                last=last,
                says=says,
                site=sound.site,
            )
        )
    return on_one_scale(out)


def reading(chance: random.Random, units: str) -> Case:
    """A rig's curve, read step by step."""
    wanted = chance.choice(SHAPES[1:])
    run, sound, name = drawn_shape(chance, wanted)
    last = end_of_interest(run, sound)
    said = common(run, units)
    moment = 20.0
    here, good = vacuum_at(run, moment), vacuum_at(sound, moment)
    said |= {
        "here": format_quantity("vacuum", here, units),
        "good": format_quantity("vacuum", good, units),
        "now": text("teaching.seconds", n=round(moment)),
        "usual": text("teaching.seconds", n=round(sound.prime_time)),
    }
    if not run.primed:  # as the curve beside it shows it, up to its end
        said["rest"] = format_quantity("vacuum", vacuum_at(run, last), units)
    lift = lift_pressure(run.site)
    wrong = {"by_hose": run.rig.suction_hose.length * lift / run.site.lift, "half": 0.5 * lift}
    labels = {
        key: format_quantity("vacuum", value, units) for key, value in {"by_height": lift, **wrong}.items()
    }

    def step(key: str, skill: str, right: str, **more: Any) -> Drill:
        return drill(f"{AREA}.case.{key}", skill, name, right, said, **more)

    beside = "ahead" if here > good + APART else "behind" if here < good - APART else "as_sound"
    end = "comes" if wanted == "slow" else "stands_" + side(resting_vacuum(run), lift)
    means = {"slow": "slow", "flat_low": "air", "fast_dry": "blocked"}[wanted]
    said |= {
        "beside": text(f"{AREA}.case_beside.{beside}", **said),
        "end": text(f"{AREA}.case_end.{wanted}", **said),
    }
    return Case(
        case=name,
        brief=tuple(text(f"{AREA}.case_brief.{each}", **said) for each in ("call", "curve")),
        figures=(curve(run, sound, units, last, reading=False),),
        steps=(
            step("static", LIFT, "by_height", labels=labels),
            step("beside", BESIDE, beside),
            step("end", SHAPE, end),
            step("means", LIFT, means),
        ),
        close=(text(f"{AREA}.case_close.{wanted}"),),
    )


PLAN = Plan(
    area=AREA,
    minutes=40,
    ideas=("healthy", "slow", "flat_low", "fast_dry", "plateau"),
    idea_figure=idea_figure,
    predictions=(held_back, leaking, choked),
    tracks=tracks,
    case=reading,
    solo_call=SoloCalls(ALONE),
    drills=DRILLS,
    check=CHECK,
    following=("04",),
)


class ReadingTheGauge(TaughtLesson):
    """Reading the gauge."""

    number = "03"
    plan = PLAN
