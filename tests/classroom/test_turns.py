"""A whole class at the bell: everybody is let in, so many start at once, in the order of coming; the page says how many
come first."""

from __future__ import annotations

import asyncio
import os
from types import SimpleNamespace
from typing import Any

import pytest
from tornado.web import HTTPError

from simulator.classroom.turns import Turns

CLASS, AT_ONCE = 30, 3


def test_thirty_at_the_bell_start_three_at_a_time_in_the_order_of_coming() -> None:
    turns, begun, now, most = Turns(AT_ONCE), [], 0, 0

    async def one(who: str) -> None:
        nonlocal now, most
        assert await turns.take(who)
        begun.append(who)
        now += 1
        most = max(most, now)
        await asyncio.sleep(0)
        now -= 1
        turns.give_back(who)

    async def all_of_them() -> None:
        await asyncio.gather(*(one(f"learner-{n}") for n in range(CLASS)))

    asyncio.run(all_of_them())
    assert begun == [f"learner-{n}" for n in range(CLASS)]
    assert most == AT_ONCE


def test_who_leaves_the_queue_holds_nobody_up() -> None:
    async def bell() -> tuple[bool, bool, int]:
        turns = Turns(1)
        await turns.take("a")
        b, c, d = (asyncio.ensure_future(turns.take(who)) for who in "bcd")
        await asyncio.sleep(0)
        turns.give_back("b")  # the trainer ends the page
        c.cancel()  # the hub gives the request up
        await asyncio.sleep(0)
        before = turns.before("d")
        turns.give_back("a")
        turns.give_back("a")  # twice does nothing
        return await b, await d, before

    assert asyncio.run(bell()) == (False, True, 1)


if os.name != "nt":
    from simulator.classroom.starting import InTurn
    from simulator.texts import text

    class Hubs:
        """What the hub's own spawner would do."""

        def __init__(self, name: str, breaks: str = "") -> None:
            self.user, self.breaks, self.start_timeout = SimpleNamespace(name=name), breaks, 5.0

        def run_pre_spawn_hook(self) -> None:
            if self.breaks == "hook":
                raise ValueError(self.user.name)

        async def start(self) -> tuple[str, int]:
            return "127.0.0.1", 9  # nobody listens at the port to throw away at

        async def poll(self) -> int | None:
            return 1 if self.breaks == "dies" else None

        async def stop(self, now: bool = False) -> None:
            self.stopped = now

    class Spawner(InTurn, Hubs):
        """One of a class with one turn at a time."""


@pytest.fixture
def one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Spawner, "turns", Turns(1))


@pytest.mark.skipif(os.name == "nt", reason="the hub does not run on Windows")
@pytest.mark.usefixtures("one_at_a_time")
@pytest.mark.parametrize("breaks", ["hook", "dies"])
def test_a_server_that_does_not_start_gives_its_turn_to_the_next_and_says_so_at_once(breaks: str) -> None:
    async def start(spawner: Any) -> None:
        await spawner.run_pre_spawn_hook()
        await spawner.start()

    async def both() -> None:
        with pytest.raises((HTTPError, ValueError)):
            await asyncio.wait_for(start(Spawner("a", breaks)), 4.0)
        await asyncio.wait_for(Spawner("b").run_pre_spawn_hook(), 1.0)

    asyncio.run(both())


@pytest.mark.skipif(os.name == "nt", reason="the hub does not run on Windows")
@pytest.mark.usefixtures("one_at_a_time")
def test_the_page_is_told_how_many_come_first_and_that_a_place_is_no_longer_wanted() -> None:
    async def bell() -> tuple[list[str], int]:
        first, second, third = (Spawner(who) for who in "abc")
        await first.run_pre_spawn_hook()
        waits = [asyncio.ensure_future(each.run_pre_spawn_hook()) for each in (second, third)]
        await asyncio.sleep(0)
        told = third.progress()
        said = [(await anext(told))["said"]]
        second.give_up()  # the trainer ends that page
        with pytest.raises(HTTPError) as given_up:
            await waits[0]
        said.append((await anext(told))["said"])
        await first.stop()
        await waits[1]
        said.extend([each["said"] async for each in told])
        return said, given_up.value.status_code

    said, status = asyncio.run(bell())
    assert said == [
        text("classroom.starting.before", n=2),
        text("classroom.starting.before_one", n=1),
        text("classroom.starting.text"),
    ]
    assert status == 409
