"""A pull-down as lessons show it: the fields that its sentences use, and its curve."""

from __future__ import annotations

from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import lift_pressure, resting_vacuum
from simulator.panels.teaching.figures import chart, points
from simulator.run import Run
from simulator.texts import text


def common(run: Run, units: str) -> dict[str, str]:
    """Fields that most sentences use.

    Parameters
    ----------
    run : of the case.
    units : "metric" or "us".
    """
    lift = lift_pressure(run.site)
    return {
        "lift": format_quantity("length", run.site.lift, units),
        "static": format_quantity("vacuum", lift, units),
        "rest": format_quantity("vacuum", resting_vacuum(run), units),
        "time": text("teaching.seconds", n=round(run.prime_time)) if run.primed else "",
    }


def curve(run: Run, sound: Run | None, units: str, last: float, *, reading: bool = True) -> Block:
    """The curve of a case, with the sound rig's where given; ``reading`` tells the figure of the static lift.

    Parameters
    ----------
    run : of the case.
    units : "metric" or "us".
    last : [s] of the time axis.
    """
    lines = [(text("teaching.this_rig"), points(run, last))]
    if sound is not None:
        lines.append((text("teaching.sound_rig"), points(sound, last)))
    return chart(
        "curve",
        lines,
        units,
        span=last,
        site=run.site,
        spoken=text("teaching.curve_spoken"),
        reading=reading,
    )
