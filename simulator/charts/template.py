"""One look for every chart: inks by name, dashes, type. On the page the inks are those of its theme."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

#: Inks by name. The page puts the colour of its theme in place of "ink:<name>", light or dark (``still_chart.js``).
INK, SOFT, LINE, LIFT, ACT, WATER, WAIT, PAPER = (
    f"ink:{name}" for name in ("ink", "soft", "line", "lift", "act", "water-deep", "wait", "panel")
)
#: Ink, dash and width [px] of a line by its place: told apart without colour, by their dashes alone.
STYLES = {
    "main": (INK, "solid", 2.4),
    "other": (WATER, "dot", 2.2),
    "third": (WAIT, "dash", 2.2),
    "level": (LIFT, "longdash", 1.6),
    "mark": (ACT, "dashdot", 1.6),
}
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
CONFIG = {
    "displayModeBar": False,
    "displaylogo": False,
    "responsive": False,
    "scrollZoom": False,
    "doubleClick": "reset",
}


#: What the inks are on white paper and in reports.
ON_PAPER = {
    "ink": "#1b2730",
    "soft": "#505c64",
    "line": "#d3d6d2",
    "lift": "#14628a",
    "act": "#0f5a75",
    "water-deep": "#0f4f76",
    "wait": "#a2380f",
    "panel": "#ffffff",
}


def inked(part: Any, inks: Mapping[str, str] = ON_PAPER) -> Any:
    """A figure, or a part of one, with colours in place of the names of inks.

    Parameters
    ----------
    inks : colour of each ink; those of paper by default.

    Raises
    ------
    KeyError : an ink is not among them.

    Examples
    --------
    >>> inked({"line": {"color": INK, "width": 2}})
    {'line': {'color': '#1b2730', 'width': 2}}
    """
    if isinstance(part, str):
        return inks[part.removeprefix("ink:")] if part.startswith("ink:") else part
    if isinstance(part, dict):
        return {name: inked(value, inks) for name, value in part.items()}
    return [inked(each, inks) for each in part] if isinstance(part, list | tuple) else part


def axis(title: str, **more: Any) -> dict[str, Any]:
    """An axis in the common look.

    Parameters
    ----------
    more : whatever else plotly knows of an axis.

    Examples
    --------
    >>> axis("seconds")["title"]["text"]
    'seconds'
    """
    return {
        "title": {"text": title, "standoff": 8},
        "color": SOFT,
        "gridcolor": LINE,
        "linecolor": SOFT,
        "zeroline": False,
        "ticks": "outside",
        "tickcolor": SOFT,
        "ticklen": 4,
        "automargin": True,
    } | more


def layout(x: dict[str, Any], y: dict[str, Any], height: int) -> dict[str, Any]:
    """A whole layout of one plot in the common look; ``height`` in px.

    Parameters
    ----------
    x, y : axes, as :func:`axis` makes them.

    Examples
    --------
    >>> layout(axis("s"), axis("kPa"), 300)["height"]
    300
    """
    return {
        "height": height,
        "font": {"size": 13, "color": INK},
        "margin": {"l": 56, "r": 14, "t": 12, "b": 44},
        "legend": {"orientation": "h", "x": 0.0, "xanchor": "left", "y": 1.02, "yanchor": "bottom"},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": PAPER, "bordercolor": SOFT, "font": {"color": INK}},
        "dragmode": "zoom",
        "xaxis": x,
        "yaxis": y,
    }
