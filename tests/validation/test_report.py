"""The report builds, stands alone, escapes what it is given, and fails where a value is spoiled."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from simulator.charts.report import Line, Panel, chart
from simulator.validation import __main__ as command
from simulator.validation import ejector_checks, report, standards
from simulator.validation.report import SUBJECTS, Report, make_report, to_html
from simulator.validation.rows import Figure, Row, Section, absent, at_least, at_most, equal, shown
from tests.conftest import thin

QUICK = ("air and water", "openings", "ejector", "friction", "greatest lift")


@pytest.fixture(scope="module")
def quick():
    return make_report(QUICK)


def test_every_quick_check_passes(quick):
    assert quick.passed, quick.misses
    assert quick.count("pass") > 150


@pytest.mark.parametrize("subject", [*thin("signatures", "books", "exact solutions"), "trends"])
def test_checks_on_runs_pass(subject):
    made = make_report((subject,))
    assert made.passed, made.misses
    assert made.count("pass") >= 4


def test_rows_say_what_is_judged_and_by_whom(quick):
    for section in quick.sections:
        every = section.all_rows
        assert not {row.what for row in every} & {row.source for row in every}, section.title
    judged = [row for section in quick.sections for row in section.rows if row.source == standards.NACA]
    assert any(row.what.startswith("18 table values") for row in judged)


def plotted(fragment: str) -> tuple[list[dict], dict]:
    """Traces and layout of a chart as the page gets it."""
    read, at, out = json.JSONDecoder(), fragment.index("Plotly.newPlot("), []
    for opening in "[{":
        found, end = read.raw_decode(fragment, at := fragment.index(opening, at))
        out.append(found)
        at = end
    return out[0], out[1]


def test_axes_are_as_they_were_asked_for():
    line = Line("a", [1.0, 100.0], [2.0, 3.0])
    _, layout = plotted(chart(Panel((line,), "x", "y", log_x=True), Panel((line,), "x", "y"), columns=2))
    kinds = {name: layout[name]["type"] for name in ("xaxis", "yaxis", "xaxis2", "yaxis2")}
    assert kinds == {"xaxis": "log", "yaxis": "linear", "xaxis2": "linear", "yaxis2": "linear"}
    assert [name for name in kinds if "dtick" in layout[name]] == ["xaxis"]  # a tick a power of ten


def test_the_steam_tables_points_lie_on_the_curve_drawn(quick):
    drawn = next(
        figure for s in quick.sections for figure in s.figures if figure.title == "What vacuum can do"
    )
    traces = {trace["name"]: trace for trace in plotted(drawn.html)[0] if trace["name"] == "IAPWS-IF97"}
    model = next(trace for trace in plotted(drawn.html)[0] if trace["name"] == "this model")
    if not traces:
        pytest.skip("the library of the steam tables is not installed")
    for x, y in zip(traces["IAPWS-IF97"]["x"], traces["IAPWS-IF97"]["y"], strict=True):
        assert y == pytest.approx(model["y"][model["x"].index(x)], rel=0.01)


@pytest.mark.full
def test_the_whole_report_passes(tmp_path):
    out = tmp_path / "report.html"
    assert command.main(["--out", str(out), "--quiet"]) == 0
    page = out.read_text(encoding="utf-8")
    for title in ("Fast against reference", "Runs drawn at random", "What the model does not do"):
        assert title in page


def test_the_page_stands_alone(quick):
    page = to_html(quick)
    body = page[page.index("<body>") :]
    assert page.count("<script>") - body.count("<script>") == 1  # the charts' library, once
    assert not re.search(
        r"<script[^>]+src=|<link[^>]+href=|<img[^>]+src=|@import", page[: page.index("<script>")] + body
    )
    assert "MathJax" not in body
    assert body.count("Plotly.newPlot(") == sum(len(section.figures) for section in quick.sections)
    assert "Every check is within its tolerance" in body
    assert "What the model does not do" in body
    assert "from memory" in body
    for section in quick.sections:
        for row in section.all_rows:
            assert row.source


def test_texts_are_escaped():
    row = equal("<b>what</b> & why", "<script>alert(1)</script>", 1.0, 1.0, "-", rel=0.1)
    page = to_html(Report((Section("<i>title</i>", "words", (row,)),)))
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<b>what</b>" not in page
    assert "<i>title</i>" not in page


def test_a_spoiled_formula_makes_the_command_fail(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(report, "SUBJECTS", {name: SUBJECTS[name] for name in QUICK})
    monkeypatch.setattr(command, "make_report", lambda progress: make_report(QUICK, progress))
    out = tmp_path / "report.html"
    assert command.main(["--out", str(out)]) == 0
    assert "0 missed" in capsys.readouterr().out
    true = standards.pressure_at_altitude
    monkeypatch.setattr(standards, "pressure_at_altitude", lambda h: 1.001 * true(h))
    assert command.main(["--out", str(out), "--quiet"]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "MISSED: Air and water: Air pressure at 1000 m" in told.err
    page = out.read_text(encoding="utf-8")
    assert "misses" in page or "miss their tolerance" in page
    assert 'class="miss"' in page


def test_a_spoiled_datum_makes_it_fail(monkeypatch):
    true = ejector_checks.read

    def spoiled(name):
        rows = true(name)
        if name == "ejector_loss_free.csv":
            rows[3] = rows[3] | {"entrainment_ratio": "0.35"}
        return rows

    monkeypatch.setattr(ejector_checks, "read", spoiled)
    made = make_report(("ejector",))
    assert not made.passed
    assert any("Loss-free entrainment" in sentence for sentence in made.misses)


def test_a_library_that_is_not_installed_is_said(monkeypatch):
    monkeypatch.setattr(standards, "library", lambda name: None)
    made = make_report(("air and water", "friction"))
    assert made.passed
    assert made.count("absent") == 4
    assert "not installed" in to_html(made)


def test_a_page_that_cannot_be_written_is_told_first(tmp_path, capsys):
    assert command.main(["--out", str(tmp_path / "no" / "such" / "folder.html")]) == 2
    assert "cannot be written" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("row", "state"),
    [
        (equal("a", "s", 1.0, 1.001, "Pa", rel=1e-2), "pass"),
        (equal("a", "s", 1.0, 1.001, "Pa", rel=1e-4), "miss"),
        (equal("a", "s", 0.0, 1.0, "Pa", rel=1e-2), "miss"),  # zero must fail
        (equal("a", "s", float("nan"), 1.0, "Pa", rel=1.0), "miss"),
        (equal("a", "s", 1.0, float("nan"), "Pa", abs_=1e9), "miss"),
        (equal("a", "s", 1.0, 1.0, "Pa"), "pass"),
        (at_most("a", "s", 1.0, 1.0, "Pa"), "pass"),
        (at_most("a", "s", 1.01, 1.0, "Pa"), "miss"),
        (at_most("a", "s", 1.01, 1.0, "Pa", margin=0.1), "pass"),
        (at_most("a", "s", float("nan"), 1.0, "Pa"), "miss"),
        (at_least("a", "s", 1.0, 1.0, "Pa"), "pass"),
        (at_least("a", "s", 0.99, 1.0, "Pa"), "miss"),
        (at_least("a", "s", float("nan"), 1.0, "Pa"), "miss"),
        (shown("a", "s", 5.0, 1.0, "Pa"), "shown"),
        (absent("a", "fluids"), "absent"),
    ],
)
def test_verdicts(row: Row, state):
    assert row.state == state
    section = Section("t", "w", (row,))
    assert section.count(state) == 1
    assert Report((section,)).passed == (state != "miss")


def test_a_miss_in_the_appendix_counts():
    miss = equal("a", "s", 2.0, 1.0, "Pa", rel=0.1)
    made = Report((Section("t", "w", (), (), (miss,)),))
    assert not made.passed
    assert made.misses == ["t: a: ours 2, theirs 1 Pa, within 10 %"]


def test_charts_are_fragments_of_fixed_width():
    html = chart(
        Panel((Line("a", [0, 1], [1, 2]), Line("b", [0, 1], [2, float("nan")], "markers", 1)), "x", "y")
    )
    assert "<html" not in html
    assert "660px" in html.replace(" ", "")
    assert "plotly.js v" not in html
    assert Figure("t", "c", html).html == html


def test_rows_can_be_changed_only_by_a_copy():
    row = at_most("a", "s", 1.0, 1.0, "Pa")
    assert replace(row, ours=2.0).state == "miss"
    with pytest.raises(AttributeError):
        row.ours = 2.0  # type: ignore[misc]
