"""The expected curve of a yard card as a picture for paper: black ink first, the band in grey, both units."""

from __future__ import annotations

import math

from simulator.panels.papers.card_figures import Curve
from simulator.texts import text
from simulator.units import PASCAL_PER_INHG

WIDTH, HEIGHT = 700.0, 168.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 44.0, 12.0, 34.0
STEPS_KPA = 10e3  # [Pa] between lines
HEADROOM = 1.12  # [-] above the highest needle, for words
BEFORE = 0.86  # [-] share of the time to prime over which the band is drawn
STEPS_INHG = 5.0 * PASCAL_PER_INHG


class _Frame:
    def __init__(self, curve: Curve) -> None:
        highest = max(float(curve.vacuum.max()) * HEADROOM, curve.lift)
        self.top = STEPS_KPA * math.ceil(highest / STEPS_KPA)
        self.span = curve.span

    def x(self, time: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * time / self.span

    def y(self, vacuum: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * vacuum / self.top


def chart(curve: Curve) -> str:
    """An SVG of vacuum against time: curve, band of good rigs, static lift, prime; kPa left and inHg right."""
    frame = _Frame(curve)
    spoken = text("papers.card.chart_spoken", seconds=round(curve.prime_time))
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{spoken}" class="chart">'
        + _grid(frame)
        + _band(frame, curve)
        + _lift(frame, curve)
        + _line(frame, curve)
        + _prime(frame, curve)
        + "</svg>"
    )


def _text(x: float, y: float, words: str, anchor: str = "middle", more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{more}>{words}</text>'


def _grid(frame: _Frame) -> str:
    left, right, floor = LEFT, WIDTH - RIGHT, HEIGHT - BOTTOM
    out = []
    for i in range(round(frame.top / STEPS_KPA) + 1):
        y = frame.y(i * STEPS_KPA)
        out.append(f'<line x1="{left}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" class="rule"/>')
        out.append(_text(left - 6, y + 4, f"{i * STEPS_KPA / 1e3:.0f}", "end"))
    for i in range(int(frame.top / STEPS_INHG) + 1):
        y = frame.y(i * STEPS_INHG)
        out.append(f'<line x1="{right}" x2="{right + 5}" y1="{y:.1f}" y2="{y:.1f}" class="ink"/>')
        out.append(_text(right + 9, y + 4, f"{5 * i}", "start"))
    step = 10 if frame.span <= 90 else 20
    for second in range(0, int(frame.span) + 1, step):
        x = frame.x(second)
        out.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{floor}" y2="{floor + 5}" class="ink"/>')
        out.append(_text(x, floor + 17, str(second)))
    out.append(f'<path d="M{left} {TOP}V{floor}H{right}V{TOP}" class="ink"/>')
    middle = (TOP + floor) / 2
    out.append(_text(12, middle, "kPa", more=f' transform="rotate(-90 12 {middle:.1f})"'))
    out.append(_text(WIDTH - 6, middle, "inHg", more=f' transform="rotate(-90 {WIDTH - 6} {middle:.1f})"'))
    out.append(_text((left + right) / 2, HEIGHT - 3, text("papers.card.chart_seconds")))
    return "".join(out)


def _band(frame: _Frame, curve: Curve) -> str:
    # The pump takes hold at the end of the band; what follows is no longer a matter of patience.
    shown = [row for row in curve.band if row[0] <= BEFORE * curve.prime_time]
    upper = [f"{frame.x(t):.1f},{frame.y(high):.1f}" for t, _, high in shown]
    lower = [f"{frame.x(t):.1f},{frame.y(low):.1f}" for t, low, _ in reversed(shown)]
    return f'<polygon points="{" ".join([*upper, *lower])}" class="band"/>'


def _lift(frame: _Frame, curve: Curve) -> str:
    y = frame.y(curve.lift)
    end = WIDTH - RIGHT
    return (
        f'<line x1="{LEFT}" x2="{end}" y1="{y:.1f}" y2="{y:.1f}" class="lift"/>'
        + _text(end - 6, y - 6, text("papers.card.chart_above"), "end", ' class="halo"')
        + _text(end - 6, y + 16, text("papers.card.chart_below"), "end", ' class="halo"')
        + _text(LEFT + 8, y - 6, text("papers.card.chart_lift"), "start", ' class="halo strong"')
    )


def _line(frame: _Frame, curve: Curve) -> str:
    points = " ".join(
        f"{frame.x(float(t)):.1f},{frame.y(max(float(v), 0.0)):.1f}"
        for t, v in zip(curve.times, curve.vacuum, strict=True)
    )
    return f'<polyline points="{points}" class="curve"/>'


def _prime(frame: _Frame, curve: Curve) -> str:
    x = frame.x(curve.prime_time)
    words = text("papers.card.chart_prime", seconds=round(curve.prime_time))
    return f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{HEIGHT - BOTTOM}" class="prime"/>' + _text(
        x + 5, TOP + 12, words, "start", ' class="halo strong"'
    )
