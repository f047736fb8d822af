"""What a lesson takes: from its address to use with everything warm, memory of its kernel, and a slider to its new curve.

    python binder/run_tests.py -m benchmark tests/browser/test_lesson_speed.py

No test here judges a time; memory is judged against what a class of thirty has room for.
"""

from __future__ import annotations

import statistics
import sys
import time

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import OpenLesson, Server, wait_ready
from tests.browser.test_layout import EVERY
from tests.browser.test_lessons_a import answer_all, part, play_runs, walk_ideas

pytestmark = pytest.mark.benchmark

MAX_MEMORY = 300.0  # [MB] of a kernel with its compiled code
MOVES = 20
PATIENCE = 120_000  # [ms] of a busy machine: only the moves are timed


def told(capsys: pytest.CaptureFixture[str], line: str) -> None:
    with capsys.disabled():
        sys.stdout.write(f"\n{line}\n")


def kernel_memory(server: Server) -> tuple[float, float]:
    """Memory of the one kernel that runs [MB]: resident, and what of it no other process shares."""
    (kernel,) = server.ask("kernels")
    memory = server.kernel_process(kernel["id"]).memory_full_info()
    return memory.rss / 1e6, memory.uss / 1e6


def opened(page: Page, server: Server, lesson: str) -> float:
    """Open a lesson; seconds until it can be used."""
    begun = time.monotonic()
    page.goto(server.page_address(lesson), timeout=120_000)
    return used(page, begun)


def opened_again(page: Page) -> float:
    """Load the page of an open lesson anew, on the kernel that runs; seconds until it can be used."""
    begun = time.monotonic()
    page.reload(timeout=120_000)
    return used(page, begun)


def used(page: Page, begun: float) -> float:
    wait_ready(page, timeout=240)
    page.wait_for_selector(".lesson-root, .ex-root")
    return time.monotonic() - begun


@pytest.mark.parametrize("lesson", EVERY, ids=lambda name: name.removesuffix(".ipynb"))
def test_lesson_to_use(
    lesson_page: OpenLesson, server: Server, capsys: pytest.CaptureFixture[str], lesson: str
) -> None:
    page = lesson_page(lesson, wait=False)
    wait_ready(page, timeout=240)  # compiles what was not compiled before
    page.goto("about:blank")
    server.end_kernels()
    page.wait_for_timeout(1_500)  # the next kernel stands ready, as it does where nobody has just ended one
    taken = opened(page, server, lesson)
    memory, own = kernel_memory(server)
    page.wait_for_timeout(1_000)
    again = opened_again(page)
    told(
        capsys,
        f"{lesson}: {taken:.1f} s to use with a kernel to start (wanted 3), {again:.1f} s with one that runs (wanted 2), "
        f"kernel {memory:.0f} MB (at most {MAX_MEMORY:.0f}), {own:.0f} MB its own",
    )
    assert memory <= MAX_MEMORY


CURVE = """async (way) => {
  const slide = document.querySelector('.lesson-planner-slide input');
  const curve = () => document.querySelector('[data-part=planner] .scatterlayer .js-line').getAttribute('d');
  const [before, begun] = [curve(), performance.now()];
  slide.value = String(Number(slide.value) + way * Number(slide.step));
  slide.dispatchEvent(new Event('input', { bubbles: true }));
  while (curve() === before) await new Promise((next) => setTimeout(next, 1));
  const said = performance.now() - begun;  // the line stands in the document
  await new Promise((painted) => requestAnimationFrame(() => setTimeout(painted, 0)));
  return [said, performance.now() - begun];
}"""  # from a move of the slider to the new line in the document, and to its painted frame [ms]


def test_slider_to_curve_in_the_browser(
    lesson_page: OpenLesson, server: Server, capsys: pytest.CaptureFixture[str]
) -> None:
    page = lesson_page(
        "02_how_long_should_it_take.ipynb",
        wait=False,
        before=lambda page: page.set_default_timeout(PATIENCE),
    )
    wait_ready(page, timeout=240)
    walk_ideas(page)
    answer_all(page, "predict", "^Your guesses are kept")
    play_runs(page)
    slide = part(page, "planner").locator(".lesson-planner-slide input").first
    slide.scroll_into_view_if_needed()  # a chart far off is not drawn
    part(page, "planner").locator(".still-plot[data-drawn=yes]").wait_for()
    page.wait_for_timeout(3_000)  # the range of the first set-up is worked out
    lines, times = [], []
    for _ in range(MOVES):
        line, painted = page.evaluate(CURVE, 1)
        lines.append(float(line))
        times.append(float(painted))
        page.wait_for_timeout(1_200)  # and that of the last move
    told(
        capsys,
        f"slider to curve, move to the painted frame: {statistics.median(times):.0f} ms, "
        f"{min(times):.0f} to {max(times):.0f} (wanted 100); "
        f"to the line in the document {statistics.median(lines):.0f} ms",
    )
    page_time, kernel_time = processor_of_moves(page, server)
    told(
        capsys,
        f"processor time of a move, whatever else the machine does: page {page_time:.0f} ms, kernel {kernel_time:.0f} ms",
    )


def processor_of_moves(page: Page, server: Server) -> tuple[float, float]:
    """Processor time [ms] that one move takes in the page's thread and in the kernel: one follows at once on another, so
    that no range of times is worked out between them."""
    (listed,) = server.ask("kernels")
    kernel = server.kernel_process(listed["id"])
    line = page.context.new_cdp_session(page)
    line.send("Performance.enable", {"timeDomain": "threadTicks"})

    def spent() -> tuple[float, float]:
        metrics = {each["name"]: each["value"] for each in line.send("Performance.getMetrics")["metrics"]}
        used = kernel.cpu_times()
        return 1e3 * metrics["TaskDuration"], 1e3 * (used.user + used.system)

    page.evaluate(CURVE, -1)
    before = spent()
    for _ in range(MOVES // 2):  # back the way it came: a slider at its end moves no curve
        page.evaluate(CURVE, -1)
    after = spent()
    return 2 * (after[0] - before[0]) / MOVES, 2 * (after[1] - before[1]) / MOVES
