"""Figures that the page draws: plotly's schema takes them, units and signs are the gauge's, a table says the same."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from plotly import graph_objects

from simulator.charts.curves import curve_figure, round_step
from simulator.charts.template import ON_PAPER, inked

PALETTE = Path(__file__).parents[2] / "simulator" / "panels" / "screen" / "src" / "picture" / "picture.css"


def chart(**more: Any) -> dict[str, Any]:
    return {
        "lines": [
            {"label": "this rig", "style": "main", "points": [[0.0, 0.0], [30.0, 6e4]]},
            {"label": "a sound rig", "style": "other", "points": [[0.0, 0.0], [15.0, 6e4]]},
        ],
        "levels": [{"pa": 3e4, "label": "static lift"}],
        "marks": [{"t": 20.0, "pa": 4e4, "label": "your guess"}, {"t": 99.0, "pa": None, "label": "late"}],
        "unit": {"name": "kPa", "size": 1e3},
        "span_s": 30.0,
        "high_pa": 6e4,
        "axis_x": "seconds",
        "axis_y": "vacuum, kPa",
        "spoken": "Two curves.",
    } | more


@pytest.mark.parametrize(
    "more", [{}, {"marks": [], "levels": []}, {"lines": [], "marks": []}, {"high_pa": 300.0}]
)
def test_plotly_knows_every_part_of_a_figure(more: dict[str, Any]) -> None:
    figure = inked(curve_figure(chart(**more)))
    graph_objects.Figure(data=figure["data"], layout=figure["layout"])  # raises on anything it does not know


def test_values_stand_in_the_shown_unit_and_marks_within_the_axis() -> None:
    figure = curve_figure(chart(unit={"name": "inHg", "size": 3386.389}))
    main, _, level, guess, late = figure["data"]
    assert main["y"][-1] == pytest.approx(
        60e3 / 3386.389, abs=1e-3
    )  # conventional inch of mercury, NIST SP 811
    assert level["y"] == pytest.approx([30e3 / 3386.389] * 2, abs=1e-3)
    assert (guess["x"], late["x"], late["y"]) == ([20.0], [30.0], [None])
    assert "17.7" not in main["hovertemplate"]
    assert main["customdata"][-1] == "18"


def test_pressure_above_the_air_outside_bears_a_plus() -> None:
    line = {"label": "blown", "style": "main", "points": [[0.0, 0.0], [10.0, -2e4], [30.0, 5e4]]}
    figure = curve_figure(chart(lines=[line]))
    assert figure["data"][0]["customdata"] == ["0", "+20", "50"]
    assert figure["layout"]["yaxis"]["range"][0] == -20.0
    assert "+20" in figure["layout"]["yaxis"]["ticktext"]
    barely = curve_figure(chart(lines=[line | {"points": [[0.0, -1e3], [30.0, 5e4]]}]))
    assert barely["layout"]["yaxis"]["range"][0] == 0.0


def test_the_table_says_what_the_curves_say() -> None:
    table = curve_figure(chart())["table"]
    assert table["columns"] == ["seconds", "this rig", "a sound rig"]
    rows = {row[0]: row[1:] for row in table["rows"]}
    assert rows["15"] == ["30", "60"]
    assert rows["30"] == ["60", ""]  # the sound rig's curve ends where it primes
    assert table["told"] == ["static lift", "your guess", "late"]
    assert len(table["rows"]) <= 14


def test_steps_are_round() -> None:
    assert [round_step(span, 5) for span in (0.3, 1.0, 24.0, 99.0, 260.0)] == pytest.approx(
        [0.1, 0.2, 5.0, 20.0, 100.0]
    )


def test_every_ink_is_a_colour_of_both_themes() -> None:
    style = PALETTE.read_text(encoding="utf-8")
    for name, colour in ON_PAPER.items():
        assert len(re.findall(rf"--pal-{name}: ", style)) >= 2, name
        assert f"--pal-{name}: {colour};" in style, name  # paper is the light theme's
    with pytest.raises(KeyError):
        inked("ink:none")
