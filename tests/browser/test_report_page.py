"""The printed validation page in a real browser: nothing fetched, nothing cut off, every chart drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simulator.validation.report import make_report, to_html
from tests.browser.conftest import thin


@pytest.mark.parametrize("width", thin(900, 1400))
def test_it_draws_offline_and_fits(tmp_path: Path, browser: Browser, width: int) -> None:
    page_file = tmp_path / "report.html"
    made = make_report(("openings", "ejector"))
    page_file.write_text(to_html(made), encoding="utf-8")
    fetched, broken = [], []
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
    page.close()
    assert fetched == []
    assert broken == []
