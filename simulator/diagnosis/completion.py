"""Expected minutes until the pump is proven to run: mend first what has most chance for its minutes.

For independent single faults and checks that never err, going by chance over cost is the best order there is
(Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). Here it is the plan by which what remains after a
step is priced.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from simulator.diagnosis.cases import HypothesisSet
from simulator.rig.remedies import REMEDIES

FALLBACK = (
    90.0  # [min] to bring another rig, when nothing on the list mends this one; common practice, no source
)
RESTART = ("restart", "")
SMALL = 1e-9
TINY = 1e-7  # [-] share of a kind that counts as none
SETTLED = 2e-4  # [-] share of a belief that is not followed up any further

Act = tuple[str, str]  # remedy and place, or RESTART


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


@dataclass(frozen=True)
class Plan:
    """What acts do to hypotheses that are in given rows.

    ``mends`` (acts, hypotheses): the act alone makes the rig prove itself. ``unclear``: it does not, yet what
    the hands find leaves it open, so that a start must tell. ``minutes`` (acts,) [min]. Hypotheses on which
    all acts do the same make a kind: ``kinds`` (hypotheses, kinds) of 0 and 1, ``kind_mends`` and
    ``kind_unclear`` (kinds, acts).
    """

    acts: tuple[Act, ...]
    minutes: np.ndarray
    mends: np.ndarray
    unclear: np.ndarray
    kinds: np.ndarray
    kind_mends: np.ndarray
    kind_unclear: np.ndarray


def plan_for(cases: HypothesisSet, now: np.ndarray) -> Plan:
    """The plan for hypotheses in rows ``now``, shape (hypotheses,)."""
    return _plan(Keyed(cases), now.tobytes())


class Keyed:
    """A hypothesis set as a key of a cache."""

    def __init__(self, cases: HypothesisSet) -> None:
        self.cases = cases

    def __hash__(self) -> int:
        return hash(self.cases.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Keyed) and other.cases.key == self.cases.key


@lru_cache(maxsize=256)
def _plan(keyed: Keyed, packed: bytes) -> Plan:
    cases, rows = keyed.cases, keyed.cases.situations
    now = np.frombuffer(packed, dtype=rows.start.dtype)
    proves_now = cases.proves[now]
    acts: list[Act] = [RESTART]
    minutes, mends, unclear = [cases.watch_minutes], [proves_now], [np.zeros(len(now), dtype=bool)]
    for act, after in rows.after.items():
        mended = cases.proves[after[now]] & ~proves_now
        if not mended.any():
            continue
        found = rows.findings[act][now]
        acts.append(act)
        minutes.append(REMEDIES[act[0]].minutes)
        mends.append(mended)
        unclear.append(np.isin(found, found[mended]) & ~mended & ~proves_now)
    does = np.vstack([mends, unclear])
    alike, member = np.unique(does, axis=1, return_inverse=True)
    kinds = np.zeros((len(now), alike.shape[1]))
    kinds[np.arange(len(now)), member.reshape(-1)] = 1.0
    count = len(acts)
    return Plan(
        tuple(acts),
        np.array(minutes),
        np.array(mends),
        np.array(unclear),
        kinds,
        alike[:count].T.astype(float),
        alike[count:].T.astype(float),
    )


def remaining_minutes(cases: HypothesisSet, weights: np.ndarray, now: np.ndarray) -> np.ndarray:
    """Expected minutes [min] until proven pumping by chance over cost, for each row of weights (beliefs,
    hypotheses).

    Weights of a row need not add up to 1: the minutes are those times the row's total.
    """
    return _follow(cases, weights, now)[0]


def first_act(cases: HypothesisSet, weights: np.ndarray, now: np.ndarray) -> Act:
    """The act that the plan begins with, for one belief (hypotheses,)."""
    return plan_for(cases, now).acts[int(_follow(cases, weights[None, :], now)[1][0])]


def _follow(cases: HypothesisSet, weights: np.ndarray, now: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    plan = plan_for(cases, now)
    left = np.asarray(weights, dtype=float) @ plan.kinds
    rest = left.sum(axis=1)
    total, first = np.zeros(len(left)), np.full(len(left), -1)
    # Only kinds that carry weight and acts that mend one of them count; beliefs drop out as they are settled.
    heavy = left.sum(axis=0) > TINY * rest.sum()
    acts = np.flatnonzero(plan.kind_mends[heavy].any(axis=0))
    mends, unclear = plan.kind_mends[np.ix_(heavy, acts)], plan.kind_unclear[np.ix_(heavy, acts)]
    minutes, watch = plan.minutes[acts], plan.minutes[0]
    work = np.where(acts == 0, 0.0, watch)
    left, live = left[:, heavy], np.arange(len(left))
    enough, used = SETTLED * rest, np.zeros((len(left), len(acts)), dtype=bool)
    for _ in range(len(acts)):
        gain = left @ mends
        # A start after work is paid where the work has mended the rig or leaves it open whether it has.
        cost = rest[live, None] * minutes + watch * (left @ unclear) + work * gain
        value = np.where(used | (gain <= SMALL), -1.0, gain / np.maximum(cost, SMALL))
        best = np.argmax(value, axis=1)
        every = np.arange(len(live))
        go = (value[every, best] > 0.0) & ((rest[live] > enough[live]) | (first[live] < 0))
        if not np.any(go):
            break
        live, best, left, used, paid = live[go], best[go], left[go], used[go], cost[every, best][go]
        first[live] = np.where(first[live] < 0, acts[best], first[live])
        total[live] += paid
        used[np.arange(len(live)), best] = True
        rest[live] -= gain[go][np.arange(len(live)), best]
        left = left * (1.0 - mends.T[best])
    return total + FALLBACK * np.maximum(rest, 0.0), np.maximum(first, 0)
