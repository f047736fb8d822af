"""What hints take off the parts that they help with."""

from __future__ import annotations

from collections.abc import Sequence

from simulator.attempt.hint_costs import kept_share
from simulator.marking.sheet import ECONOMY, FOUND, Part, because

#: Parts whose points hints scale.
SCALED = (FOUND, ECONOMY)


def with_hints(marked: Part, steps: Sequence[int]) -> Part:
    """A part with what hint steps take off it, as a line of its evidence; any other part as it is.

    Parameters
    ----------
    marked : a part of a sheet.
    steps : hint steps taken, each 1 to 3.

    Examples
    --------
    >>> from simulator.marking.sheet import part
    >>> found = part("found", [because(40.0, "found.proven", seconds=40)])
    >>> with_hints(found, [1, 2]).points, with_hints(found, []) == found
    (36.0, True)
    """
    if marked.id not in SCALED or marked.points is None or marked.points <= 0.0 or not steps:
        return marked
    share = 1.0 - kept_share(steps)
    taken = because(-share * marked.points, f"{marked.id}.hints", n=len(steps), percent=round(100.0 * share))
    evidence = (*marked.evidence, taken)
    return Part(marked.id, round(marked.points + taken.points, 1) + 0.0, marked.out_of, evidence)
