"""Steps through a page as data files name them: what somebody at the page clicks, types and waits for."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import Any

from playwright.sync_api import Error as PageError
from playwright.sync_api import Locator, Page

from simulator.panels.page.dial import dial
from tests.browser.test_lessons_a import GO_ON, answer_all, play_runs, take_cases, walk_ideas
from tests.browser.walking import named, to_the_page

THEMES = {"light": "JupyterLab Light", "dark": "JupyterLab Dark"}
OPEN_QUESTION = ".lesson-options .lesson-option"
WRONG = ".lesson-says-other"
SWEEP = 135.0  # degrees to either side that the scale of a dial takes up
LONGEST = 80  # presses through a part
PATIENCE = 60  # [s] for what a run or the marking has to bring


#: Whole parts of a taught lesson, as its tests take them.
TAUGHT = {
    "ideas": walk_ideas,
    "predict": lambda page: answer_all(page, "predict", "^Your guesses are kept"),
    "run": play_runs,
    "case": lambda page: take_cases(page, ""),
    "words": lambda page: answer_all(page, "case", "^Now a real call", GO_ON),
    "drills": lambda page: answer_all(page, "drills", "^You had", GO_ON),
    "check": lambda page: answer_all(page, "check", "^You had", GO_ON),
}


def in_a_row(states: list[Any]) -> list[dict[str, Any]]:
    """States of a page, those of a list within the list as if they stood in it."""
    return [one for each in states for one in (each if isinstance(each, list) else [each])]


def set_theme(page: Page, theme: str) -> None:
    """One of JupyterLab's themes; the light one is there from the start, unless a test before chose the dark one."""
    wanted = f'body[data-jp-theme-light="{str(theme == "light").lower()}"]'
    if theme == "light" and page.locator(wanted).count():
        return
    page.evaluate(
        f"window.jupyterapp.commands.execute('apputils:change-theme', {{theme: '{THEMES[theme]}'}})"
    )
    page.wait_for_selector(wanted, state="attached")
    page.wait_for_timeout(800)


def part(page: Page, name: str) -> Locator:
    """A part of a lesson."""
    return page.locator(f'[data-part="{name}"]')


def step(page: Page, what: dict[str, Any]) -> None:
    """One step of a state; names are English, and found in the made-up language too.

    ``click``, ``click_like``: a button by its name or the start of it, in a ``part`` where one is named, ``times`` over;
    ``fill``, ``fill_like``: a field by its label; ``type``, ``slide``, ``press``, ``each``: by a selector; ``term``,
    ``option``, ``choose``, ``key``; ``taught``: a whole part; ``wait``, ``wait_text``,
    ``pause``; ``seconds`` of the exercise's run; ``replayed`` seconds of a lesson's run; ``play_runs`` to their ends;
    ``answer``: go on through a part ``until`` some words are there (``with`` options that begin so); ``wrong``: until an
    answer was not right; ``read_gauge``; turn the ``wheel`` so many pixels; ``hand_in`` so many cases.
    """
    where: Page | Locator = part(page, what["part"]) if "part" in what else page
    if "click" in what:
        for _ in range(what.get("times", 1)):
            where.get_by_role("button", name=named(what["click"])).first.click()
    elif "click_like" in what:
        name = named(what["click_like"], whole=False)
        for _ in range(what.get("times", 1)):
            where.get_by_role("button", name=name).first.click()
    elif "fill" in what:
        page.get_by_label(named(what["fill"])).first.fill(what["with"])
    elif "fill_like" in what:
        page.get_by_label(named(what["fill_like"], whole=False)).fill(what["with"])
    elif "term" in what:
        if page.locator(".gloss-word").count():  # the made-up language links none
            page.locator(f'.gloss-word[data-term="{what["term"]}"]').first.click()
    elif "option" in what:
        page.locator(f'[data-part="{what["part"]}"] {OPEN_QUESTION}').nth(what["option"]).click()
    elif "choose" in what:
        page.locator(what["choose"]).select_option(what["value"])
    elif "slide" in what:
        page.locator(what["slide"]).first.fill(str(what["with"]))
    elif "type" in what:
        page.locator(what["type"]).first.fill(what["with"])
    elif "press" in what:
        page.locator(what["press"]).first.click()
    elif "each" in what:
        for number in range(page.locator(what["each"]).count()):
            page.locator(what["each"]).nth(number).click()
    elif "taught" in what:
        TAUGHT[what["taught"]](page)
    elif "key" in what:
        page.keyboard.press(what["key"])
    elif "wait" in what:
        page.wait_for_selector(what["wait"], timeout=1000 * what.get("patience", PATIENCE))
    elif "wait_text" in what:
        page.get_by_text(what["wait_text"]).first.wait_for(timeout=1000 * PATIENCE)
    elif "seconds" in what:
        _wait_clock(page, ".ex-now", int(what["seconds"]))
    elif "replayed" in what:
        _wait_clock(page, ".lesson-replay-clock", int(what["replayed"]))
    elif "play_runs" in what:
        _play_runs(page, what["play_runs"])
    elif "answer" in what:
        over = part(page, what["answer"]).get_by_text(re.compile(what["until"]))
        _answer(page, what["answer"], over, tuple(what.get("with", ())))
    elif "wrong" in what:
        _answer(page, what["wrong"], part(page, what["wrong"]).locator(WRONG))
    elif "read_gauge" in what:
        _read_gauge(page, what["read_gauge"])
    elif "wheel" in what:
        page.mouse.wheel(0, what["wheel"])
        page.wait_for_timeout(600)
    elif "hand_in" in what:
        _hand_in(page, int(what["hand_in"]))
    else:
        page.wait_for_timeout(what["pause"])


def _wait_clock(page: Page, clock: str, seconds: int) -> None:
    with suppress(PageError):
        page.get_by_role("button", name=named("Clock times 5", whole=False)).click(timeout=500)
    page.wait_for_function(
        "([clock, seconds]) => parseInt(document.querySelector(clock)?.textContent || '0') >= seconds",
        arg=[clock, seconds],
        timeout=1000 * PATIENCE,
    )


def _play_runs(page: Page, name: str) -> None:
    """Play each run of a lesson to its end, at the fastest."""
    run = part(page, name)
    for _ in range(LONGEST):
        run.get_by_role("button", name="×20", exact=True).click()
        play = run.get_by_role("button", name="Run it", exact=True)
        if play.count():
            play.click()
        following = run.get_by_role("button", name=re.compile("^Next: "))
        following.or_(run.locator('[data-block="on"]')).first.wait_for(timeout=1000 * PATIENCE)
        if not following.count():
            return
        following.click()


def _answer(page: Page, name: str, over: Locator, wanted: tuple[str, ...] = ()) -> None:
    """Answer whatever a part asks, with an option that begins as wanted or else the first, until something is there."""
    here = part(page, name)
    options, forward = here.locator(OPEN_QUESTION), here.get_by_role("button", name=GO_ON)
    for _ in range(LONGEST):
        options.or_(forward).or_(over).first.wait_for()
        if over.count():
            return
        pressed = options.first if options.count() else forward.first
        for start in wanted if options.count() else ():
            found = options.filter(has_text=re.compile("^" + re.escape(start)))
            pressed = found.first if found.count() else pressed
        block = pressed.locator("xpath=ancestor::section[1]").get_attribute("data-block")
        kind = ".lesson-option" if options.count() else "button"
        standing = f'[data-block="{block}"] {kind}'
        before = page.locator(standing).count()
        pressed.click()
        # a wrong answer leaves the others for a second try
        page.wait_for_function(
            "([found, before]) => document.querySelectorAll(found).length !== before", arg=[standing, before]
        )
    raise PageError(f"{name}: what was waited for did not come")


def _read_gauge(page: Page, name: str) -> None:
    """Read a gauge of lesson 00 off its needle, as an eye does, and type what it shows."""
    asked = page.locator(f'[data-block^="read:{name}:"]').last
    turned = asked.locator("g[transform]").first.get_attribute("transform") or ""
    face = dial(name)["units"]["metric"]
    share = (float(re.findall(r"-?[\d.]+", turned)[0]) + SWEEP) / (2 * SWEEP)
    low, high = face.get("low", 0), face["high"]
    asked.get_by_role("textbox").fill(f"{low + share * (high - low):.1f}")
    asked.get_by_role("button").first.click()
    asked.locator(".lesson-verdict").wait_for()


def _hand_in(page: Page, cases: int) -> None:
    """Hand in so many more cases of a sitting without doing anything at them."""
    for _ in range(cases):
        page.get_by_role("button", name="Next case", exact=True).click()
        to_the_page(page)
        page.get_by_role("button", name="Hand over the job…", exact=True).click()
        page.get_by_role("button", name="Yes, hand it over", exact=True).click()
        page.locator("[data-part=sitting] [data-block=done]").wait_for(timeout=1000 * PATIENCE)
