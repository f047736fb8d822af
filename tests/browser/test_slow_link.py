"""A call-out over a line of 300 ms there and back: smooth, and no click lost or doubled."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from simulator.texts import text
from tests.browser.conftest import OpenLesson, Server, running_server, wait_ready
from tests.browser.slow_line import slow_line

pytestmark = pytest.mark.full

ROUND_TRIP = 0.3  # [s]
SECONDS = 6  # of play that are watched
MAX_STILL = 0.05  # share of the frames on which the clock may stand


@pytest.fixture(scope="module")
def server(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server at the far end of a slow line."""
    with (
        running_server(tmp_path_factory.mktemp("far")) as found,
        slow_line(int(urlsplit(found.address).port or 0), ROUND_TRIP) as port,
    ):
        yield replace(found, address=f"http://127.0.0.1:{port}")


@pytest.mark.full
def test_a_slow_line_loses_and_doubles_nothing(lesson_page: OpenLesson) -> None:
    page = lesson_page("09_practice_yard.ipynb", wait=False)
    wait_ready(page, timeout=240)
    notes = page.locator(".ex-notes li")
    page.get_by_role("button", name=text("panel.ask.unsure"), exact=True).click()
    gloves = page.get_by_role("button", name=re.compile("^Put on gloves"))
    tied = page.get_by_role("button", name=re.compile("^Tie down the discharge"))
    gloves.dblclick()  # in haste, and the next thing before the first was answered
    tied.click()
    expect(notes.filter(has_text="Nobody near it.")).to_have_count(1)
    expect(notes.filter(has_text="boots and ear protection on.")).to_have_count(1)
    start = page.get_by_role("button", name=text("panel.bar.start"), exact=True)
    start.dblclick()
    expect(page.get_by_role("button", name=text("panel.bar.stop"), exact=True)).to_be_visible()
    expect(notes.filter(has_text=text("attempt.did.start_engine_rated"))).to_have_count(1)
    page.wait_for_function("() => parseInt(document.querySelector('.ex-now').textContent) >= 2")
    seen = page.evaluate(
        """async (seconds) => {
          const slider = document.querySelector('.ex-slider');
          const begun = performance.now();
          let frames = 0, still = 0, since = begun, last = slider.value, longest = 0;
          while (performance.now() - begun < 1000 * seconds) {
            await new Promise((done) => requestAnimationFrame(done));
            const now = performance.now();
            frames += 1;
            if (slider.value !== last) { last = slider.value; since = now; }
            else if (now - since > 200) still += 1;
            longest = Math.max(longest, now - since);
          }
          return { frames, still, longest };
        }""",
        SECONDS,
    )
    assert seen["still"] <= MAX_STILL * seen["frames"], seen
    # in the middle of the run, with a stop at once after it
    page.get_by_role("button", name=text("panel.bar.stop"), exact=True).dblclick()
    expect(start).to_be_visible()
    expect(notes.filter(has_text=text("attempt.did.stop_engine"))).to_have_count(1)
