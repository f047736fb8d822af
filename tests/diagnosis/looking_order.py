"""What the plan is held against: orders of looking by the closed form, and the minutes and first act of a plan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulator.diagnosis.completion import Act, by_row, plan_for
from simulator.diagnosis.greedy import follow
from simulator.diagnosis.hypothesis_set import HypothesisSet


def best_order(chances: Sequence[float], minutes: Sequence[float]) -> list[int]:
    """Order of looking for one fault among several, best first: by chance over minutes.

    Best for a single fault, independent looks that never err, every look made being paid for
    (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995).

    Examples
    --------
    >>> best_order([0.4, 0.3, 0.2, 0.1], [10.0, 5.0, 2.0, 1.0])
    [2, 3, 1, 0]
    """
    return sorted(range(len(chances)), key=lambda i: -round(chances[i] / minutes[i], 12))


def expected_minutes(order: Sequence[int], chances: Sequence[float], minutes: Sequence[float]) -> float:
    """Expected minutes [min] of looking in an order until the fault is found; the last look is made too.

    Examples
    --------
    >>> round(expected_minutes([2, 3, 1, 0], [0.4, 0.3, 0.2, 0.1], [10.0, 5.0, 2.0, 1.0]), 9)
    10.3
    """
    left, total = 1.0, 0.0
    for i in order:
        total += left * minutes[i]
        left -= chances[i]
    return total


def remaining_minutes(
    cases: HypothesisSet, weights: np.ndarray, now: np.ndarray, barred: np.ndarray | None = None
) -> np.ndarray:
    """Expected minutes [min] until proven pumping by chance over cost, for each row of weights (beliefs,
    hypotheses).

    Weights of a row need not add up to 1: the minutes are those times the row's total.
    """
    plan = plan_for(cases)
    lone = np.zeros(len(plan.acts), dtype=bool) if barred is None else barred
    return follow(plan.tables, by_row(plan, weights, now), np.tile(lone, (len(weights), 1)))[0]


def first_act(cases: HypothesisSet, weights: np.ndarray, now: np.ndarray) -> Act:
    """The act that the plan begins with, for one belief (hypotheses,)."""
    plan = plan_for(cases)
    _, first = follow(plan.tables, by_row(plan, weights[None, :], now), np.zeros((1, len(plan.acts)), bool))
    return plan.acts[max(int(first[0]), 0)]
