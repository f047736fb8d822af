"""The printed page in a real browser: nothing fetched, nothing cut off, every chart drawn."""

from __future__ import annotations

import os

import pytest

from simulator.validation.report import make_report, to_html
from tests.conftest import NO_BROWSER, REQUIRE_BROWSER, find_browser

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [900, 1400])
def test_it_draws_offline_and_fits(tmp_path, width):
    sync_api = pytest.importorskip("playwright.sync_api")
    browser_path = find_browser()
    if browser_path is None:
        (pytest.fail if os.environ.get(REQUIRE_BROWSER) else pytest.skip)(NO_BROWSER)
    page_file = tmp_path / "report.html"
    made = make_report(("air and water", "openings", "ejector"))
    page_file.write_text(to_html(made), encoding="utf-8")
    fetched, broken = [], []
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=browser_path, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": width, "height": 1000})
        page.on(
            "request", lambda request: fetched.append(request.url) if request.url.startswith("http") else None
        )
        page.on("pageerror", lambda error: broken.append(str(error)))
        page.goto(page_file.as_uri())
        figures = sum(len(section.figures) for section in made.sections)
        page.wait_for_function(f"document.querySelectorAll('.main-svg').length >= {2 * figures}")
        assert page.locator("figure").count() == figures
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        cut = page.evaluate(
            "[...document.querySelectorAll('td')].filter(c => c.scrollWidth > c.clientWidth + 1).map(c => c.innerText)"
        )
        assert cut == []
        charts = page.locator(".plot .main-svg").evaluate_all(
            "all => all.map(c => c.getBoundingClientRect().width)"
        )
        assert max(charts) <= 660
        assert len(page.pdf(prefer_css_page_size=True, print_background=True)) > 20_000
        browser.close()
    assert fetched == []
    assert broken == []
