"""How many frames a second the exercise screen draws while nobody answers it; said, and judged generously.

python binder/run_tests.py -m benchmark tests/browser/test_exercise_frames.py
"""

from __future__ import annotations

import sys

import pytest
from playwright.sync_api import Browser

from simulator.rig.presets import rig_names
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.browser.live_exercise import LiveExercise

pytestmark = pytest.mark.benchmark

SECONDS = 5
WANTED = 30.0  # frames a second, on an idle machine
LEAST = 12.0  # frames a second below which something is wrong whatever else the machine does


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (820, 1180)])
@pytest.mark.parametrize("rig", rig_names())
def test_a_run_plays_without_the_kernel(
    browser: Browser, capsys: pytest.CaptureFixture[str], rig: str, size: tuple[int, int]
) -> None:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        rig=rig,
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("joint_ring", 0.004, "joint:1"),),
        mode="guided",
        see_through=True,
    )
    context = browser.new_context(viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    yard = LiveExercise(page, call)
    yard.start()
    yard.root.get_by_role("button", name=text("panel.bar.rate_spoken", n=1), exact=True).click()
    yard.quiet()
    seen = page.evaluate(
        """async (seconds) => {
          const clock = () => parseInt(document.querySelector('.ex-now').textContent);
          const before = { heard: window.heard, posted: window.posted, at: clock() };
          const begun = performance.now();
          let frames = 0;
          while (performance.now() - begun < 1000 * seconds) {
            await new Promise((done) => requestAnimationFrame(done));
            frames += 1;
          }
          return {
            frames: frames / seconds, heard: window.heard - before.heard, posted: window.posted - before.posted,
            played: clock() - before.at,
          };
        }""",
        SECONDS,
    )
    context.close()
    with capsys.disabled():
        sys.stdout.write(
            f"\n{rig} {size[0]}x{size[1]}: {seen['frames']:.0f} frames/s (wanted {WANTED:.0f}), "
            f"{seen['heard']} messages from the kernel, {seen['posted']} reports of the clock to it\n"
        )
    assert seen["heard"] == 0
    assert seen["played"] >= 1
    assert seen["frames"] >= LEAST
