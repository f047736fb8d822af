"""Curves of vacuum or pressure against time as figures for the page: plain data in plotly's form, and a table beside it.

The kernel imports no chart library for it: the page draws. ``tests/charts`` holds figures against plotly's own schema.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from simulator.charts.template import ACT, CONFIG, STYLES, axis, layout
from simulator.texts import text

TABLE_ROWS = 12
WORDS = ("table", "zoom_in", "zoom_out", "whole", "save", "role", "help", "not_here", "loading")
NOTICED = 1500.0  # [Pa] of pressure above the air outside from which on it is worth room below zero


def round_step(span: float, parts: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span into at most so many parts.

    Examples
    --------
    >>> round_step(70.0, 5), round_step(0.9, 5)
    (20.0, 0.2)
    """
    power = 10.0 ** math.floor(math.log10(span / parts))
    return next(lead * power for lead in (1.0, 2.0, 5.0, 10.0) if span / (lead * power) <= parts * 1.001)


def curve_figure(chart: Mapping[str, Any]) -> dict[str, Any]:
    """The figure of a chart: what plotly draws, its table, and the words about it.

    Parameters
    ----------
    chart : ``lines`` with ``label``, ``style`` ("main", "other", "third") and ``points`` [s, Pa]; ``levels`` with ``pa``
        and ``label``; ``marks`` with ``t`` [s], ``pa`` [Pa] or None and ``label``; ``unit`` with ``name`` and ``size``
        [Pa]; ``span_s`` of the time axis; ``high_pa`` that must fit; ``axis_x``, ``axis_y``, ``spoken``, ``height`` [px];
        ``clock`` the unit of the time axis, seconds by default.
        Vacuum counts upward; what lies above the air outside is negative and bears a plus, as on the gauge.

    Returns
    -------
    dict
        ``data``, ``layout``, ``config`` for plotly; ``table`` with ``columns`` and ``rows`` of words; ``spoken``;
        ``words`` of the controls. Inks are names (``template``).

    Examples
    --------
    >>> line = {"label": "this rig", "style": "main", "points": [[0.0, 0.0], [10.0, 2e4]]}
    >>> chart = {"lines": [line], "unit": {"name": "kPa", "size": 1e3}, "span_s": 10.0, "high_pa": 2e4,
    ...          "axis_x": "seconds", "axis_y": "kPa", "spoken": "One curve."}
    >>> figure = curve_figure(chart)
    >>> figure["data"][0]["y"], figure["table"]["rows"][-1]
    ([0.0, 20.0], ['10', '20'])
    """
    size, unit, span = float(chart["unit"]["size"]), str(chart["unit"]["name"]), float(chart["span_s"])
    lines: list[Mapping[str, Any]] = list(chart["lines"])
    data = [_line(line, size, unit, str(chart.get("clock", "s"))) for line in lines]
    data += [_level(level, size, unit, span) for level in chart.get("levels") or ()]
    data += [_mark(mark, size, unit, span) for mark in chart.get("marks") or ()]
    low, high, step = _range(chart, size)
    ticks = {}
    if low < 0:
        marks = [low + step * n for n in range(round((high - low) / step) + 1)]
        ticks = {"tickvals": marks, "ticktext": [f"+{-v:g}" if v < 0 else f"{v:g}" for v in marks]}
    height = int(chart.get("height") or 340)
    return {
        "data": data,
        "layout": layout(
            axis(str(chart["axis_x"]), range=[0.0, span]),
            axis(str(chart["axis_y"]), range=[low, high], **ticks),
            height,
        )
        | {"shapes": [_upright(mark, span) for mark in chart.get("marks") or ()]},
        "config": dict(CONFIG),
        "table": _table(lines, chart, size),
        "spoken": str(chart["spoken"]),
        "words": {name: text(f"charts.{name}") for name in WORDS},
    }


def _range(chart: Mapping[str, Any], size: float) -> tuple[float, float, float]:
    """Bounds of the upright axis and its step, in the shown unit."""
    step = round_step(float(chart["high_pa"]) / size, 5)
    lowest = min((point[1] for line in chart["lines"] for point in line["points"]), default=0.0)
    low = math.floor(lowest / size / step) * step if lowest < -NOTICED else 0.0
    return low, math.ceil(float(chart["high_pa"]) / size / step - 1e-9) * step, step


def _shown(value: float) -> str:
    figure = f"{abs(value):.1f}" if abs(value) < 10 else f"{abs(value):.0f}"
    figure = figure.removesuffix(".0")
    return f"+{figure}" if value < 0 and float(figure) else figure


def _hover(name: str, unit: str, clock: str = "s") -> str:
    return f"{name + ': ' if name else ''}%{{customdata}} {unit}, %{{x:.0f}} {clock}<extra></extra>"


def _line(line: Mapping[str, Any], size: float, unit: str, clock: str) -> dict[str, Any]:
    colour, dash, width = STYLES[line["style"]]
    label = str(line.get("label") or "")
    y = [round(point[1] / size, 3) for point in line["points"]]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": label,
        "showlegend": bool(label),
        "x": [point[0] for point in line["points"]],
        "y": y,
        "customdata": [_shown(value) for value in y],
        "hovertemplate": _hover(label, unit, clock),
        "line": {"color": colour, "dash": dash, "width": width},
    }


def _level(level: Mapping[str, Any], size: float, unit: str, span: float) -> dict[str, Any]:
    colour, dash, width = STYLES["level"]
    y = round(float(level["pa"]) / size, 3)
    return {
        "type": "scatter",
        "mode": "lines",
        "name": str(level["label"]),
        "x": [0.0, span],
        "y": [y, y],
        "customdata": [_shown(y)] * 2,
        "hovertemplate": _hover(str(level["label"]), unit),
        "line": {"color": colour, "dash": dash, "width": width},
    }


def _mark(mark: Mapping[str, Any], size: float, unit: str, span: float) -> dict[str, Any]:
    """A guess: a diamond where it has a value; its upright line is a shape, its name stands in the legend."""
    pa = mark.get("pa")
    y = round(float(pa) / size, 3) if pa is not None and math.isfinite(pa) else None
    return {
        "type": "scatter",
        "mode": "markers",
        "name": str(mark["label"]),
        "x": [min(float(mark["t"]), span)],
        "y": [y],
        "customdata": ["" if y is None else _shown(y)],
        "hovertemplate": _hover(str(mark["label"]), unit),
        "marker": {"color": ACT, "symbol": "diamond", "size": 13},
    }


def _upright(mark: Mapping[str, Any], span: float) -> dict[str, Any]:
    colour, dash, width = STYLES["mark"]
    t = min(float(mark["t"]), span)
    line = {"color": colour, "dash": dash, "width": width}
    return {"type": "line", "xref": "x", "yref": "paper", "x0": t, "x1": t, "y0": 0, "y1": 1, "line": line}


def _value(points: Sequence[Sequence[float]], t: float) -> float | None:
    """The value [Pa] of a curve at a time [s] by straight lines; None outside of it."""
    if not points or t < points[0][0] or t > points[-1][0]:
        return None
    for before, after in pairwise(points):
        if t <= after[0]:
            share = (t - before[0]) / (after[0] - before[0]) if after[0] > before[0] else 1.0
            return float(before[1] + share * (after[1] - before[1]))
    return float(points[-1][1])


def _table(lines: Sequence[Mapping[str, Any]], chart: Mapping[str, Any], size: float) -> dict[str, Any]:
    """The same in words and figures, for those who do not see the curve: a row every round so many seconds."""
    span, axis_y = float(chart["span_s"]), str(chart["axis_y"])
    step = next((s for s in (1, 2, 5, 10, 15, 30, 60, 120, 300) if span / s <= TABLE_ROWS), 600)
    rows = []
    for n in range(int(span / step + 1e-9) + 1):
        values = [_value(line["points"], n * step) for line in lines]
        rows.append([f"{n * step:g}", *("" if v is None else _shown(round(v / size, 3)) for v in values)])
    columns = [str(chart["axis_x"]), *(str(line.get("label") or axis_y) for line in lines)]
    told = [
        *(level["label"] for level in chart.get("levels") or ()),
        *(m["label"] for m in chart.get("marks") or ()),
    ]
    return {"columns": columns, "rows": rows, "title": axis_y, "told": [str(each) for each in told]}
