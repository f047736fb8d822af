"""Long work on a debrief beside the page's own thread: reported, stopped, dropped."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Any

import pytest

from simulator.panels.exercise.debrief_work import DebriefWork, StoppedByReader
from simulator.texts import text
from tests.panels.exercise.conftest import Desk

LONGEST = 20.0  # [s] after which a test gives up


class Slow:
    """Work that reports until it is told to go on or is stopped."""

    def __init__(self) -> None:
        self.begun, self.go_on = threading.Event(), threading.Event()

    def __call__(self, progress: Callable[[int, int], None]) -> dict[str, Any]:
        self.begun.set()
        while not self.go_on.wait(0.01):
            progress(1, 9)
        progress(9, 9)
        return {"total": 5, "parts": []}


async def until(done: Callable[[], bool]) -> None:
    for _ in range(int(LONGEST / 0.01)):
        if done():
            return
        await asyncio.sleep(0.01)
    pytest.fail("what was waited for did not come")


def test_without_a_loop_it_is_done_at_once() -> None:
    said: list[Any] = []
    slow = Slow()
    slow.go_on.set()
    work = DebriefWork(slow, lambda *how_far: said.append(how_far), lambda *end: said.append(end))
    assert work.over
    assert said == [(9, 9), ({"total": 5, "parts": []}, None)]


def test_with_a_loop_the_page_stays_free_and_hears_of_it_in_its_own_thread() -> None:
    async def page() -> None:
        slow, ends, threads = Slow(), [], set()

        def done(debrief: Any, error: Any) -> None:
            threads.add(threading.current_thread())
            ends.append((debrief, error))

        work = DebriefWork(slow, lambda *how_far: threads.add(threading.current_thread()), done)
        await until(slow.begun.is_set)
        assert not work.over
        slow.go_on.set()
        await until(lambda: work.over)
        assert ends == [({"total": 5, "parts": []}, None)]
        assert threads == {threading.current_thread()}

    asyncio.run(page())


@pytest.mark.parametrize("drop", [False, True])
def test_stop_ends_it_at_the_next_report(drop: bool) -> None:
    async def page() -> None:
        ends: list[Any] = []
        work = DebriefWork(Slow(), lambda *how_far: None, lambda *end: ends.append(end))
        work.stop(drop=drop)
        await until(lambda: work.over)
        assert [type(error) for _, error in ends] == ([] if drop else [StoppedByReader])

    asyncio.run(page())


def test_the_panel_stops_says_so_and_takes_it_up_again(desk: Callable[..., Desk]) -> None:
    slow = Slow()

    async def page() -> None:
        at = desk(("joint_ring", 0.007, "joint:1"), debriefer=lambda attempt, units, progress: slow(progress))
        at.act("give_up")
        assert at.panel.page["debrief_pending"]
        await until(slow.begun.is_set)
        at.act("stop_debrief")
        await until(lambda: at.panel.page["debrief"] is not None)
        assert at.panel.page["debrief"] == {"failed": text("panel.debrief.stopped"), "stopped": True}
        assert not at.panel.page["debrief_pending"]
        slow.go_on.set()
        at.act("make_debrief")
        await until(lambda: at.panel.page["debrief"] is not None)
        assert at.panel.page["debrief"]["total"] == 5

    asyncio.run(page())


def test_a_new_call_out_drops_what_was_under_way(desk: Callable[..., Desk]) -> None:
    async def page() -> None:
        at = desk(debriefer=lambda attempt, units, progress: Slow()(progress))
        at.act("give_up")
        work = at.panel._working
        assert work is not None
        again = desk().panel.attempt
        at.panel._open(again)
        await until(lambda: work.over)
        assert at.panel.page["debrief"] is None
        assert at.panel.page["attempt"] == again.id

    asyncio.run(page())
