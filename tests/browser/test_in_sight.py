"""What a lesson brings into view once a press was answered, in a bare page. No server is needed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.panels.page import assets
from tests.browser.live_exercise import lay_bare, serve_sources

MADE = """async (blocks) => {
  const { LessonView } = await import('https://sources.test/lesson/view.js');
  const heard = {};
  window.content = { part: 'case', words: {}, blocks };
  const model = {
    get: (name) => (name === 'content' ? window.content : {}),
    on: (name, act) => { heard[name] = act; },
    off: () => {},
    send: (message) => { window.asked = message; },
  };
  new LessonView(model, document.querySelector('#host')).start();
  window.come = (next) => {
    window.content = { ...window.content, blocks: next };
    heard['change:content']();
    heard['msg:custom']({ kind: 'done', id: window.asked.id, accepted: true, sentence: '' });
  };
}"""


def heading(name: str, lines: int = 3, **more: Any) -> dict[str, Any]:
    return {
        "id": name,
        "kind": "heading",
        "text": name,
        "paragraphs": ["Words that fill a line."] * lines,
        **more,
    }


def question(name: str, answer: str | None = None, **more: Any) -> dict[str, Any]:
    options = [
        {"id": f"{name}{n}", "label": f"An option of {name} of some length, number {n}"} for n in range(5)
    ]
    told = {"revealed": True, "good": True, "right": answer, "says": ["So it is."] * 4} if answer else {}
    return (
        {"id": name, "kind": "question", "text": f"What of {name}?", "options": options, "answer": answer}
        | told
        | more
    )


def on(name: str) -> dict[str, Any]:
    pressed = {"label": "Go on", "action": "continue", "args": {"key": name}, "primary": True}
    return {"id": f"on:{name}", "kind": "buttons", "buttons": [pressed], "arrive": "nearest"}


@pytest.fixture
def bare(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 640}, reduced_motion="reduce")
    page = context.new_page()
    lay_bare(page)
    serve_sources(page)
    yield page
    context.close()


def test_the_next_case_is_read_from_its_head(bare: Page) -> None:
    bare.evaluate(MADE, [heading("Case 2"), question("one", "one1"), heading("Long", 30), on("end")])
    bare.get_by_role("button", name="Go on").click()
    bare.evaluate(
        "(blocks) => come(blocks)", [heading("Case 3", arrive="start"), question("two"), heading("Rest", 60)]
    )
    bare.wait_for_timeout(1800)  # it looks after what it brought into view for so long
    expect(bare.locator('[data-block="Case 3"] :is(h2, h3)').first).to_be_in_viewport()
    expect(bare.locator('[data-block="two"] button').first).to_be_in_viewport()


def test_the_next_question_and_its_options_come_into_view_after_an_answer(bare: Page) -> None:
    before = [heading("Guesses", 18), question("one")]
    bare.evaluate(MADE, before)
    bare.locator('[data-block="one"] button').first.click()
    bare.evaluate(
        "(blocks) => come(blocks)", [before[0], question("one", "one0"), question("two"), heading("Rest", 60)]
    )
    bare.wait_for_timeout(1800)
    for option in bare.locator('[data-block="two"] button').all():
        expect(option).to_be_in_viewport(ratio=0.99)


WAITS = """async ({ whole, short, style }) => {
  const module = (text) => import(URL.createObjectURL(new Blob([text], { type: 'text/javascript' })));
  const heard = [];
  window.asked = [];
  const content = { part: 'late', words: {}, blocks: [{ id: 'one', kind: 'prose', paragraphs: ['Here.'] }] };
  const model = {
    get: (name) => (name === 'content' ? content : {}),
    on: (name, act) => { if (name === 'msg:custom') heard.push(act); },
    off: (name, act) => { heard.splice(heard.indexOf(act), 1); },
    send: (message) => {
      window.asked.push(message.kind);
      setTimeout(() => [...heard].forEach((act) => act({ kind: 'script', script: whole, style })));
    },
  };
  await (await module(short)).default.render({ model, el: document.querySelector('#host') });
}"""


def test_a_part_whose_script_is_not_on_the_page_asks_for_it(bare: Page) -> None:
    whole, short = assets.lesson_scripts()
    bare.evaluate(WAITS, {"whole": whole, "short": short, "style": assets.built("lesson.css")})
    expect(bare.locator('.lesson-root[data-part="late"]')).to_contain_text("Here.")
    assert bare.evaluate("window.asked") == ["script"]
