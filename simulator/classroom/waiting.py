"""Wrong words are counted: after ten, the next one has to wait, and each further one waits twice as long."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

FREE = 10  # [-] wrong words before the first wait
FIRST, LONGEST = 30.0, 900.0  # [s] of a wait
FORGOTTEN = 4 * LONGEST  # [s] after which a wrong word no longer counts
MOST = 10_000  # [-] of those that are counted at once


@dataclass
class _Count:
    wrong: int = 0
    last: float = 0.0  # [s] on the clock
    until: float = 0.0  # [s] on the clock


class Waiting:
    """How many wrong words came from where, and how long the next one has to wait.

    Parameters
    ----------
    now : a clock that never goes back [s].

    Examples
    --------
    >>> clock = iter(range(100))
    >>> waits = Waiting(lambda: 0.0)
    >>> for _ in range(FREE):
    ...     waits.wrong("10.0.0.7")
    >>> waits.left("10.0.0.7"), waits.left("10.0.0.8")
    (30.0, 0.0)
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._counts: dict[str, _Count] = {}

    def left(self, who: str) -> float:
        """How long the next word has to wait [s]; 0 where it need not.

        Parameters
        ----------
        who : whoever words are counted for, such as an address.
        """
        count = self._counts.get(who)
        return max(0.0, count.until - self._now()) if count else 0.0

    def wrong(self, who: str) -> None:
        """A wrong word came.

        Parameters
        ----------
        who : as in :meth:`left`.
        """
        now = self._now()
        count = self._counts.pop(who, _Count())
        if count.wrong and now - count.last > FORGOTTEN:
            count = _Count()
        count.wrong, count.last = count.wrong + 1, now
        if count.wrong >= FREE:
            count.until = now + min(LONGEST, FIRST * 2.0 ** min(count.wrong - FREE, 30))
        self._counts[who] = count  # the latest stands last
        while len(self._counts) > MOST:
            del self._counts[next(iter(self._counts))]

    def right(self, who: str) -> None:
        """The right word came: what was wrong before is forgotten.

        Parameters
        ----------
        who : as in :meth:`left`.
        """
        self._counts.pop(who, None)
