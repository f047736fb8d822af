"""How a server of somebody's is started: in turn, with the page told how many come first, and given up in words."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import AsyncIterator
from typing import Any, ClassVar

from jupyterhub.spawner import SimpleLocalProcessSpawner
from jupyterhub.utils import can_connect, maybe_future
from tornado.web import HTTPError

from simulator.classroom.turns import Turns
from simulator.texts import text

LOOK = 0.2  # [s] between two looks whether a server answers
TOLD = 1.0  # [s] between two looks at how many come first


def at_once(processors: int | None = None) -> int:
    """How many servers are started at the same time [-]: more would only wait for one another.

    Parameters
    ----------
    processors : of this machine [-]; ``None`` asks the machine.

    Examples
    --------
    >>> at_once(1), at_once(2), at_once(16)
    (2, 3, 17)
    """
    return max(processors or os.cpu_count() or 1, 1) + 1


class InTurn:
    """Beside a spawner of the hub's: nobody is turned away because many come at once.

    The wait for the turn lies before the start, so ``start_timeout`` counts from the turn on. The turn is kept until the
    server answers, or its process has ended.
    """

    turns: ClassVar[Turns] = Turns(at_once())

    async def run_pre_spawn_hook(self) -> None:
        """Wait for the turn, then lay out what the server is started with.

        Raises
        ------
        HTTPError : the place is no longer wanted.
        """
        mine: Any = self
        if not await self.turns.take(mine.user.name):
            raise HTTPError(409, text("classroom.starting.given_up"))
        try:
            await maybe_future(super().run_pre_spawn_hook())  # type: ignore[misc]
        except BaseException:
            self.turns.give_back(mine.user.name)
            raise

    async def start(self) -> Any:
        """Start the server, and wait until it listens.

        Raises
        ------
        HTTPError : the server ended by itself.
        """
        mine: Any = self
        try:
            found = await super().start()  # type: ignore[misc]
            late = time.monotonic() + mine.start_timeout
            while not can_connect(*found) and time.monotonic() < late:
                if await mine.poll() is not None:
                    raise HTTPError(500, text("classroom.starting.failed"))
                await asyncio.sleep(LOOK)
            return found
        finally:
            self.turns.give_back(mine.user.name)

    async def stop(self, now: bool = False) -> None:
        """End the server; a turn of it goes to the next.

        Parameters
        ----------
        now : without asking it first.
        """
        mine: Any = self
        self.turns.give_back(mine.user.name)
        await super().stop(now=now)  # type: ignore[misc]

    def give_up(self) -> None:
        """Leave the queue."""
        mine: Any = self
        if self.turns.before(mine.user.name):
            self.turns.give_back(mine.user.name)

    async def progress(self) -> AsyncIterator[dict[str, Any]]:
        """What the page says while it waits: how many come first, then that the place is made ready."""
        mine: Any = self
        told = -1
        while before := self.turns.before(mine.user.name):
            if before != told:
                told = before
                one = "_one" if before == 1 else ""
                yield {"progress": 0, "said": text(f"classroom.starting.before{one}", n=before)}
            await asyncio.sleep(TOLD)
        yield {"progress": 50, "said": text("classroom.starting.text")}


class ClassSpawner(InTurn, SimpleLocalProcessSpawner):
    """All under the one account that opened the class."""
