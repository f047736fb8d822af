"""Charts that stand still: the library comes with the first of them, they are read by pointer, by keys and as a table."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import plotly
import pytest
from playwright.sync_api import Browser, expect

from simulator.charts.curves import curve_figure
from simulator.panels.page import assets
from simulator.texts import text
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson
from tests.browser.live_exercise import serve_sources
from tests.browser.workbench import Workbench

CHART = {
    "lines": [{"label": "this rig", "style": "main", "points": [[float(t), 600.0 * t] for t in range(101)]}],
    "unit": {"name": "kPa", "size": 1e3},
    "span_s": 100.0,
    "high_pa": 6e4,
    "axis_x": "seconds",
    "axis_y": "kPa",
    "spoken": "A curve.",
}


def test_a_page_without_a_chart_fetches_nothing_of_the_chart_library(
    home_as_opened: Callable[[], Workbench],
) -> None:
    home = home_as_opened()
    assert home.asked
    assert [asked for asked in home.asked if "plotly" in asked] == []
    page = home.page
    assert page is not None
    assert page.evaluate("window.Plotly === undefined && typeof window.simulatorCharts.plotly") == "function"


def test_a_chart_is_read_by_keys_zoomed_saved_and_told_in_a_table(browser: Browser) -> None:
    """The page's own module in a bare page, with the library as the package brings it."""
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    serve_sources(page)
    page.set_content(
        "<!doctype html><html lang='en'><head><title>Chart</title></head>"
        "<body data-jp-theme-light='true'><main class='lesson-root palette'><div id='host'></div></main></body></html>"
    )
    page.add_style_tag(content=assets.built("lesson.css"))
    page.add_script_tag(path=Path(plotly.__file__).parent / "package_data" / "plotly.min.js")
    page.evaluate(
        """async (figure) => {
          window.simulatorCharts = { plotly: async () => window.Plotly };
          const { drawStillChart } = await import('https://sources.test/base/still_chart.js');
          drawStillChart(document.querySelector('#host'), figure);
        }""",
        curve_figure(CHART),
    )
    chart = page.locator("#host")
    plot = chart.locator(".still-plot")
    expect(plot.locator(".main-svg").first).to_be_visible()
    plot.focus()
    page.keyboard.press("End")
    expect(chart.locator(".still-readout")).to_have_text("this rig: 60 kPa, 100 s")
    span = "(plot) => { const [from, to] = plot.layout.xaxis.range; return to - from; }"
    page.keyboard.press("+")
    assert plot.evaluate(span) == 50.0
    page.keyboard.press("Escape")
    assert plot.evaluate(span) == 100.0
    chart.locator("summary").click()
    expect(chart.locator("tbody tr").nth(2)).to_be_visible()
    with page.expect_download() as saved:
        chart.get_by_role("button", name=text("charts.save")).click()
    assert saved.value.suggested_filename.endswith(".png")
    assert grave_findings(page, "#host") == []
    page.close()


def test_a_chart_follows_the_theme_after_it_was_off_the_page_too(browser: Browser) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    serve_sources(page)
    page.set_content(
        "<!doctype html><html lang='en'><head><title>Chart</title></head>"
        "<body data-jp-theme-light='true'><main class='lesson-root palette'><div id='host'></div></main></body></html>"
    )
    page.add_style_tag(content=assets.built("lesson.css"))
    page.add_script_tag(path=Path(plotly.__file__).parent / "package_data" / "plotly.min.js")
    page.evaluate(
        """async (figure) => {
          window.simulatorCharts = { plotly: async () => window.Plotly };
          const { drawStillChart } = await import('https://sources.test/base/still_chart.js');
          window.theme = async (light) => {  // as JupyterLab does it: meanwhile nothing on the page has a size
            document.body.style.display = 'none';
            document.body.dataset.jpThemeLight = light;
            await Promise.resolve();
            document.body.style.display = '';
            await new Promise((done) => setTimeout(done, 200));
          };
          window.again = async () => {
            const host = document.querySelector('#host');
            const home = host.parentElement;
            host.remove();
            await window.theme('false');
            home.append(host);
            await window.theme('false');
          };
          drawStillChart(document.querySelector('#host'), figure);
        }""",
        curve_figure(CHART),
    )
    ink = page.locator("#host .still-plot .main-svg text").first
    fill = "node => getComputedStyle(node).fill"
    light = ink.evaluate(fill)
    page.evaluate("window.theme('false')")
    dark = ink.evaluate(fill)
    assert dark != light
    page.evaluate("window.theme('true')")
    assert ink.evaluate(fill) == light
    page.evaluate("window.again()")
    assert ink.evaluate(fill) == dark
    page.evaluate("window.theme('true')")
    assert ink.evaluate(fill) == light
    page.close()


def test_where_no_chart_can_be_drawn_the_table_stands_open(browser: Browser) -> None:
    page = browser.new_page()
    serve_sources(page)
    page.set_content("<!doctype html><main class='palette'><div id='host'></div></main>")
    page.evaluate(
        """async (figure) => {
          const { drawStillChart } = await import('https://sources.test/base/still_chart.js');
          drawStillChart(document.querySelector('#host'), figure);
        }""",
        curve_figure(CHART),
    )
    expect(page.get_by_text(text("charts.not_here"))).to_be_visible()
    expect(page.locator("tbody tr").first).to_be_visible()
    page.close()


@pytest.mark.full
def test_another_notebooks_figure_is_still_drawn(lesson_page: OpenLesson) -> None:
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
