"""The curves that a session plan tells to expect: the suction gauge in good order and with each fault, on one picture.

Arguments, the same throughout: ``faults`` by id, each at its middle size.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from simulator.diagnosis.usual_start import SOUND, usual_start, with_fault
from simulator.instruments.checks_from_outside import static_lift
from simulator.instruments.gauges import GAUGES, needle, state_of
from simulator.panels.papers.sheet import both
from simulator.rig.presets import load_rig, standard_site
from simulator.texts import text
from simulator.units import PASCAL_PER_INHG

RIG = "osier"
SPAN = 150.0  # [s] drawn
WIDTH, HEIGHT = 700.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 44.0, 12.0, 34.0
STEP_KPA, STEP_INHG = 10e3, 5.0 * PASCAL_PER_INHG  # [Pa] between marks
EVERY = 5  # grid points of the run to one drawn
#: Strokes that a copier keeps apart: the good rig first.
DASHES = ("", "9 4", "2 3", "12 3 2 3")


@dataclass(frozen=True)
class Line:
    """One curve: what it is called, how it ends in words, times [s] and vacuum shown [Pa], shape (n,)."""

    name: str
    ends: str
    times: np.ndarray
    vacuum: np.ndarray


@lru_cache(maxsize=16)
def lines(faults: tuple[str, ...]) -> tuple[Line, ...]:
    """The curve of the rig in good order, then one for each fault.

    Examples
    --------
    >>> [line.name for line in lines(("drain_open",))]
    ['in good order', 'casing drain valve left open']
    """
    out = [_line(text("plans.words.good"), SOUND)]
    return (*out, *(_line(text(f"faults.{name}.name"), name) for name in faults))


def _line(name: str, fault: str) -> Line:
    rig, site = load_rig(RIG), standard_site(RIG)
    start, (changed, _) = usual_start(fault, rig, site), with_fault(fault, rig, site)
    shown = needle(start.run, GAUGES["suction"], state_of(changed, "suction"), 0, tremble=False)
    drawn = start.run.time <= SPAN
    return Line(name, f"{start.words}.", start.run.time[drawn][::EVERY], shown[drawn][::EVERY])


def title() -> str:
    """What stands above the picture."""
    rig, site = load_rig(RIG), standard_site(RIG)
    return text("plans.words.curves", rig=rig.title, lift=both("length", site.lift))


def chart(faults: tuple[str, ...]) -> str:
    """An SVG of vacuum against time: kPa left, inHg right, the static lift, a stroke of its own for each curve."""
    drawn = lines(faults)
    lift = static_lift(standard_site(RIG))
    most = max(lift, *(float(line.vacuum.max()) for line in drawn))
    top = STEP_KPA * math.ceil(1.04 * most / STEP_KPA)
    spoken = text("plans.words.spoken")
    out = [
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{spoken}" class="chart">',
        _grid(top),
    ]
    y = _y(lift, top)
    out.append(f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" class="lift"/>')
    out.append(_words(LEFT + 8, y - 6, text("papers.card.chart_lift"), "start", "halo strong"))
    for n, line in enumerate(drawn):
        points = " ".join(
            f"{_x(float(t)):.1f},{_y(max(float(v), 0.0), top):.1f}"
            for t, v in zip(line.times, line.vacuum, strict=True)
        )
        out.append(f'<polyline points="{points}" class="curve" stroke-dasharray="{DASHES[n]}"/>')
    return "".join([*out, "</svg>"])


def key(number: int) -> str:
    """A short piece of a curve's stroke, for the list beside the picture.

    Parameters
    ----------
    number : of the curve [-], from 0.
    """
    return (
        '<svg viewBox="0 0 60 10" class="key" aria-hidden="true">'
        f'<line x1="2" x2="58" y1="5" y2="5" class="curve" stroke-dasharray="{DASHES[number]}"/></svg>'
    )


def _x(time: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * time / SPAN


def _y(vacuum: float, top: float) -> float:
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * vacuum / top


def _words(x: float, y: float, words: str, anchor: str, name: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="{name}">{words}</text>'


def _grid(top: float) -> str:
    floor, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    out = []
    for i in range(round(top / STEP_KPA) + 1):
        y = _y(i * STEP_KPA, top)
        out.append(f'<line x1="{LEFT}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" class="rule"/>')
        out.append(_words(LEFT - 6, y + 4, f"{i * STEP_KPA / 1e3:.0f}", "end"))
    for i in range(int(top / STEP_INHG) + 1):
        y = _y(i * STEP_INHG, top)
        out.append(f'<line x1="{right}" x2="{right + 5}" y1="{y:.1f}" y2="{y:.1f}" class="ink"/>')
        out.append(_words(right + 9, y + 4, f"{5 * i}", "start"))
    for second in range(0, int(SPAN) + 1, 10):
        x = _x(second)
        out.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{floor}" y2="{floor + 5}" class="ink"/>')
        out.append(_words(x, floor + 17, str(second), "middle"))
    out.append(f'<path d="M{LEFT} {TOP}V{floor}H{right}V{TOP}" class="ink"/>')
    middle = (TOP + floor) / 2
    for x, words in ((12.0, "kPa"), (WIDTH - 6.0, "inHg")):
        turn = f'transform="rotate(-90 {x:g} {middle:.1f})"'
        out.append(f'<text x="{x:g}" y="{middle:.1f}" text-anchor="middle" {turn}>{words}</text>')
    out.append(_words((LEFT + right) / 2, HEIGHT - 3, text("papers.card.chart_seconds"), "middle"))
    return "".join(out)
