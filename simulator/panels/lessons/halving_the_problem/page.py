"""Lesson 07: halving the problem.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.instruments.vacuum_tests import HOLD_STEPS
from simulator.panels.lessons.halving_the_problem.drills import (
    CAP,
    CHECK,
    DRILLS,
    HALF,
    HOLD,
    KINDS,
    SAFE,
    case_name,
    drawn,
    part_of,
    pull,
    shows,
    skill,
    splitting_test,
    test_fields,
)
from simulator.panels.lessons.halving_the_problem.vacuum_tests import (
    AREA,
    LASTS,
    PLATE,
    RIG,
    Fault,
    came_of,
    cock_of,
    faulty,
    marked,
    sound,
    tested,
    with_plate,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import deepest_vacuum
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, frame, geometry, points, track
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.run import Run
from simulator.texts import text

TRIES, TROUBLES = 30, 1.3  # draws of a case; [-] times the good rig's time: somebody calls
LEAK, WEAK = ("flange_leaks", 0.006, ""), ("belt_loose", 0.7, "")
SCREEN, TORN = ("screen_plugged", 0.96, ""), ("joint_ring", 0.007, "joint:1")
#: Runs of the lesson: fault and test.
RUNS: dict[str, tuple[Fault | None, str]] = {
    "good_plate": (None, "plate"),
    "leaky_plate": (LEAK, "plate"),
    "hold": (LEAK, "hold"),
    "cap": (TORN, "cap"),
}


#: Told by the plate alone, or by a needle above the lift: no two tests are needed.
TOLD = ("screen", "water_way")


def _curves(spoken: str, units: str, lines: list[tuple[str, Run]], kind: str) -> Block:
    span = LASTS[kind]
    named = [(text(f"{AREA}.lines.{name}"), points(run, span)) for name, run in lines]
    caption = text(f"{AREA}.came.stops", seconds=round(HOLD_STEPS[-1].time)) if kind == "hold" else ""
    block = chart("figure", named, units, span=span, spoken=text(f"{AREA}.figures.{spoken}"), caption=caption)
    return marked(block, units)


def idea_figure(name: str, units: str) -> Block:
    """The curves that show an idea.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    if name == "halves":
        run = tested(TORN, "plate")
        return {
            "id": "figure",
            "kind": "picture",
            "rig": with_plate(geometry(run, sound().rig), "plate"),
            "pictures": ["pump"],
            "units": units,
            "height": 320,
            "frame": frame(run, 60.0),
            "caption": text(f"{AREA}.figures.halves"),
        }
    if name == "four_answers":
        lines = [
            ("good", tested(None, "plate")),
            ("screen", tested(SCREEN, "plate")),
            ("leak", tested(LEAK, "plate")),
        ]
        return _curves(name, units, lines, "plate")
    if name == "hold":
        lines = [("weak", tested(WEAK, "hold")), ("leak", tested(LEAK, "hold"))]
        return _curves(name, units, lines, "hold")
    if name == "cap":
        lines = [("good_cap", tested(None, "cap")), ("torn", tested(TORN, "cap"))]
        return _curves(name, units, lines, "cap")
    return _curves(name, units, [("good", tested(None, "hold"))], "hold")


def torn_behind_plate(chance: random.Random, units: str) -> Drill:
    """Prediction: a torn joint ring, and a plate on the flange."""
    right = shows("blank_off", *TORN)
    said = test_fields(faulty(*TORN), units)
    return drill(f"{AREA}.predictions.torn_behind_plate", skill(TORN, HALF), case_name(*TORN), right, said)


def weak_but_tight(chance: random.Random, units: str) -> Drill:
    """Prediction: a slipping belt, and a hold test."""
    right = shows("hold_test", *WEAK)
    said = test_fields(faulty(*WEAK), units)
    return drill(f"{AREA}.predictions.weak_but_tight", skill(WEAK, HOLD), case_name(*WEAK), right, said)


def plate_pull(chance: random.Random, units: str) -> Drill:
    """Prediction: the pull on the plate."""
    bore = sound().rig.suction_hose.bore
    said = {
        "vacuum": format_quantity("vacuum", PLATE, units),
        "bore": format_quantity("bore", bore, units).replace(".0", ""),
        "pull": pull(PLATE, bore, units),
    }
    labels = {
        "right": said["pull"],
        "small": pull(PLATE / 12.0, bore, units),
        "tools": text(f"{AREA}.no_pull"),
    }
    return drill(f"{AREA}.predictions.plate_pull", SAFE, "plate 200 mm", "right", said, labels=labels)


def tracks(units: str) -> list[dict[str, Any]]:
    """Four tests to watch at the gauge."""
    out = []
    for name, (fault, kind) in RUNS.items():
        run, last = tested(fault, kind), LASTS[kind]
        said = test_fields(sound() if fault is None else faulty(*fault), units)
        says = remarks(f"{AREA}.tracks.{name}", run, units, said)
        made = track(name, text(f"{AREA}.tracks.{name}.label"), run, sound().rig, units, last=last, says=says)
        made["chart"] = marked(made["chart"], units)
        made["rig"] = with_plate(made["rig"], kind)
        made["series"]["cock"] = cock_of(kind, made["step_s"], len(made["series"]["speed"]))
        out.append(made)
    return out


def halving(chance: random.Random, units: str) -> Case:
    """A dry rig, a plate, and one test more."""
    for _ in range(TRIES):  # nobody calls the yard for a rig that primes in good time
        fault = drawn(chance, tuple(kind for kind in KINDS if kind not in TOLD))
        run, name = faulty(*fault), case_name(*fault)
        if not run.primed or run.prime_time > TROUBLES * sound().prime_time:
            break
    said = test_fields(run, units)
    blank, part = shows("blank_off", *fault), part_of(*fault)
    test = splitting_test(blank)
    half = "water_side" if blank == "deep_quick" else "pump_end"
    reading = "hold" if test == "hold_test" else "cap"
    trouble = "late" if run.primed else "dry"
    times = {
        "time": text("teaching.seconds", n=round(run.prime_time) if run.primed else 0),
        "good": text("teaching.seconds", n=round(sound().prime_time)),
    }
    said |= {
        "trouble": text(f"{AREA}.trouble.{trouble}", **said, **times),
        "half_end": text(f"{AREA}.half_because.{half}"),
        "test_end": text(f"{AREA}.test_because.{test}"),
        "read": text(f"{AREA}.{reading}_read", **said),
        "end": text(f"{AREA}.{reading}_because.{part}", **said),
        "cover": text(f"{AREA}.cover.{reading}"),
        "hold_says": text(f"{AREA}.hold_says.{reading}"),
    }

    def step(key: str, trained: str, right: str) -> Drill:
        return drill(f"{AREA}.case.{key}", trained, name, right, said)

    return Case(
        case=name,
        brief=tuple(text(f"{AREA}.case_brief.{each}", **said) for each in ("call", "plate")),
        figures=came_of(fault, "plate", units),
        steps=(
            step("judge", skill(fault, HALF), blank),
            step("half", skill(fault, HALF), half),
            step("test", skill(fault, HALF), test),
            step("means", skill(fault, HOLD if reading == "hold" else CAP), part),
            step("last", SAFE, "vent"),
        ),
        close=(text(f"{AREA}.case_close.{part}"),),
    )


#: Faults of the call done alone: neither the look round nor a gauge says in which half they are, the plate does.
HIDDEN = ("nrv_fouled", "flange_leaks", "seal_worn", "screen_plugged", "joint_ring", "hose_hole")
BY_EAR_AND_FOAM = ("listen_line", "foam_joint", "foam_length", "foam_pump")  # cannot be done at that call

PLAN = Plan(
    area=AREA,
    minutes=45,
    ideas=("halves", "four_answers", "hold", "cap", "plate"),
    idea_figure=idea_figure,
    predictions=(torn_behind_plate, weak_but_tight, plate_pull),
    tracks=tracks,
    case=halving,
    solo_call=SoloCalls(
        HIDDEN,
        rig=RIG,
        before_the_plate=False,
        without=BY_EAR_AND_FOAM,
        told=f"{AREA}.call_told",
    ),
    drills=DRILLS,
    check=CHECK,
    following=("08",),
    pictures=("pump",),  # no water moves, and with the plate on the hose is off
)


class HalvingTheProblem(TaughtLesson):
    """Halving the problem."""

    number = "07"
    plan = PLAN

    def fields(self, key: str) -> dict[str, str]:
        """The pull of a deep vacuum on the plate of this lesson's rig.

        Parameters
        ----------
        key : of the sentence that has the fields.
        """
        if key != "cautions":
            return {}
        good = sound()
        return {"pull": pull(deepest_vacuum(good.rig, good.site), good.rig.suction_hose.bore, self.units)}
