"""Charts of reports: one look, fixed width, readable in print without colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from simulator.charts.template import FONT, ON_PAPER

WIDTH = 660  # px, the width of a printed page between its margins
INK, GRID, PALE = ON_PAPER["ink"], ON_PAPER["line"], "#8a98a5"
#: Blue, orange, green, purple, red, teal: told apart by people with any colour vision, and by their dashes in print.
COLOURS = ("#1b5e8c", "#d9771e", "#2f7d4f", "#7a4a99", "#b3273e", "#4c9aa8", "#8c6d1f", "#55606b")
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot", "solid", "dash")


@dataclass(frozen=True)
class Line:
    """One curve or set of points; ``mode`` is "lines" or "markers"; ``style`` picks colour and dash, -1 pale."""

    name: str
    x: Sequence[float] | np.ndarray
    y: Sequence[float] | np.ndarray
    mode: str = "lines"
    style: int = 0
    dash: str = ""


@dataclass(frozen=True)
class Panel:
    """One set of axes."""

    lines: tuple[Line, ...]
    x: str
    y: str
    log_x: bool = False
    log_y: bool = False
    y_range: tuple[float, float] | None = None


def chart(*panels: Panel, columns: int = 1, height: int = 300) -> str:
    """Panels as one chart, an HTML fragment without the library; ``height`` of a row of panels [px].

    Parameters
    ----------
    columns : of panels side by side [-].
    """
    rows = -(-len(panels) // columns)
    below = 74 if any(line.name for panel in panels for line in panel.lines) else 44
    figure = make_subplots(
        rows=rows,
        cols=columns,
        horizontal_spacing=0.13 / max(columns - 1, 1),
        vertical_spacing=0.34 / rows if rows > 1 else 0.0,
    )
    named: set[str] = set()
    for number, panel in enumerate(panels):
        row, column = number // columns + 1, number % columns + 1
        for line in panel.lines:
            figure.add_trace(_trace(line, line.name not in named), row=row, col=column)
            named.add(line.name)
        _axes(figure, panel, row, column)
    figure.update_layout(
        width=WIDTH,
        height=height * rows + below,
        template="none",
        font={"family": FONT, "size": 12, "color": INK},
        margin={"l": 62, "r": 14, "t": 12, "b": below},
        legend={
            "orientation": "h", "yref": "container", "y": 0.0, "yanchor": "bottom",
            "x": 0.5, "xanchor": "center", "entrywidth": 0, "font": {"size": 11.5},
        },
        paper_bgcolor="white",
        plot_bgcolor="white",
        hovermode="closest",
    )  # fmt: skip
    html: str = figure.to_html(
        full_html=False,
        include_plotlyjs=False,
        include_mathjax=False,
        default_width=f"{WIDTH}px",
        config={"displayModeBar": False, "displaylogo": False, "responsive": False},
    )
    return html


def _trace(line: Line, in_legend: bool) -> Any:
    pale = line.style < 0
    colour = PALE if pale else COLOURS[line.style % len(COLOURS)]
    dash = line.dash or ("dot" if pale else DASHES[line.style % len(DASHES)])
    symbols = ("circle", "x", "diamond", "square", "cross", "triangle-up")
    return go.Scatter(
        x=np.round(np.asarray(line.x, dtype=float), 6).tolist(),
        y=[float(f"{value:.5g}") for value in line.y],
        mode=line.mode,
        name=line.name,
        legendgroup=line.name,
        showlegend=in_legend and bool(line.name),
        line={"color": colour, "width": 1.2 if pale else 2.0, "dash": dash},
        marker={"color": colour, "size": 7, "symbol": symbols[line.style % len(symbols)]},
        connectgaps=False,
    )


def _axes(figure: Any, panel: Panel, row: int, column: int) -> None:
    common = {
        "showgrid": True, "gridcolor": GRID, "zeroline": False, "linecolor": PALE, "ticks": "outside",
        "tickcolor": PALE, "ticklen": 4, "automargin": True,
    }  # fmt: skip
    title = {"standoff": 8, "font": {"size": 12}}
    figure.update_xaxes(
        **common,
        title={"text": panel.x, **title},
        type="log" if panel.log_x else "linear",
        row=row,
        col=column,
    )
    figure.update_yaxes(
        **common,
        title={"text": panel.y, **title},
        type="log" if panel.log_y else "linear",
        row=row,
        col=column,
    )
    if panel.y_range is not None:
        figure.update_yaxes(range=list(panel.y_range), row=row, col=column)
    for axis in ("update_xaxes", "update_yaxes"):
        if panel.log_x and axis == "update_xaxes":
            getattr(figure, axis)(dtick=1, row=row, col=column)


def steps(series: np.ndarray, every: int = 5) -> np.ndarray:
    """Every so many points of a series, enough for the eye; first and last kept for whole multiples [-].

    Parameters
    ----------
    series : shape (n,), any unit.
    every : so many points one is kept [-].

    Examples
    --------
    >>> steps(np.arange(11.0), 5).tolist()
    [0.0, 5.0, 10.0]
    """
    return series[::every]
