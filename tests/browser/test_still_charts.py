"""Charts that stand still: the library comes with the first of them, they are read by pointer, by keys and as a table."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson


def plotly_requests(page: Page, seen: list[str]) -> None:
    page.on("request", lambda request: seen.append(request.url) if "plotly" in request.url else None)


def test_a_page_without_a_chart_fetches_nothing_of_the_chart_library(lesson_page: OpenLesson) -> None:
    seen: list[str] = []
    page = lesson_page("00_start_here.ipynb", before=lambda page: plotly_requests(page, seen))
    page.wait_for_timeout(1500)
    assert seen == []
    assert page.evaluate("window.Plotly === undefined && typeof window.simulatorCharts.plotly") == "function"


def test_the_planners_curve_is_drawn_read_zoomed_and_told_in_a_table(lesson_page: OpenLesson) -> None:
    seen: list[str] = []
    page = lesson_page("02_how_long_should_it_take.ipynb", before=lambda page: plotly_requests(page, seen))
    chart = page.locator(".lesson-block-planner .still-chart")
    chart.scroll_into_view_if_needed()
    plot = chart.locator(".still-plot")
    expect(plot.locator(".main-svg").first).to_be_visible()
    assert sum("remoteEntry" in address for address in seen) == 1
    plot.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(chart.locator(".still-readout")).to_contain_text(" s")
    span = "(plot) => { const [from, to] = plot.layout.xaxis.range; return to - from; }"
    whole = plot.evaluate(span)
    page.keyboard.press("+")
    assert plot.evaluate(span) == whole / 2
    page.keyboard.press("Escape")
    assert plot.evaluate(span) == whole
    chart.locator("summary").click()
    expect(chart.locator("tbody tr").nth(2)).to_be_visible()
    with page.expect_download() as saved:
        chart.get_by_role("button").nth(3).click()
    assert saved.value.suggested_filename.endswith(".png")
    assert grave_findings(page, ".lesson-block-planner") == []


def test_another_notebooks_figure_is_still_drawn(lesson_page: OpenLesson, server: object) -> None:
    """A plotly figure in somebody's own notebook meets the renderer that fetches the library when it is wanted."""
    page = lesson_page("00_start_here.ipynb")
    drawn = page.evaluate(
        """async () => {
          const app = window.jupyterapp;
          const notebook = app.shell.currentWidget;
          const renderer = notebook.content.rendermime.createRenderer('application/vnd.plotly.v1+json');
          const data = { 'application/vnd.plotly.v1+json': { data: [{ x: [1, 2], y: [3, 4] }], layout: { width: 300 } } };
          await renderer.renderModel({ data, metadata: {}, trusted: true });
          return renderer.node.querySelectorAll('.main-svg').length;
        }"""
    )
    assert drawn > 0
