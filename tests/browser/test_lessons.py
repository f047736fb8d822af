"""The lessons in a real browser: what a learner sees, types and clicks, and that it is there again afterwards."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import LESSONS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, at_rest, kill_kernel, shoot, thin, wait_ready
from tests.browser.keys import key_faults
from tests.browser.walking import to_the_page

HOME, DRAWS, YARD = "00_start_here.ipynb", "01_how_the_rig_draws_water.ipynb", "09_practice_yard.ipynb"
SIZES = [(1280, 800), (820, 1180)]
THEMES = ["JupyterLab Light", "JupyterLab Dark"]


def press(page: Page, name: str | re.Pattern[str]) -> None:
    page.get_by_role("button", name=name, exact=isinstance(name, str)).first.click()


def part(page: Page, name: str):
    return page.locator(f'[data-part="{name}"]')


def set_theme(page: Page, theme: str) -> None:
    page.evaluate(f"window.jupyterapp.commands.execute('apputils:change-theme', {{theme: '{theme}'}})")
    light = "true" if theme == THEMES[0] else "false"
    page.wait_for_selector(f'body[data-jp-theme-light="{light}"]', state="attached")
    page.wait_for_timeout(
        1000
    )  # JupyterLab stumbles over a second change while it still takes the old sheet away


def guess_all(page: Page) -> None:
    for _ in range(4):
        part(page, "ideas").get_by_role("button", name="Next", exact=True).click()
    page.get_by_label(re.compile("^You start the engine")).fill("45")
    press(page, "That is my answer")
    part(page, "predict").get_by_role(
        "button", name=re.compile(r"^[89]\d kPa")
    ).first.click()  # as deep as the jet draws
    press(page, "It takes longer, and the gauge shows more when the water arrives")
    page.wait_for_selector(".ex-root")


def start_engine(page: Page) -> None:
    press(page, re.compile("^Put on gloves"))
    expect(page.locator(".ex-card-notes").get_by_text("boots and ear protection on.")).to_be_visible()
    press(page, re.compile("^Tie down the discharge"))
    expect(page.locator(".ex-card-notes").get_by_text("Nobody near it.")).to_be_visible()
    press(page, "Start the engine")
    expect(page.get_by_role("button", name="Stop the engine")).to_be_visible()


def layout_faults(page: Page) -> list[str]:
    """Parts of the lesson that stick out sideways, controls that are too small to touch, and text that is cut."""
    return page.evaluate(
        """() => {
          const found = [];
          for (const root of document.querySelectorAll('.lesson-root')) {
            const box = root.getBoundingClientRect();
            if (root.scrollWidth > root.clientWidth + 1) found.push(`${root.dataset.part} is wider than its place`);
            for (const node of root.querySelectorAll('button, a, input, select')) {
              const size = node.getBoundingClientRect();
              if (!size.width) continue;
              const name = node.textContent || node.type;
              if (size.height < 43.5 || size.width < 43.5) found.push(`${name}: ${size.width}x${size.height}`);
              if (size.right > box.right + 1 || size.left < box.left - 1) found.push(`${name} sticks out`);
            }
            for (const node of root.querySelectorAll('p, h1, h2, h3, li, th, td')) {
              if (node.scrollWidth > node.clientWidth + 2 && node.clientWidth) found.push(`cut: ${node.textContent}`);
            }
          }
          return found;
        }"""
    )


def contrast_faults(page: Page) -> list[str]:
    """Words of the lesson whose contrast to what lies behind is under 4.5 (WCAG 2.2, success criterion 1.4.3)."""
    return page.evaluate(
        """() => {
          const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
          const rgb = (colour, under) => {
            canvas.fillStyle = under || '#fff'; canvas.fillRect(0, 0, 1, 1);
            canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1);
            return [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3);
          };
          const shine = (c) => {
            const [r, g, b] = c.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
            return 0.2126 * r + 0.7152 * g + 0.0722 * b;
          };
          const behind = (node) => {
            for (let n = node; n; n = n.parentElement) {
              const { backgroundColor } = getComputedStyle(n);
              if (!/rgba\\(0, 0, 0, 0\\)|transparent/.test(backgroundColor)) return backgroundColor;
            }
            return '#fff';
          };
          const found = [];
          const worded = '.lesson-root :is(p, h1, h2, h3, li, th, td, button, a, span, label)';
          for (const node of document.querySelectorAll(worded)) {
            const own = [...node.childNodes].some((c) => c.nodeType === 3 && c.textContent.trim());
            if (!own || !node.getClientRects().length || node.closest('.lesson-hidden')) continue;
            const back = behind(node);
            const a = shine(rgb(getComputedStyle(node).color, back)), b = shine(rgb(back));
            const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            if (ratio < 4.5) found.push(`${ratio.toFixed(2)} ${node.textContent.slice(0, 40)}`);
          }
          return found;
        }"""
    )


def open_to_all(page: Page) -> None:
    """Nothing hard to read and no serious finding of axe-core, in the dark and in the light theme; no key hurts it."""
    for theme in reversed(THEMES):
        set_theme(page, theme)
        assert contrast_faults(page) == []
        assert grave_findings(page) == []
    assert key_faults(page) == []


@pytest.mark.parametrize("size", thin(*SIZES), ids=lambda size: f"{size[0]}x{size[1]}")
def test_start_here_from_top_to_end(lesson_in_place: OpenLesson, size: tuple[int, int]) -> None:
    page = lesson_in_place(HOME, size=size)
    shoot(page, f"lesson-00-new-{size[0]}")
    assert grave_findings(page) == []
    page.get_by_label("Your name", exact=True).fill("Ash Reed")
    page.get_by_label("Your name", exact=True).press("Enter")
    expect(page.get_by_text("Good to see you, Ash Reed")).to_be_visible()
    press(page, "I have read this")
    expect(page.get_by_text("You have read the cautions.")).to_be_visible()
    press(page, "about 3.1 m")
    slider = part(page, "gauges").get_by_role("slider", name="Vacuum")
    slider.fill("40000")
    expect(page.get_by_text("40 kPa = 11.8 inHg")).to_be_visible()
    for question in ("What does this suction gauge show?", "What does this motive air gauge show?"):
        page.get_by_label(question).fill("5")
        press(page, "That is my answer")
        expect(page.get_by_label(question)).to_have_count(0)
    expect(page.get_by_text("a gauge was not read right")).to_be_visible()  # five is not what they show
    open_to_all(page)
    assert layout_faults(page) == []
    shoot(page, f"lesson-00-done-{size[0]}")
    if size == SIZES[0]:
        lesson_in_place(HOME, size=size)  # closed and opened again
    else:
        page.reload()
        wait_ready(page)
    expect(page.get_by_text("Good to see you, Ash Reed")).to_be_visible()
    expect(page.get_by_label("Your name", exact=True)).to_have_value("Ash Reed")
    expect(page.get_by_role("button", name="do this now: Read the two gauges")).to_be_visible()


@pytest.mark.full
def test_the_guided_look_points_at_what_is_there(lesson_page: OpenLesson) -> None:
    page = lesson_page(HOME)
    press(page, "Show me the screen")
    page.wait_for_selector(".ex-root")
    tour = part(page, "tour")
    total = int(tour.locator(".lesson-step").inner_text().split()[-1])
    for number in range(1, total + 1):
        expect(tour.locator(".lesson-step")).to_have_text(f"{number} of {total}")
        lit = page.locator(".lesson-lit")
        expect(lit).to_have_count(1)
        expect(lit).to_be_visible()
        at_rest(page)  # the page scrolls gently
        words, shown = tour.bounding_box(), lit.bounding_box()
        assert words["y"] >= -1, "the words stay in view"
        assert words["y"] + words["height"] <= shown["y"] + 8, "what they speak of is not covered by them"
        assert shown["y"] < 760, "what they speak of is in view"
        if number in (2, total):
            shoot(page, f"lesson-00-tour-{number}")
        if number < total:
            tour.get_by_role("button", name="Next", exact=True).click()
    press(page, "Put the screen away")
    expect(page.locator(".ex-root")).to_have_count(0)


@pytest.mark.full
@pytest.mark.parametrize("mode", thin("doc", "lab"))
def test_links_open_the_other_lessons(lesson_page: OpenLesson, server: Server, mode: str) -> None:
    page = lesson_page(HOME, mode=mode)
    links = page.locator(".lesson-contents a")
    expect(links).to_have_count(len(LESSONS) - 1)
    links.first.click()
    page.wait_for_url(f"**/{mode}/tree/lessons/{DRAWS}*")
    wait_ready(page)
    expect(page.get_by_role("heading", name="How the rig draws water")).to_be_visible()


@pytest.mark.full
def test_the_whole_of_lesson_01(lesson_page: OpenLesson) -> None:
    page = lesson_page(DRAWS)
    shoot(page, "lesson-01-new")
    assert grave_findings(page) == []
    expect(part(page, "run").get_by_text("First your three guesses")).to_be_visible()
    guess_all(page)
    # the time was asked already: the exercise is ready to start
    expect(page.locator(".ex-ask")).to_be_hidden()
    start_engine(page)
    press(page, "Clock times 20")
    expect(page.get_by_text(re.compile("^The pump has its prime after"))).to_be_visible(timeout=20_000)
    shoot(page, "lesson-01-run")
    press(page, "Hold")
    assert grave_findings(page) == []
    page.locator(".ex-card-call select").select_option("sound")
    more = page.get_by_role("button", name=re.compile("^One marker more on nothing wrong"))
    for _ in range(10):
        if page.get_by_text("All markers placed.").count():
            break
        more.click()
    press(page, "Lock my first call")
    expect(page.get_by_text("Your first call, locked")).to_be_visible()
    press(page, "Job done: it pumps")
    compare = part(page, "compare")
    expect(compare.get_by_role("table")).to_be_visible(timeout=60_000)
    compare.locator(".still-chart").first.scroll_into_view_if_needed()  # a chart is drawn when it comes near
    expect(compare.locator(".still-chart .main-svg").first).to_be_visible()
    shoot(page, "lesson-01-compare")
    check = part(page, "check")
    for number in range(1, 5):
        expect(check.locator(".lesson-step").last).to_have_text(f"Question {number} of 4")
        check.locator(".lesson-option").first.click()
        expect(check.locator(".lesson-says")).to_have_count(number)
    expect(check.get_by_text(re.compile(r"You had \d of 4 right"))).to_be_visible()
    press(page, "On to the rig with a fault")
    expect(
        page.get_by_text("something is not right")
    ).to_be_in_viewport()  # what comes next is shown by itself
    expect(page.get_by_role("button", name="Start", exact=False).first).to_be_in_viewport()
    page.wait_for_selector(".ex-root")
    open_to_all(page)
    assert layout_faults(page) == []
    page.set_viewport_size({"width": 820, "height": 1180})
    at_rest(page)
    assert layout_faults(page) == []


@pytest.mark.full
def test_lesson_01_goes_on_after_the_kernel_was_killed(lesson_page: OpenLesson, server: Server) -> None:
    page = lesson_page(DRAWS)
    guess_all(page)
    start_engine(page)
    page.wait_for_function("() => parseInt(document.querySelector('.ex-now').textContent) >= 5")
    kill_kernel(page, server)
    expect(page.get_by_role("button", name="Stop the engine")).to_be_visible()
    expect(
        page.locator(".ex-card-notes").get_by_text("You said: a good rig primes here after about 45 s.")
    ).to_be_visible()
    expect(part(page, "predict").get_by_text("45 s")).to_be_visible()


@pytest.mark.full
def test_the_practice_yard_goes_on_after_a_reload(lesson_page: OpenLesson) -> None:
    page = lesson_page(YARD)
    page.wait_for_selector(".ex-root")
    shoot(page, "lesson-09")
    expect(page.locator("dialog.ex-window")).to_be_hidden()  # who is here for the first time reads the page
    expect(page.get_by_text("Pick how hard it is in the list")).to_be_visible()
    page.get_by_label("Level").select_option("usual")
    expect(page.locator(".ex-status")).to_contain_text("The call that waits is one of this level now.")
    expect(page.locator("dialog.ex-window")).to_be_hidden()
    press(page, "Take the call")
    expect(page.locator("dialog.ex-window")).to_be_visible()
    title = page.locator(".ex-header h1").inner_text()
    press(page, re.compile("^Put on gloves"))
    expect(page.locator(".ex-status")).to_contain_text("boots and ear protection on.")
    assert grave_findings(page) == []
    page.reload()
    wait_ready(page)
    expect(page.locator(".ex-header h1")).to_have_text(title)
    to_the_page(page)
    expect(page.locator(".ex-card-notes").get_by_text("boots and ear protection on.")).to_be_visible()
    open_to_all(page)
    assert layout_faults(page) == []
    page.reload()
    wait_ready(page)
    expect(page.locator(".ex-enter")).to_be_visible()  # left for the page, it stays on the page
    expect(page.locator("dialog.ex-window")).to_be_hidden()


@pytest.mark.full
def test_keys_typed_into_a_lesson_stay_in_it(lesson_page: OpenLesson) -> None:
    """JupyterLab's one-letter commands cut, insert and delete cells."""
    page = lesson_page(HOME)
    cells = page.locator(".jp-Cell").count()
    field = page.get_by_label("Your name", exact=True)
    field.click()
    page.keyboard.type("bad dd xx ab")
    expect(field).to_have_value("bad dd xx ab")
    button = page.get_by_role("button", name="I have read this")
    button.focus()
    for key in ("b", "x", "d", "d", "a", "y"):
        page.keyboard.press(key)
    assert page.locator(".jp-Cell").count() == cells
    button.press("Enter")
    expect(page.get_by_text("You have read the cautions.")).to_be_visible()
