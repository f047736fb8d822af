"""Lesson 02: how long should it take. Bore, length, lift, altitude and speed, and a planner for one's own set-up.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import Any

from simulator.panels.lessons.how_long_should_it_take.drills import (
    AREA,
    CHECK,
    DRILLS,
    HOSE,
    LIFT,
    SPEED,
    changed,
    prime,
    seconds,
    words,
)
from simulator.panels.lessons.how_long_should_it_take.planner import Planner
from simulator.panels.lessons.how_long_should_it_take.planning import SetUp, expected_run
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.drill import Drill, drill
from simulator.panels.teaching.figures import chart, on_one_scale, points, track
from simulator.panels.teaching.plan import Plan
from simulator.panels.teaching.remarks import remarks
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.texts import entry, text

USUAL = SetUp()
#: The set-ups of the lesson, one thing changed in each.
CHANGED = {
    "usual": USUAL,
    "length": replace(USUAL, length=20.0),
    "bore": replace(USUAL, bore=0.20),
    "lift": replace(USUAL, lift=6.0),
    "altitude": replace(USUAL, lift=6.0, altitude=1500.0),
    "speed": replace(USUAL, lift=6.5, speed=0.5),
    "high": replace(USUAL, lift=6.5),
}


def idea_figure(name: str, units: str) -> Block:
    """The curve of a changed set-up beside the one it was changed from.

    Parameters
    ----------
    name : of the idea, as the catalogue has it.
    """
    other = {"altitude": "lift", "speed": "high"}.get(name, "usual")
    pair = [(name, CHANGED[name]), (other, CHANGED[other])]
    ends = [t for _, setup in pair if math.isfinite(t := prime(setup))]
    span = 15.0 * math.ceil((max(ends) + 12.0) / 15.0)
    lines = [(text(f"{AREA}.curves.{key}"), points(expected_run(setup), span)) for key, setup in pair]
    spoken = text(f"{AREA}.figures.{name}")
    return chart(
        "figure",
        lines,
        units,
        span=span,
        site=expected_run(pair[0][1]).site,
        spoken=spoken,
    )


def twice_the_hose(chance: random.Random, units: str) -> Drill:
    """Prediction: a hose twice as long."""
    return changed(f"{AREA}.predictions.twice_the_hose", HOSE, units, USUAL, CHANGED["length"], 2.0, {})


def twice_the_lift(chance: random.Random, units: str) -> Drill:
    """Prediction: twice the lift."""
    return changed(f"{AREA}.predictions.twice_the_lift", LIFT, units, USUAL, CHANGED["lift"], 2.0, {})


def less_speed(chance: random.Random, units: str) -> Drill:
    """Prediction: the engine at half its speed at a high lift."""
    old, new = prime(CHANGED["high"]), prime(CHANGED["speed"])
    right = (
        "never"
        if not math.isfinite(new)
        else "longer"
        if new > 1.1 * old
        else "same"
        if new > 0.9 * old
        else "shorter"
    )
    said = words(CHANGED["speed"], units) | {"before": seconds(old), "after": seconds(new)}
    said["end"] = text(f"{AREA}.less_end.{'primes' if math.isfinite(new) else 'never'}", **said)
    return drill(f"{AREA}.predictions.less_speed", SPEED, "speed 0.5 lift 6.5", right, said)


def tracks(units: str) -> list[dict[str, Any]]:
    """Four set-ups to play, one thing changed in each."""
    out = []
    for name in entry(f"{AREA}.tracks"):
        setup = CHANGED[name]
        run = expected_run(setup)
        rig, _ = setup.built()
        last = float(round(run.prime_time + 12.0))
        said = words(setup, units) | {"time": seconds(run.prime_time), "before": seconds(prime(USUAL))}
        said["static"] = format_quantity("vacuum", 998.2 * 9.80665 * setup.lift, units)
        says = remarks(f"{AREA}.tracks.{name}", run, units, said)
        out.append(track(name, text(f"{AREA}.tracks.{name}.label"), run, rig, units, last=last, says=says))
    return on_one_scale(out)


PLAN = Plan(
    area=AREA,
    minutes=40,
    ideas=("length", "bore", "lift", "altitude", "speed"),
    idea_figure=idea_figure,
    predictions=(twice_the_hose, twice_the_lift, less_speed),
    tracks=tracks,
    case=None,
    drills=DRILLS,
    check=CHECK,
    following=("03",),
)


class HowLong(TaughtLesson):
    """How long should it take.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    number = "02"
    plan = PLAN
    own_step = "planner"

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self.planning = Planner(self)

    def fields(self, key: str) -> dict[str, str]:
        """The set-up that this lesson's times are measured against.

        Parameters
        ----------
        key : of the sentence that has the fields.
        """
        return words(USUAL, self.units) if key == "intro.ideas" else {}

    def planner(self) -> LessonPart:
        """The planner for one's own set-up."""
        return self.part("planner", self._planner)

    def _planner(self) -> list[Block]:
        head, wait = self.phrases.part_head("planner"), self.phrases.wait_block("planner")
        if wait:
            return [head, *wait]
        to = self.course.to(self.course.after("planner"))
        done = [self.phrases.plain("on", text(f"{AREA}.planner.done"), to=to)] if self.seen("planner") else []
        return [head, self.planning.block(), *done]

    def act(self, action: str, args: dict[str, Any], click: str) -> str:
        """As every lesson; what the planner's controls do touches the planner alone, so that it is quick.

        Parameters
        ----------
        action : that the click asks for.
        """
        quick = {"plan": self.on_plan, "band": self.on_band, "table": self.on_table}
        if action not in quick or self.course.waits_for("planner"):
            return super().act(action, args, click)
        known = self.seen("planner")
        quick[action](args, click)
        if self.seen("planner") != known:
            self.refresh()
        elif "planner" in self.parts:
            self.parts["planner"].refresh()
        return ""

    def on_plan(self, args: dict[str, Any], click: str) -> None:
        """A set-up was typed or moved: its curve at once, its band when asked for."""
        self.planning.set(args)

    def on_band(self, args: dict[str, Any], click: str) -> None:
        """The band of the set-up; who has had one of a set-up of their own has used the planner."""
        self.planning.band()
        if self.planning.setup != USUAL:
            self.work.keep("seen:planner", True, click)

    def on_table(self, args: dict[str, Any], click: str) -> None:
        """One more row of the table."""
        row = args.get("row")
        if isinstance(row, int):
            self.planning.row(row)
