"""Lesson 06: water cannot come.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.panels.lessons.water_cannot_come.drills import (
    AHEAD,
    AREA,
    CARD_LIFTS,
    CAUSE,
    CAUSES,
    CHECK,
    DRILLS,
    HEIGHT,
    LONG,
    LOOK,
    LOOKS,
    SHOWN,
    bends,
    cause_of,
    curve,
    drawn,
    fields,
    so_far,
)
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
    with_hose,
)
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, on_one_scale, points, track
from simulator.panels.teaching.gauge_shapes import side
from simulator.panels.teaching.looking import cheapest_that_tells
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import Run, Setup
from simulator.texts import text

TOO_HIGH, HUMPED_AT = 9.6, 8.5  # [m] lifts
HUMP = 0.8  # [m] that the hose goes down again behind its high spot


def _rig() -> Any:
    return with_hose(usual_rig(), LONG)


def _run(name: str) -> Run:
    rig = _rig()
    if name == "strainer":
        return faulted("strainer_plugged", 0.998, "", rig)
    if name == "liner":
        return faulted("liner_collapsed", 7e3, "", rig)
    if name == "too_high":
        return run_of(rig, usual_site(TOO_HIGH))
    if name == "high_spot":
        return faulted("hose_humped", HUMP, "", rig, usual_site(HUMPED_AT))
    return run_of(rig, usual_site())


def _promised(name: str) -> Run:
    """The run that the card promises beside one of the runs here."""
    return run_of(_rig(), usual_site(CARD_LIFTS[-1])) if name == "too_high" else _run("sound")


def idea_figure(name: str, units: str) -> Block:
    """The curve that shows an idea.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    sound = _promised(name)
    label = text("teaching.sound_rig")
    spoken = text(f"{AREA}.figures.{name}")
    if name == "high_spot":
        high = run_of(_rig(), usual_site(HUMPED_AT))
        lines = [
            (text(f"{AREA}.tracks.high_spot.label"), points(_run(name), 150.0)),
            (label, points(high, 109.0)),
        ]
        return chart("figure", lines, units, span=150.0, site=high.site, spoken=spoken)
    if name == "cheapest":
        lines = [
            (text(f"{AREA}.tracks.{each}.label"), points(_run(each), 60.0))
            for each in ("strainer", "liner", "too_high")
        ]
        return chart("figure", lines, units, span=60.0, spoken=spoken)  # two lifts: no line of one
    lines = [
        (text(f"{AREA}.tracks.{name}.label"), points(_run(name), 70.0)),
        (label, points(sound, sound.prime_time - 1.0)),
    ]
    if name == "strainer":
        capped = run_of(_rig(), usual_site(), setup=Setup.CAPPED)
        lines.append((text(f"{AREA}.closed_hose"), points(capped, 70.0)))
    return chart("figure", lines, units, span=70.0, site=sound.site, spoken=spoken)


def like_a_cap(chance: random.Random, units: str) -> Drill:
    """Prediction: a plugged strainer beside a sound rig and a closed hose."""
    run, sound = _run("strainer"), _run("sound")
    capped = run_of(_rig(), usual_site(), setup=Setup.CAPPED)
    here, good, shut = (vacuum_at(each, 15.0) for each in (run, sound, capped))
    right = (
        "like_shut"
        if here > good + AHEAD and here > shut - AHEAD
        else "like_sound"
        if here > good - AHEAD
        else "behind"
    )
    said = fields(run, sound, units)
    for name, value in (("here", here), ("good", good), ("shut", shut)):
        said[name] = format_quantity("vacuum", value, units)
    return drill(f"{AREA}.predictions.like_a_cap", CAUSE, "strainer 0.998", right, said)


def liner_first(chance: random.Random, units: str) -> Drill:
    """Prediction: the first ten seconds with a loose liner."""
    run, sound = _run("liner"), _run("sound")
    here, good = vacuum_at(run, 10.0), vacuum_at(sound, 10.0)
    right = "as_sound" if abs(here - good) < AHEAD else "ahead" if here > good else "behind"
    return drill(f"{AREA}.predictions.liner_first", CAUSE, "liner 7 kPa", right, fields(run, sound, units))


def too_high(chance: random.Random, units: str) -> Drill:
    """Prediction: where the needle ends when the lift is more than the air can do."""
    run, sound = _run("too_high"), _promised("too_high")
    rest, lift = resting_vacuum(run), lift_pressure(run.site)
    right = "low" if rest < 0.6 * lift else "past" if run.primed or rest > 1.05 * lift else "deep"
    return drill(
        f"{AREA}.predictions.too_high", HEIGHT, f"lift {TOO_HIGH:g}", right, fields(run, sound, units)
    )


def tracks(units: str) -> list[dict[str, Any]]:
    """Four rigs to which no water comes."""
    out = []
    for name in ("strainer", "liner", "too_high", "high_spot"):
        run = _run(name)
        said = fields(run, _promised(name), units) | {"dip": format_quantity("length", HUMP, units)}
        says = remarks(f"{AREA}.tracks.{name}", run, units, said)
        last = 150.0 if name == "high_spot" else SHOWN
        label = text(f"{AREA}.tracks.{name}.label")
        out.append(track(name, label, run, _rig(), units, last=last, says=says, site=run.site))
    return on_one_scale(out)


def held_back(chance: random.Random, units: str) -> Case:
    """A dry rig with a deep needle: what keeps the water away, and the cheapest look that shows it."""
    run, sound, name = drawn(chance, chance.choice(CAUSES))
    said = fields(run, sound, units)
    cause = cause_of(run, sound)
    said |= {
        "end": text(f"{AREA}.cause_because.{cause}", **said),
        "sign": text(f"{AREA}.signs.{cause}", **said),
        "so_far": so_far(cause),
    }

    def step(key: str, skill: str, right: str) -> Drill:
        return drill(f"{AREA}.case.{key}", skill, name, right, said)

    here, good = vacuum_at(run, 10.0), vacuum_at(sound, 10.0)
    beside = "ahead" if here > good + AHEAD else "behind" if here < good - AHEAD else "as_sound"
    look = cheapest_that_tells(LOOKS, run, sound)
    return Case(
        case=name,
        brief=tuple(text(f"{AREA}.case_brief.{each}", **said) for each in ("call", "curve")),
        figures=(curve(run, sound, units),),
        steps=(
            step("plateau", CAUSE, side(resting_vacuum(run), lift_pressure(sound.site))),
            step("beside", CAUSE, beside),
            step("goes_on", CAUSE, bends(run)),
            step("means", CAUSE, cause),
            step("look", LOOK, look),
        ),
        close=(text(f"{AREA}.case_close.{cause}"),),
    )


PLAN = Plan(
    area=AREA,
    minutes=40,
    ideas=("strainer", "liner", "too_high", "high_spot", "cheapest"),
    idea_figure=idea_figure,
    predictions=(like_a_cap, liner_first, too_high),
    tracks=tracks,
    case=held_back,
    # one that stands too high primes late and gives little: the practice yard has it
    solo_call=SoloCalls(("strainer_plugged", "liner_collapsed", "hose_humped")),
    drills=DRILLS,
    check=CHECK,
    following=("07",),
)


class WaterCannotCome(TaughtLesson):
    """Water cannot come."""

    number = "06"
    plan = PLAN
