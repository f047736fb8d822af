"""Lessons 02 to 05 in a real browser, from their first word to their marks."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from simulator.panels.lessons.registry import LESSONS
from tests.browser.axe import grave_findings
from tests.browser.conftest import OpenLesson, Server, kill_kernel, shoot, wait_ready
from tests.browser.test_lessons import (
    SIZES,
    THEMES,
    contrast_faults,
    layout_faults,
    open_to_all,
    part,
    set_theme,
)
from tests.browser.walking import to_the_page

WALKS = [
    ("03", SIZES[1], THEMES[1]),
    ("02", SIZES[0], THEMES[0]),
    ("04", SIZES[0], THEMES[1]),
    ("05", SIZES[1], THEMES[0]),
]


def walk_ideas(page: Page) -> None:
    ideas = part(page, "ideas")
    for _ in range(8):
        button = ideas.get_by_role("button", name="Next", exact=True)
        if button.get_attribute("aria-disabled") == "true":
            break
        button.click()
    expect(ideas.get_by_text("Now say what you expect")).to_be_visible()


def answer_all(page: Page, name: str, end: str, on: re.Pattern[str] = re.compile("^$")) -> None:
    """Answer whatever a part asks with its first option, and go on until the words of its end are there."""
    here = part(page, name)
    options, forward = here.locator(".lesson-option"), here.get_by_role("button", name=on)
    over = here.get_by_text(re.compile(end))
    for _ in range(60):
        expect(options.or_(forward).or_(over).first).to_be_visible()
        if over.count():
            return
        pressed = options.first if options.count() else forward.first
        block = pressed.locator("xpath=ancestor::section").get_attribute("data-block")
        kind = ".lesson-option" if options.count() else "button"
        place = f'[data-block="{block}"] {kind}'
        before = page.locator(place).count()
        pressed.click()
        # a question that is answered wrongly is asked once more, without that answer
        page.wait_for_function(
            "([place, before]) => document.querySelectorAll(place).length < before", arg=[place, before]
        )
    raise AssertionError(f"{name} has no end")


def play_runs(page: Page) -> None:
    """Play each run to its end by moving its clock there; the page stays with the last one until one goes on."""
    run = part(page, "run")
    for _ in range(8):
        slide = run.locator('input[type="range"]')
        slide.focus()
        slide.press("End")
        expect(run.locator(".lesson-replay-clock")).not_to_have_text("0 s")
        following = run.get_by_role("button", name=re.compile("^Next: "))
        on = run.get_by_role("button", name="On to: your guesses and the run")
        expect(following.or_(on).first).to_be_visible()
        if not following.count():
            break
        following.click()
    expect(run.locator(".lesson-remark-words")).to_be_in_viewport()
    on.click()
    expect(run.locator('[data-block="compare_heading"]')).to_be_in_viewport()


def plan_something(page: Page) -> None:
    """A longer hose in the planner: another time, and its range."""
    planner = part(page, "planner")
    time = planner.locator(".lesson-planner-time")
    before = time.inner_text()
    slide = planner.get_by_label(re.compile("^Length of the hose"))
    slide.focus()
    for _ in range(6):
        slide.press("ArrowRight")
    expect(time).not_to_have_text(before)
    expect(planner.get_by_text(re.compile("^Of rigs like this"))).to_be_visible()
    expect(planner.get_by_text("You have used the planner")).to_be_visible()


MARKING = 120_000  # [ms] for marks on a busy machine
GO_ON = re.compile("^(Go on|And so|The next case|Done with the cases|Next|See how it went)")


def take_cases(page: Page, number: str) -> None:
    """Two cases in words, then the call, handed over at once; in one lesson with a new start, in one with its marks."""
    answer_all(page, "case", "^Now a real call", GO_ON)
    part(page, "case").get_by_role("button", name="Take the call").click()
    expect(page.locator("dialog.ex-window")).to_be_visible()
    if number == "04":
        page.get_by_role("button", name=re.compile("^Put on gloves")).click()
        expect(page.locator(".ex-status")).to_contain_text("boots and ear protection on.")
        shoot(page, "alone-begun")
        page.reload()
        wait_ready(page)
        expect(page.locator("dialog.ex-window")).to_be_visible()
        done = page.locator(".ex-card-notes").get_by_text("boots and ear protection on.")
        page.locator(".ex-tab-notes").click()
        expect(done).to_be_visible()
    page.locator(".ex-tab-call").click()
    page.get_by_role("button", name="Hand over the job…").click()
    page.get_by_role("button", name="Yes, hand it over").click()
    to_the_page(page)
    after = part(page, "case-after")
    expect(after.get_by_text(re.compile("^That was your call"))).to_be_visible()
    if number == "03":
        marked = after.get_by_text(re.compile("^That was your call: .* of 100"))
        expect(marked).to_be_visible(timeout=MARKING)
        shoot(page, "alone-marked")
    after.get_by_role("button", name="Done with the cases").click()
    done = part(page, "case").get_by_text(re.compile("^You have done all three"))
    expect(done).to_be_visible()
    expect(done).to_be_in_viewport()


def take_lesson(page: Page, look: Callable[[Page], None] = lambda page: None, number: str = "") -> None:
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    look(page)
    play_runs(page)
    look(page)
    if part(page, "planner").count():
        plan_something(page)
    if part(page, "case").count():
        take_cases(page, number)
    answer_all(page, "drills", "^You had", GO_ON)
    answer_all(page, "check", "^You had", GO_ON)
    left = part(page, "aim").locator('li[data-state="now"]')
    expect(left.filter(has_not_text=re.compile(r"weak: \d+ of 100"))).to_have_count(
        0
    )  # no step is left to do


def no_faults(page: Page) -> None:
    assert layout_faults(page) == []
    assert contrast_faults(page) == []


@pytest.mark.full
@pytest.mark.parametrize(("number", "size", "theme"), WALKS)
def test_from_the_first_word_to_the_marks(
    lesson_page: OpenLesson, number: str, size: tuple[int, int], theme: str
) -> None:
    page = lesson_page(LESSONS[number].notebook, size=size)
    assert grave_findings(page, ".lesson-root") == []
    set_theme(page, theme)
    no_faults(page)
    take_lesson(page, no_faults, number)
    assert layout_faults(page) == []
    open_to_all(page)
    shoot(page, f"lesson-{number}-done")


@pytest.mark.full
def test_a_lesson_goes_on_after_the_kernel_was_killed(lesson_page: OpenLesson, server: Server) -> None:
    page = lesson_page(LESSONS["03"].notebook)
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    kill_kernel(page, server)
    expect(part(page, "predict").get_by_text(re.compile("^Your guesses are kept"))).to_be_visible()
    expect(part(page, "run").locator(".lesson-replay-clock")).to_be_visible()
    expect(part(page, "aim").locator('li[data-state="now"]')).to_contain_text("Let it run")


@pytest.mark.full
def test_a_run_plays_by_itself_and_needs_no_kernel(lesson_page: OpenLesson, server: Server) -> None:
    page = lesson_page(LESSONS["03"].notebook)
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    run = part(page, "run")
    server.kill_kernels()
    run.get_by_role("button", name="×20").click()
    run.get_by_role("button", name="Run it", exact=True).click()
    expect(run.get_by_role("button", name=re.compile("^Next: "))).to_be_visible()
    expect(run.locator(".lesson-replay-clock")).to_have_text("70 s")


@pytest.mark.full
def test_the_planner_saves_a_table_that_stands_by_itself(lesson_page: OpenLesson, tmp_path) -> None:
    page = lesson_page(LESSONS["02"].notebook)
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    play_runs(page)
    planner = part(page, "planner")
    planner.get_by_role("button", name="Make a table for this lift").click()
    link = planner.get_by_role("link", name="Save the table to print")
    expect(link).to_be_visible(timeout=90_000)
    with page.expect_download() as waiting:
        link.click()
    saved = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(saved)
    words = saved.read_text(encoding="utf-8")
    assert saved.name == "priming_times.html"
    assert "150 mm" in words
    assert "Training aid only" in words
    expect(planner.locator(".lesson-planner-table tbody tr")).to_have_count(3)


@pytest.mark.full
def test_keys_alone_answer_a_drill(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSONS["04"].notebook)
    walk_ideas(page)
    predict = part(page, "predict")
    first = predict.locator(".lesson-option").first
    first.focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(predict.get_by_text("Guess 2 of 3")).to_be_visible()
    # the letters of JupyterLab's commands do nothing to the lesson
    for key in "bxdd":
        page.keyboard.press(key)
    expect(predict.get_by_text("Guess 2 of 3")).to_be_visible()
    expect(page.locator(".lesson-root")).to_have_count(8)
