"""The sheets on paper: each prints on one page of A4 and of Letter (a plan's curves on a second), nothing cut off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simulator.diagnosis.catalogue import page as catalogue_page
from simulator.panels.papers.card import yard_card
from simulator.panels.papers.job_form import job_form
from simulator.panels.papers.session_plans import plan_names, session_plan
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.texts import entry
from tests.browser.conftest import thin

SHEETS = {f"yard card {name}": (lambda name=name: yard_card(name)) for name in rig_names()}
SHEETS["observed job"] = job_form
SHEETS |= {f"plan {name}": (lambda name=name: session_plan(name)) for name in plan_names()}
MARGINS = 22.0  # [mm] left and right together, as in the style sheet
WIDTHS = {"A4": 210.0, "Letter": 215.9}  # [mm] ISO 216; ANSI/ASME Y14.1


def pages(pdf: bytes) -> int:
    """How many pages a PDF has, by its page objects."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


#: A card takes ten seconds to work out: one of them in the fast tier.
CARDS = [name for name in SHEETS if name.startswith("yard card")]
OTHERS = [name for name in SHEETS if name not in CARDS]


@pytest.mark.full
@pytest.mark.parametrize("paper", WIDTHS)
def test_no_table_of_the_catalogue_is_wider_than_its_page(
    tmp_path: Path, browser: Browser, paper: str
) -> None:
    file = tmp_path / "catalogue.html"
    file.write_text(catalogue_page(load_rig("osier"), standard_site("osier")), encoding="utf-8")
    wide = round((WIDTHS[paper] - MARGINS) / 25.4 * 96)
    page = browser.new_page(viewport={"width": wide, "height": 900})
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    over = page.evaluate("""() => [...document.querySelectorAll('table, pre, td, th')].filter((e) =>
      e.scrollWidth > e.clientWidth + 1 || e.getBoundingClientRect().right > document.documentElement.clientWidth + 1
    ).map((e) => e.outerHTML.slice(0, 90))""")
    page.close()
    assert over == []


@pytest.mark.parametrize("paper", thin(*WIDTHS))
@pytest.mark.parametrize("name", [*OTHERS, *thin(*CARDS)])
def test_one_page_and_one_more_for_the_curves_of_a_plan(
    tmp_path: Path, browser: Browser, name: str, paper: str
) -> None:
    file = tmp_path / "sheet.html"
    file.write_text(SHEETS[name](), encoding="utf-8")
    page = browser.new_page(viewport={"width": round((WIDTHS[paper] - MARGINS) / 25.4 * 96), "height": 900})
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    with_curves = name.startswith("plan ") and bool(
        entry("plans.lessons")[name.removeprefix("plan ")]["curves"]
    )
    assert pages(page.pdf(format=paper, print_background=True)) == 1 + with_curves
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    cut = page.evaluate(
        """[...document.querySelectorAll('td, th, li, p')]
          .filter(c => c.scrollWidth > c.clientWidth + 1).map(c => c.innerText)"""
    )
    assert cut == []
    page.close()
    assert asked == [file.as_uri()]
