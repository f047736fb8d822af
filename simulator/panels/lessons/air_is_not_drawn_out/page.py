"""Lesson 05: air is not drawn out. The motive side, told from two gauges and the relief valve.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from typing import Any

from simulator.instruments.checks import CHECKS
from simulator.panels.lessons.air_is_not_drawn_out.drills import (
    AREA,
    CHECK,
    DRILLS,
    JET,
    TABLE,
    drawn,
    motive_words,
    valve_words,
)
from simulator.panels.lessons.air_is_not_drawn_out.motive_side import (
    HISSES,
    LOOKS,
    POPS,
    WATCH,
    level,
    looks_of,
    pops_a_minute,
    row,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
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
from simulator.panels.teaching.figures import dials, frame, geometry, needles, on_one_scale, track
from simulator.panels.teaching.gauge_shapes import side
from simulator.panels.teaching.plan import Case, Plan
from simulator.panels.teaching.pull_downs import common
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.solo_call import SoloCalls
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.rig.faults import FAULTS
from simulator.run import Run
from simulator.texts import text

#: The runs of the lesson: fault, size in SI units, and how long they are played [s].
RUNS = {
    "narrow": ("nozzle_plugged", 0.85, 80.0),
    "short": ("belt_loose", 0.7, 80.0),
    "relief": ("relief_weak", 1.6e5, 80.0),
    "behind": ("exhaust_blocked", 0.97, 60.0),
}
RELIEF_LIFT = 5.0  # [m]
ABOVE_ZERO = -1e3  # [Pa] of vacuum below which a needle stands plainly above zero
#: Rows of the table, in the order of the page.
TABLE_RUNS = {
    "nozzle_plugged": 0.85,
    "air_line_kinked": 0.985,
    "belt_loose": 0.7,
    "compressor_worn": 0.7,
    "air_line_holed": 0.0045,
    "nozzle_worn": 1.8,
    "relief_weak": 1.6e5,
    "screen_plugged": 0.98,
    "exhaust_blocked": 0.97,
}
#: What may be wrong in the call done alone.
ALONE = (
    *("belt_loose", "compressor_worn", "intake_blocked", "relief_weak", "air_line_holed", "air_line_kinked"),
    *("nozzle_plugged", "screen_plugged", "exhaust_blocked"),
)


def _run(name: str) -> Run:
    # at the usual lift a weak relief valve costs this rig some seconds and no more
    return faulted(*RUNS[name][:2], site=usual_site(RELIEF_LIFT) if name == "relief" else None)


def idea_figure(name: str, units: str) -> Block:
    """The rig at work, or the two needles of a run that shows the idea.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    if name == "feeds":
        run = run_of(usual_rig(), usual_site())
        return {
            "id": "figure",
            "kind": "picture",
            "rig": geometry(run, usual_rig()),
            "pictures": ["pump"],
            "units": units,
            "height": 300,
            "frame": frame(run, 20.0),
            "caption": text(f"{AREA}.figures.feeds"),
        }
    run = _run(name)
    caption = text(f"{AREA}.figures.{name}", **motive_words(run, units))
    return dials("figure", needles(run, WATCH), units, caption)


def plugged(chance: random.Random, units: str) -> Drill:
    """Prediction: the motive gauge with the nozzle nearly plugged."""
    run, sound = _run("narrow"), run_of(usual_rig(), usual_site())
    said = motive_words(run, units)
    return drill(f"{AREA}.predictions.plugged", TABLE, "nozzle_plugged 0.85", level(run, sound), said)


def slipping(chance: random.Random, units: str) -> Drill:
    """Prediction: motive gauge and relief valve with a slipping belt."""
    run, sound = _run("short"), run_of(usual_rig(), usual_site())
    heard = pops_a_minute(run) >= POPS
    right = {"high": "high_pops", "usual": "usual", "low": "low_pops" if heard else "low_silent"}[
        level(run, sound)
    ]
    return drill(f"{AREA}.predictions.slipping", TABLE, "belt_loose 0.7", right, motive_words(run, units))


def exhaust_shut(chance: random.Random, units: str) -> Drill:
    """Prediction: the suction gauge with the exhaust hose blocked."""
    run = _run("behind")
    rest = resting_vacuum(run)
    right = "pressure" if rest < -2e3 else "zero" if rest < 2e3 else "low"
    said = common(run, units) | {"rest": format_quantity("vacuum", abs(rest), units)}
    return drill(f"{AREA}.predictions.exhaust_shut", JET, "exhaust_blocked 0.97", right, said)


def tracks(units: str) -> list[dict[str, Any]]:
    """The four rows of the table to play."""
    out = []
    for name, (_, _, last) in RUNS.items():
        run = _run(name)
        says = remarks(f"{AREA}.tracks.{name}", run, units, motive_words(run, units))
        label = text(f"{AREA}.tracks.{name}.label")
        out.append(track(name, label, run, usual_rig(), units, last=last, says=says, site=run.site))
    return on_one_scale(out)


def table_rows(units: str) -> list[list[str]]:
    """The motive-side table, every figure from a run: what is wrong, motive gauge, relief valve, suction gauge."""
    runs = {"sound": run_of(usual_rig(), usual_site())}
    runs |= {name: faulted(name, size) for name, size in TABLE_RUNS.items()}
    out = []
    for name, run in runs.items():
        rest = resting_vacuum(run)
        at_lift = side(rest, lift_pressure(run.site)) == "at"
        key = "primed" if run.primed else "pressure" if rest < -2e3 else "filling" if at_lift else "stands"
        ending = text(
            f"{AREA}.table.{key}",
            rest=format_quantity("vacuum", abs(rest), units),
            time=text("teaching.seconds", n=round(run.prime_time)) if run.primed else "",
        )
        cells = motive_words(run, units)
        out.append([text(f"{AREA}.table_names.{name}"), cells["motive"], valve_words(run), ending])
    return out


#: What is offered beside the right answer to "before you do that": nothing that would be safe too.
SAFE_OPTIONS = {
    "bleed": ("bleed", "lock", "clear", "nothing"),
    "lock": ("lock", "stopped", "clear", "nothing"),
    "clear": ("clear", "bleed", "lock", "nothing"),
}


def heard_along(name: str, run: Run) -> str:
    """What the way along the air line has told before the first look of a case is asked for.

    Parameters
    ----------
    name, run : of the fault and of the start with it.
    """
    if run.rig.air_line.hole_diameter > 0.0:
        return "blows"
    return "followed" if LOOKS.get(name) == "nozzle_out" else "silent"


def starved(chance: random.Random, units: str) -> Case:
    """A rig whose air is not drawn out, from the needles to the first look and what makes it safe."""
    for _ in range(30):
        name, size, run = drawn(chance)
        sound = run_of(usual_rig(), usual_site())
        below = not run.primed and side(resting_vacuum(run), lift_pressure(run.site)) == "below"
        hissing = heard_along(name, run)
        needle = "above_zero" if vacuum_at(run, WATCH) < ABOVE_ZERO else "not_above"
        best = next(iter(looks_of(row(run, sound), hissing, needle)), "") if below else ""
        if (
            best and best == FAULTS[name].look
        ):  # the look that the lesson teaches to take first is the one that finds it
            break
    case, said = f"{name} {size:g}", motive_words(run, units)
    rest = vacuum_at(run, WATCH)
    said["rest"] = text(
        f"{AREA}.reads.{'pressure' if rest < ABOVE_ZERO else 'vacuum'}",
        value=format_quantity("vacuum", abs(rest), units),
    )
    found = row(run, sound)
    heard = heard_along(name, run)
    ranked = looks_of(found, heard, needle)
    first = next(iter(ranked))
    others = [
        look for key in ("short", "narrow", "behind", "relief") for look in looks_of(key) if look != first
    ]
    offered = [first, *dict.fromkeys([*list(ranked)[1:], *others])][:4]
    needs = CHECKS[first].needs
    safe = "bleed" if "air_bled" in needs else "lock" if "isolated" in needs else "clear"
    more = "bleed_and_tie" if "line_held" in needs else "bleed_and_vent" if "hose_vented" in needs else ""
    said |= {
        "row": text(f"{AREA}.rows.{found}"),
        "heard": text(f"{AREA}.heard.{heard}"),
        "first": text(f"{AREA}.look.{first}"),
        "belt_says": text(f"{AREA}.belt_says.{'fits' if found == 'short' else 'other'}"),
        "minutes": f"{CHECKS[first].minutes:g}",
        "needs": text(f"{AREA}.needs.{more or safe}"),
        "not_lock": text(f"{AREA}.not_lock.{'running' if safe == 'clear' else 'pressed'}"),
    }

    for look in ("nozzle_out", "follow_air_line", "receiver_test"):
        fits = (
            "heard"
            if heard == "blows"
            else "quicker"
            if CHECKS[first].minutes < CHECKS[look].minutes
            else "fits"
        )
        done = heard == "followed" and look == LOOKS[HISSES]
        says = fits if look in ranked else "done" if done else "other"
        said[f"not_{look}"] = text(f"{AREA}.look_says.{says}")
    quick = "left" if len(ranked) == 1 else "ranked" if CHECKS[first].opens else "quick"
    why = "heard" if heard == "blows" else needle if found == "behind" else quick
    said["first_why"] = text(f"{AREA}.first_why.{why}", first=said["first"])

    def step(key: str, skill: str, right: str, **more: Any) -> Drill:
        return drill(f"{AREA}.case.{key}", skill, case, right, said, **more)

    return Case(
        case=case,
        brief=(text(f"{AREA}.case_brief.call", **said), text(f"{AREA}.case_brief.read", **said)),
        figures=(dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),),
        steps=(
            step(
                "which_side",
                TABLE,
                "air_side" if side(rest, lift_pressure(run.site)) == "below" else "water_side",
            ),
            step("motive", TABLE, level(run, sound)),
            step("together", TABLE, found),
            step("first_look", TABLE, first, only=offered),
            step("safe", TABLE, safe, only=SAFE_OPTIONS[safe]),
        ),
        close=(text(f"{AREA}.truth", what=text(f"{AREA}.table_names.{name}")), text(f"{AREA}.truth_foot")),
    )


PLAN = Plan(
    area=AREA,
    minutes=45,
    ideas=("feeds", "narrow", "short", "relief", "behind"),
    idea_figure=idea_figure,
    predictions=(plugged, slipping, exhaust_shut),
    tracks=tracks,
    case=starved,
    solo_call=SoloCalls(ALONE),
    drills=DRILLS,
    check=CHECK,
    following=("06",),
)


class NotDrawnOut(TaughtLesson):
    """Air is not drawn out."""

    number = "05"
    on_page = ("aim", "ideas", "predict", "run", "table", "case", "drills", "check", "what_next")
    plan = PLAN

    def table(self) -> LessonPart:
        """The motive-side table, worked out from runs."""
        return self.part("table", self._table)

    def _table(self) -> list[Block]:
        head = {
            "id": "heading",
            "kind": "heading",
            "text": text(f"{AREA}.table.title"),
            "paragraphs": self.phrases.words("table.intro"),
        }
        wait = [] if self.course.has("run") else self.phrases.wait_block("case")
        if wait:
            return [head, *wait]
        return [
            head,
            {
                "id": "rows",
                "kind": "compare",
                "title": text(f"{AREA}.table.title"),
                "columns": self.phrases.words("table.columns"),
                "rows": [{"cells": cells} for cells in table_rows(self.units)],
            },
        ]
