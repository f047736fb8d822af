"""One value of a rig that a fault sets while the rig runs; ``time`` is run time since the start [s]."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from simulator.errors import InputError

STEP = 0.1  # [s] of the grid of runs
STEPS = 40  # into which a growth is cut at most
SHORTEST_STEP = 1.0  # [s]

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Late:
    """One value of the rig or its site that a fault sets while the rig runs.

    ``path`` begins with "rig" or "site" and leads down to the value, ``before`` and ``after`` are in the SI unit of that
    value; figures go over evenly between ``start`` and ``end`` [s], anything else at ``start``.

    Raises
    ------
    InputError : it ends before it starts.
    """

    path: Path
    before: Any
    after: Any
    start: float
    end: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.start < self.end:
            raise InputError("the fault is there before it comes", "late.end", "later than its start")

    @property
    def even(self) -> bool:
        """Whether it goes over bit by bit."""
        return all(
            isinstance(v, (int, float)) and not isinstance(v, bool) and math.isfinite(v)
            for v in (self.before, self.after)
        )

    def value(self, time: float) -> Any:
        """The value at a time.

        Examples
        --------
        >>> Late(("rig", "nrv", "gap_area"), 0.0, 8e-5, 40.0, 60.0).value(50.0)
        4e-05
        """
        if time < self.start:
            return self.before
        if not self.even or time >= self.end:
            return self.after
        return self.before + (self.after - self.before) * (time - self.start) / (self.end - self.start)

    def turns(self) -> list[int]:
        """Ticks [0.1 s] at which its value steps: steps of a second or more, and no more than forty."""
        first, last = round(self.start / STEP), max(round(self.end / STEP), round(self.start / STEP) + 1)
        if not self.even:
            return [first]
        count = min(STEPS, max(1, int((last - first) * STEP / SHORTEST_STEP)))
        return sorted({first + round(i * (last - first) / count) for i in range(count + 1)})
