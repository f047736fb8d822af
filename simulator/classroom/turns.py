"""Who comes at the bell is let in and waits for a turn: so many places are made ready at once, in the order of coming."""

from __future__ import annotations

import asyncio
from collections import OrderedDict


class Turns:
    """A queue by name; whoever has a turn keeps it until it is given back.

    Parameters
    ----------
    at_once : how many have a turn at the same time [-], at least one.

    Examples
    --------
    >>> async def three() -> list[int]:
    ...     turns = Turns(1)
    ...     await turns.take("learner-1")
    ...     waiting = [asyncio.ensure_future(turns.take(f"learner-{n}")) for n in (2, 3)]
    ...     await asyncio.sleep(0)
    ...     before = [turns.before("learner-2"), turns.before("learner-3")]
    ...     turns.give_back("learner-1")
    ...     await waiting[0]
    ...     turns.give_back("learner-3")  # gone before the turn came
    ...     return [*before, turns.before("learner-2"), turns.before("learner-3")]
    >>> asyncio.run(three())
    [1, 2, 0, 0]
    """

    def __init__(self, at_once: int) -> None:
        self._at_once = max(at_once, 1)
        self._having: set[str] = set()
        self._waiting: OrderedDict[str, asyncio.Future[bool]] = OrderedDict()

    async def take(self, who: str) -> bool:
        """Wait until the turn comes; false where it was given back before, so that nothing is to be done any more.

        Parameters
        ----------
        who : has no turn yet and does not wait.
        """
        if len(self._having) < self._at_once and not self._waiting:
            self._having.add(who)
            return True
        mine = self._waiting[who] = asyncio.get_running_loop().create_future()
        try:
            return await mine
        except asyncio.CancelledError:
            self.give_back(who)
            raise

    def give_back(self, who: str) -> None:
        """The turn is over, or no longer wanted; nothing where there is none.

        Parameters
        ----------
        who : as in :meth:`take`.
        """
        mine = self._waiting.pop(who, None)
        if mine is not None and not mine.done():
            mine.set_result(False)
        self._having.discard(who)
        while self._waiting and len(self._having) < self._at_once:
            following, future = self._waiting.popitem(last=False)
            if not future.done():
                self._having.add(following)
                future.set_result(True)

    def before(self, who: str) -> int:
        """How many come before [-]: those that have a turn and those that wait for one; 0 of one that does not wait.

        Parameters
        ----------
        who : as in :meth:`take`.
        """
        if who not in self._waiting:
            return 0
        return len(self._having) + list(self._waiting).index(who)
