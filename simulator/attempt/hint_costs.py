"""What hints cost: a share of what finding and time earn. Asking is no fault, and no evidence of skill.

The first two steps of a hint take 5 in 100 each, the third, which names the act, 10. However many are taken, 30 in 100
stay, so that going on always pays. Common practice, no source: three steps at every turn cannot pass.
"""

from __future__ import annotations

from collections.abc import Sequence

COSTS = (0.05, 0.05, 0.10)  # [-] share of finding and time that steps 1, 2, 3 take
LEAST = 0.30  # [-] share that always stays


def kept_share(steps: Sequence[int]) -> float:
    """Share [-] of what finding and time earn that is kept after these hint steps, each 1 to 3.

    Examples
    --------
    >>> kept_share([]), round(kept_share([1, 2, 3]), 9), kept_share([1, 2, 3] * 9)
    (1.0, 0.8, 0.3)
    """
    return max(1.0 - sum(COSTS[step - 1] for step in steps), LEAST)


def next_cost(steps: Sequence[int], step: int) -> float:
    """Share [-] of what finding and time earn that a further hint step takes; 0 where nothing more is taken.

    Parameters
    ----------
    steps : hint steps taken so far, each 1 to 3.
    step : the next one, 1 to 3; 0: the same words again, which are free.

    Examples
    --------
    >>> round(next_cost([1, 2], 3), 9), next_cost([1, 2, 3] * 9, 1), next_cost([1, 2, 3], 0)
    (0.1, 0.0, 0.0)
    """
    return kept_share(steps) - kept_share([*steps, step]) if step else 0.0
