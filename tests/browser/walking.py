"""Going through a lesson from its first word to its end, whatever language it speaks: what is open is done next."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from playwright.sync_api import Locator, Page, TimeoutError

from tests.house.language import ACCENTS, pseudo

OPEN_QUESTION = ".lesson-root .lesson-options .lesson-option"
# what is plainly to be pressed next; not a round once more, nor what makes papers
PRIMARY = (
    ".lesson-root section:not([data-block^=fresh]) "
    "button.lesson-primary:not(.lesson-goto):not([aria-disabled='true'])"
)
PLANNER = ".lesson-root[data-part=planner]:not(:has([data-block=on])) .lesson-planner-slide input"
#: Hints are asked for at the first drill, all three of them.
ANSWERED, HINT = "[data-part=drills] .lesson-chosen", "[data-part=drills] .lesson-hint button"
HAND_OVER = (
    ".ex-next-give_up",
    ".ex-sure .ex-secondary",
    ".ex-proof > .ex-quiet:not([aria-disabled='true'])",
)
LEAVE = "dialog.ex-window .ex-leave"
BUSY = ".lesson-pending, .ex-pending, .ex-root progress, .ex-root [role=progressbar]"
REPLAY = ".lesson-replay-bar input[type=range]"
ON_ITS_WAY = 2_000  # [ms]
GUESS = "30"  # what is typed where a figure is asked for
PRESSES = 12  # a button such as Next is pressed so often, and no more


def named(words: str, *, whole: bool = True) -> re.Pattern[str]:
    """What a control is called: its English words, or the same in the made-up language; ``whole`` or their start only."""
    if whole:
        return re.compile(f"^({re.escape(words)}|{re.escape(pseudo(words))})$")
    return re.compile(f"^({re.escape(words)}|{re.escape(words.translate(ACCENTS))})")


def to_the_page(page: Page) -> None:
    """Out of the whole window, which a call that begins takes by itself."""
    page.locator(LEAVE).click()


def _runs(page: Page) -> Locator | None:
    """The clock of a run that was not played to its end."""
    for slide in page.locator(REPLAY).all():
        at_end = slide.evaluate("one => Number(one.value) >= Number(one.max) - Number(one.step)")
        if slide.is_visible() and not at_end:
            return slide
    return None


def next_step(page: Page) -> Callable[[], None] | None:
    """What somebody in a hurry would do next: answer an open question, play a run, press a plain button; or nothing."""
    if page.locator(LEAVE).count():  # what it holds stands on the page too
        return lambda: to_the_page(page)
    if not page.locator(ANSWERED).count():
        for hint in page.locator(HINT).all():
            if hint.is_visible():
                return hint.click
    for option in page.locator(OPEN_QUESTION).all():
        if option.is_visible():
            return option.click
    run = _runs(page)
    if run is not None:
        return lambda: (run.focus(), run.press("End"))  # type: ignore[return-value]
    slide = page.locator(PLANNER).first
    if slide.count() and slide.get_attribute("data-walked") is None:
        slide.evaluate("one => { one.dataset.walked = '1'; }")
        return lambda: (slide.focus(), slide.press("ArrowRight"), page.wait_for_timeout(4_000))  # type: ignore[return-value]
    for button in page.locator(PRIMARY).element_handles():  # of which one may just be going
        pressed = int(button.evaluate("one => Number(one.dataset.walked || 0)"))
        if not button.is_visible() or pressed >= PRESSES:
            continue
        field = button.evaluate_handle(
            "one => one.closest('form')?.querySelector('input[inputmode=decimal]')"
        )
        asked = field.as_element()
        if asked and not asked.input_value():
            asked.fill(GUESS)
        button.evaluate(MARK)
        return button.click
    for selector in HAND_OVER:  # a call that is open: handed over, and so marked
        for button in page.locator(selector).all()[:1]:
            return lambda button=button: _if_there(button)  # type: ignore[misc]
    return None


def _if_there(button: Locator) -> None:
    """Press a button, unless the call has taken the whole window meanwhile: then that is left first."""
    try:
        button.click(timeout=5_000)
    except TimeoutError:
        if not button.page.locator(LEAVE).count():
            raise


MARK = """one => {
  document.querySelectorAll('[data-walked-last]').forEach((other) => delete other.dataset.walkedLast);
  one.dataset.walkedLast = '';
  one.dataset.walked = Number(one.dataset.walked || 0) + 1;
}"""
IDLE = (
    "() => document.querySelectorAll('[data-walked-last]').forEach((one) => { one.dataset.walked = '99'; })"
)
SHOWN = """() => [...document.querySelectorAll('.lesson-root section[data-block]')]
  .map((one) => one.dataset.block + ':' + one.textContent.length).join()
  + document.querySelectorAll('.ex-root, .ex-sure, .ex-part, .ex-leave').length"""


def walk(page: Page, most: int = 90) -> Iterator[int]:
    """Do one step after another until nothing is left to do; gives the number of each when the page has answered it."""
    for number in range(1, most + 1):
        step = next_step(page)
        if step is None:  # or the answer to the last one is still on its way
            page.wait_for_timeout(ON_ITS_WAY)
            step = next_step(page)
        if step is None:
            return
        before = page.evaluate(SHOWN)
        step()
        try:
            page.wait_for_function(f"(before) => ({SHOWN})() !== before", arg=before, timeout=6_000)
        except TimeoutError:  # a button that does nothing, or nothing more, is not pressed again
            page.evaluate(IDLE)
        page.wait_for_function(f"() => !document.querySelector('{BUSY}')", timeout=120_000)
        yield number


#: What kinds of things a page shows: blocks with what they hold, and the parts of an exercise; for :func:`Page.evaluate`.
SHAPE = """() => {
  const all = (selector) => [...document.querySelectorAll(selector)];
  const holds = ['.lesson-options', '.lesson-chosen', '.lesson-says', 'svg', 'canvas', 'table', '.lesson-hint p', 'form'];
  const block = (one) => [one.closest('.lesson-root').dataset.part, one.dataset.kind, ...holds.filter((each) => one.querySelector(each))];
  const exercise = (one) => [
    one.dataset.phase, one.querySelector('.ex-lists h3')?.textContent,
    one.querySelector('.ex-engine-lamp[data-running=yes]') ? 'runs' : 'stands', one.querySelectorAll('.ex-finish ~ *').length,
  ];
  return [
    ...all('.lesson-root section[data-block]').map(block), ...all('.ex-root').map(exercise),
    ...all('.gloss-panel, .field-form [role=alert], details[open]').map((one) => [one.className]),
  ].map((words) => words.join(' '));
}"""  # noqa: E501
