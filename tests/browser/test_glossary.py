"""Words of the trade in a lesson: opened by click and key, closed by Escape, with the focus where it was."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from simulator.texts import entry
from tests.browser.conftest import OpenLesson, shoot, thin, wait_ready

HOME, DRAWS = "00_start_here.ipynb", "01_how_the_rig_draws_water.ipynb"


def opened(lesson_page: OpenLesson, lesson: str, **options: object) -> Page:
    """A lesson ready for use, however long a busy machine takes over the first one."""
    page = lesson_page(lesson, wait=False, **options)
    wait_ready(page, timeout=240)
    return page


def word(page: Page, part: str, term: str):
    return page.locator(f'[data-part="{part}"] .gloss-word[data-term="{term}"]').first


def test_a_word_opens_by_click_and_by_key_and_closes_by_escape(lesson_in_place: OpenLesson) -> None:
    page = opened(lesson_in_place, DRAWS)
    one = word(page, "ideas", "casing")
    one.click()
    panel = page.locator(".gloss-panel")
    expect(panel).to_have_count(1)
    expect(panel).to_contain_text("The house of the pump wheel")
    expect(panel.locator("svg")).to_have_attribute("aria-label", "Picture: casing")
    expect(one).to_have_attribute("aria-expanded", "true")
    shoot(page, "glossary-open")
    page.keyboard.press("Escape")
    expect(panel).to_have_count(0)
    expect(one).to_be_focused()
    page.keyboard.press("Enter")
    expect(panel).to_have_count(1)
    # reading goes on from the word to its meaning
    for _ in range(6):
        page.keyboard.press("Tab")
        if page.evaluate("Boolean(document.activeElement.closest('.gloss-panel'))"):
            break
    expect(panel.get_by_role("button", name="Close")).to_be_focused()
    page.keyboard.press("Enter")
    expect(panel).to_have_count(0)
    expect(one).to_be_focused()


@pytest.mark.full
def test_only_the_first_of_a_word_in_a_section_is_linked_and_no_control_is(lesson_page: OpenLesson) -> None:
    page = opened(lesson_page, DRAWS)
    page.wait_for_selector(".gloss-word")
    twice = page.evaluate(
        """() => [...document.querySelectorAll('.lesson-sheet .lesson-block')].flatMap((section) => {
          const terms = [...section.querySelectorAll('.gloss-word')].map((n) => n.dataset.term);
          return terms.filter((term, i) => terms.indexOf(term) !== i);
        })"""
    )
    assert twice == []
    assert page.locator(":is(button, a, label, h1, h2, h3) .gloss-word").count() == 0


@pytest.mark.full
def test_linked_words_live_through_a_redraw(lesson_page: OpenLesson) -> None:
    page = opened(lesson_page, DRAWS)
    ideas = page.locator('[data-part="ideas"]')
    word(page, "ideas", "casing").click()
    ideas.get_by_role("button", name="Next", exact=True).click()
    expect(word(page, "ideas", "nozzle")).to_be_visible()
    whole = ideas.locator(".lesson-idea p").nth(1).inner_text()
    assert "shoots through a nozzle into the ejector" in whole.replace("\n", " ")
    page.locator('[data-block="units"] button').last.click()
    expect(page.locator('[data-block="units"] button').last).to_have_attribute("aria-pressed", "true")
    expect(word(page, "ideas", "nozzle")).to_be_visible()


@pytest.mark.full
def test_it_fits_at_twice_the_text_size(lesson_page: OpenLesson) -> None:
    page = opened(lesson_page, HOME, size=(820, 1180))
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    linked = page.locator(".gloss-word")
    assert linked.count() >= 3
    linked.first.click()
    panel = page.locator(".gloss-panel")
    expect(panel).to_be_visible()
    shoot(page, "glossary-200")
    assert panel.evaluate("p => p.scrollWidth <= p.clientWidth + 1")
    assert panel.evaluate(
        """p => [...p.querySelectorAll('*')].every(
          (n) => n.getBoundingClientRect().right <= p.getBoundingClientRect().right + 1)"""
    )


@pytest.mark.full
@pytest.mark.parametrize("theme", thin("JupyterLab Light", "JupyterLab Dark"))
def test_every_picture_can_be_drawn(lesson_page: OpenLesson, theme: str) -> None:
    page = opened(lesson_page, HOME)
    page.wait_for_selector(".gloss-word")
    page.evaluate(f"window.jupyterapp.commands.execute('apputils:change-theme', {{theme: '{theme}'}})")
    page.locator(".gloss-word").first.click()
    drawn = page.locator(".gloss-panel svg")
    expect(drawn).to_be_visible()
    assert drawn.evaluate("s => s.querySelectorAll('path, circle, rect').length") >= 3


def test_the_catalogue_names_a_picture_for_every_word() -> None:
    from simulator.panels.page.assets import SCREEN

    source = (SCREEN / "src" / "lesson" / "glossary_pictures.js").read_text(encoding="utf-8")
    terms = entry("glossary.terms")
    assert len(terms) >= 30
    forms = [form.lower() for term in terms.values() for form in term["forms"]]
    assert len(forms) == len(set(forms))
    for name, term in terms.items():
        assert f"\n  {term['picture']}:" in source or f"\n  {term['picture']}(" in source, name
