"""Lesson 04: air gets in.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.diagnosis.words import joint_field
from simulator.panels.lessons.air_gets_in.drills import (
    AREA,
    CHECK,
    DRAIN,
    DRILLS,
    LESS,
    LOOK,
    LOOKS,
    PLACE,
    PUMPING_TIME,
    SIZE,
    SOURCE,
    TRIES,
    WIDE,
    best_look,
    eighth,
    flows,
    late_or_never,
    looks_left,
    millimetres,
    near_words,
    sum_behind,
    tells,
    walked,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity, reads_alike
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    motive_at,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    vacuum_at,
)
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, frame, geometry, on_one_scale, points, track
from simulator.panels.teaching.gauge_shapes import side
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.pull_downs import common, curve
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import Run
from simulator.texts import text

LAST = 100.0  # [s] of a run that is played
NARROW = 0.93  # [-] of the exhaust hose closed: it keeps the needle low and presses no air back
LOOK_AT = ["drain", "flange", "suction", "nrv"]  # lettered in the picture, in the order of its caption
READ = (20, 120, 170)  # [s] of a start at which the needle is read in a case
#: The runs of the lesson: fault, size in SI units, place, and how long they are played [s].
RUNS = {
    "drain": ("drain_open", 0.4, "", 60.0),
    "hole": ("joint_ring", 0.0075, "joint:1", LAST),
    "small": ("flange_leaks", 0.004, "", LAST),
    "pumping": ("joint_ring", 0.0054, "joint:2", 150.0),
}
CRACK = ("drain_open", 0.05, "")  # it primes late, and then sprays
SPRAYS_AFTER = 20.0  # [s] from the prime: the pump has taken hold
#: Sizes of the cases, in SI units: all of them keep the usual rig from priming.
SIZES = {
    "drain_open": (0.10, 0.13, 0.2, 0.35, 0.6, 1.0),
    "joint_ring": (0.0068, 0.0072, 0.0078, 0.0085, 0.0095),
    "flange_leaks": (0.0068, 0.0071, 0.0074, 0.0077, 0.008),
}


def _run(name: str) -> Run:
    return faulted(*RUNS[name][:3])


def _picture(run: Run, time: float, units: str, which: list[str], caption: str) -> Block:
    return {
        "id": "figure",
        "kind": "picture",
        "rig": geometry(run, usual_rig(), usual_site()),
        "pictures": which,
        "units": units,
        "height": 300,
        "frame": frame(run, time),
        "caption": caption,
    }


def idea_figure(name: str, units: str) -> Block:
    """What stands beside an idea: curves of three holes, or the rig with air coming in.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    sound = run_of(usual_rig(), usual_site())
    if name in ("tug", "size"):
        holes = (0.004, 0.0055, 0.0075) if name == "size" else (0.0065, 0.0075)
        runs = [
            (text(f"{AREA}.hole_label", hole=millimetres(hole)), faulted("flange_leaks", hole))
            for hole in holes
        ]
        lines = [(label, points(run, 150.0)) for label, run in runs]
        spoken = text(f"{AREA}.figures.{name}")
        return chart("figure", lines, units, span=150.0, site=sound.site, spoken=spoken)
    shots = {"place": ("hole", 40.0, "site"), "side": ("crack", 0.0, "pump"), "look": ("hole", 60.0, "pump")}
    run_name, time, which = shots[name]
    run = faulted(*CRACK) if run_name == "crack" else _run(run_name)
    time = time or run.prime_time + SPRAYS_AFTER
    picture = _picture(run, time, units, [which], text(f"{AREA}.figures.{name}"))
    return picture | {"letters": LOOK_AT} if name == "look" else picture


def half_open_drain(chance: random.Random, units: str) -> Drill:
    """Prediction: where the needle rests with the drain valve part open."""
    run = _run("drain")
    rest, lift = resting_vacuum(run), lift_pressure(run.site)
    right = "near_zero" if rest < WIDE * lift else "part_way" if side(rest, lift) == "below" else "at_lift"
    return drill(f"{AREA}.predictions.half_open_drain", SIZE, "drain_open 0.4", right, common(run, units))


def small_hole(chance: random.Random, units: str) -> Drill:
    """Prediction: what a hole of 4 mm does."""
    run, sound = _run("small"), run_of(usual_rig(), usual_site())
    right = late_or_never(run, sound)
    said = common(run, units) | {"usual": text("teaching.seconds", n=round(sound.prime_time))}
    return drill(f"{AREA}.predictions.small_hole", SIZE, "flange_leaks 0.004", right, said)


def after_the_bite(chance: random.Random, units: str) -> Drill:
    """Prediction: what a leaking joint does once the pump has taken hold."""
    run = _run("pumping")
    sound = run_of(usual_rig(), usual_site())
    share = run.value("discharge_flow", PUMPING_TIME) / sound.value("discharge_flow", PUMPING_TIME)
    air = run.value("joint_air", PUMPING_TIME) > 1e-5
    right = "draws_on" if air and share < LESS else "heals" if not air else "full"
    said = common(run, units) | flows(run, sound, units)
    return drill(f"{AREA}.predictions.after_the_bite", PLACE, "joint_ring 0.0054", right, said)


def tracks(units: str) -> list[dict[str, Any]]:
    """Four leaks to play."""
    out = []
    for name, (_, _, _, last) in RUNS.items():
        run = _run(name)
        said = common(run, units) | flows(run, run_of(usual_rig(), usual_site()), units)
        says = remarks(f"{AREA}.tracks.{name}", run, units, said)
        label = text(f"{AREA}.tracks.{name}.label")
        out.append(track(name, label, run, usual_rig(), units, last=last, says=says, site=usual_site()))
    return on_one_scale(out)


def leak_hunt(chance: random.Random, units: str) -> Case:
    """A rig that draws air, from the needle to the first look and the proof."""
    rig, site = usual_rig(), usual_site()
    sound = run_of(rig, site)
    for _ in range(TRIES):  # until the needle is seen to stand
        fault = chance.choice(sorted(SIZES))
        size, place = (
            chance.choice(SIZES[fault]),
            f"joint:{chance.choice((1, 2))}" if fault == "joint_ring" else "",
        )
        run = faulted(fault, size, place)
        alike = reads_alike("vacuum", vacuum_at(run, float(READ[1])), vacuum_at(run, float(READ[2])))
        rest = resting_vacuum(run)
        if alike and tells(rest, site) and (fault != DRAIN or best_look(rest)[0] == DRAIN):
            break
    name = f"{fault} {size:.4g} {place}".strip()
    rest, lift = resting_vacuum(run), lift_pressure(site)
    said = (
        common(run, units)
        | near_words(rest)
        | eighth(site, units)
        | {
            "narrow": f"{100.0 * NARROW:.0f} %",
            "narrow_rest": format_quantity(
                "vacuum", resting_vacuum(faulted("exhaust_blocked", NARROW)), units
            ),
            "motive": format_quantity("pressure", motive_at(run, 60.0), units),
            "good_motive": format_quantity("pressure", motive_at(sound, 60.0), units),
            "usual": text("teaching.seconds", n=round(sound.prime_time)),
        }
    )
    for n, time in enumerate(READ, start=1):
        said |= {
            f"t{n}": text("teaching.seconds", n=time),
            f"v{n}": format_quantity("vacuum", vacuum_at(run, float(time)), units),
        }
    first, cost = best_look(rest)
    said |= {
        "first": text(f"{AREA}.look.{LOOKS[first]}"),
        "first_inside": text(f"{AREA}.look_inside.{LOOKS[first]}"),
    }
    # A part of it left: deeper, perhaps, but no proof.
    half = faulted(fault, (0.5 if fault == "drain_open" else 0.8) * size, place)
    said |= {
        "half": format_quantity("vacuum", resting_vacuum(half), units)
        if not half.primed
        else text("teaching.seconds", n=round(half.prime_time)),
        "smaller": text(f"{AREA}.half.{'drain' if fault == 'drain_open' else 'hole'}"),
    }
    said["near"] = text(f"{AREA}.near", **said)
    said["walked"] = walked(first)
    at_lift = side(resting_vacuum(half), lift) == "at"
    said["half_end"] = text(
        f"{AREA}.half.{'late' if half.primed else 'at_lift' if at_lift else 'stands'}", **said
    )

    def step(key: str, skill: str, right: str, **more: Any) -> Drill:
        return drill(f"{AREA}.case.{key}", skill, name, right, said, **more)

    looks = {each: text(f"{AREA}.look.{LOOKS[each]}") for each in cost}
    where = {"below": "air_side", "at": "wait", "above": "water_side"}[side(rest, lift)]
    source = "jet" if motive_at(run, 60.0) < 0.8 * motive_at(sound, 60.0) else "leak"
    proved = sound.primed and not (half.primed and half.prime_time < 1.3 * sound.prime_time)
    return Case(
        case=name,
        brief=tuple(text(f"{AREA}.case_brief.{each}", **said) for each in ("call", "read")),
        figures=(curve(run, None, units, float(READ[2])),),
        steps=(
            step("which_side", SOURCE, where),
            step("jet_or_leak", SOURCE, source),
            step("how_wide", SIZE, "wide" if rest < WIDE * lift else "hole"),
            step("first_look", LOOK, first, labels=looks, only=looks_left(first), after=(sum_behind(said),)),
            step("proof", LOOK, "restart" if proved else "deeper"),
        ),
        close=(text(f"{AREA}.truth.{fault}", **joint_field(place)), text(f"{AREA}.truth_foot")),
    )


PLAN = Plan(
    area=AREA,
    minutes=45,
    ideas=("tug", "size", "place", "side", "look"),
    idea_figure=idea_figure,
    predictions=(half_open_drain, small_hole, after_the_bite),
    tracks=tracks,
    case=leak_hunt,
    solo_call=SoloCalls(("drain_open", "nrv_fouled", "joint_ring", "hose_hole", "flange_leaks", "seal_worn")),
    drills=DRILLS,
    check=CHECK,
    following=("05",),
)


class AirGetsIn(TaughtLesson):
    """Air gets in."""

    number = "04"
    plan = PLAN
