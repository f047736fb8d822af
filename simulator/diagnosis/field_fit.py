"""How odd each thing on a field sheet would be under every hypothesis, and whether all of it can be true at once.

Throughout: ``cases`` are the hypotheses of the rig in good order; ``items`` are things on a sheet; ``weights`` those
of the hypotheses [-]; ``own`` are the rows that are meant, ``all_weights`` the weights of all [-]; ``outcome`` is
what a check showed; ``place`` where on the rig; ``time`` when in the run [s]; ``watched`` is how long a start was
watched [s], ``primed_at`` when it primed [s], ``end`` how it stood then.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from simulator.diagnosis.belief import MISREPORT, end_fits
from simulator.diagnosis.gauge_likelihood import PACE, SLICE, covariance, paces, predicted
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import CURVES, look_times
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, find_check

NEAR = 16.0  # [s] by which a look may have been earlier or later than noted
FLOOR = 1e-6  # least tail chance that counts: beyond this nobody knows
#: A set is too odd where even the hypothesis that it fits best would give one as odd less often than this; found on
#: perturbed rigs so that few good sheets are turned away.
LIMIT = 7.0
LIMIT_EACH = 0.8
#: What a rig's pace or the width of a slice of sizes moves a needle at most [Pa]. Where a pump all but takes its prime
#: the slope is so steep that it would explain any reading. Found as above.
FARTHEST = 5e3
#: Evidence counts this much [-] where gauges are held against looks: no rig is quite as the model has it.
TEMPER = 0.5
#: Natural logarithm of how much likelier gauges and looks may be of two pumps than of one; found on perturbed rigs,
#: so that few good sheets are turned away.
LIMIT_APART = 1.2


@dataclass(frozen=True, eq=False)
class Item:
    """One thing on the sheet.

    ``tails`` chance [-] of something at least as odd, and ``logs`` log likelihood, under each hypothesis, shape
    (hypotheses,). ``kind``: suction, motive (all readings of a gauge), finding or start.
    """

    kind: str
    tails: np.ndarray
    logs: np.ndarray
    check: str = ""
    outcome: str = ""
    place: str = ""
    time: float = math.nan
    value: float = math.nan
    count: int = 1

    def leaning(self, own: np.ndarray, all_weights: np.ndarray) -> float:
        """How much likelier it is under some hypotheses than on average [natural logarithm]."""
        likely = np.exp(self.logs - self.logs.max())
        mine, mean = float(own @ likely), float(all_weights @ likely)
        return math.log(max(mine, 1e-12) / max(mean, 1e-12))


def surprise(items: Sequence[Item]) -> float:
    """How odd a set is under the hypothesis that it fits best, over what is still taken as fitting [-].

    Examples
    --------
    >>> tails = np.array([0.5, 1e-3])
    >>> surprise([Item("finding", tails, np.log(tails))]) < 1.0
    True
    """
    if not items:
        return 0.0
    total = np.zeros(len(items[0].tails))
    for item in items:
        total = total - 2.0 * np.log(np.maximum(item.tails, FLOOR))
    return float(total.min() / (LIMIT + LIMIT_EACH * len(items)))


def apart(items: Sequence[Item], weights: np.ndarray) -> float:
    """How much likelier gauges and looks are of two pumps than of one, over what is still taken as fitting [-].

    Each by itself may fit something well; what they fit must also be the same thing. Zero where only one kind is there,
    or where they agree.

    Parameters
    ----------
    items : on the sheet; the gauges on one side, all that was seen and found and the start on the other.
    weights : prior weights of the hypotheses [-], shape (hypotheses,).

    Examples
    --------
    >>> one, other = np.log([0.999, 0.001]), np.log([0.001, 0.999])
    >>> gauge, look = Item("suction", np.ones(2), one), Item("finding", np.ones(2), other)
    >>> apart([gauge, look], np.full(2, 0.5)) > 1.0, apart([gauge, gauge], np.full(2, 0.5))
    (True, 0.0)
    """
    gauges = [TEMPER * item.logs for item in items if item.kind in ("suction", "motive")]
    others = [TEMPER * item.logs for item in items if item.kind not in ("suction", "motive")]
    if not gauges or not others:
        return 0.0
    one, other = np.sum(gauges, axis=0), np.sum(others, axis=0)
    both = _evidence(one, weights) + _evidence(other, weights) - _evidence(one + other, weights)
    return max(both, 0.0) / LIMIT_APART


def _evidence(logs: np.ndarray, weights: np.ndarray) -> float:
    """Natural logarithm of the mean likelihood over the hypotheses."""
    most = float(logs.max())
    return most + math.log(max(float(weights @ np.exp(logs - most)), 1e-300))


def misfit(items: Sequence[Item], weights: np.ndarray) -> float:
    """How ill a set of items fits together: under its best hypothesis, or gauges and looks of one pump; 1 still fits [-].

    Examples
    --------
    >>> misfit([], np.ones(1))
    0.0
    """
    return max(surprise(items), apart(items, weights))


def needle_items(cases: HypothesisSet, read: Sequence[tuple[float, float, float]]) -> list[Item]:
    """The readings of each gauge (time [s], vacuum and motive air [Pa], nan: not read) as one item a gauge."""
    out = []
    rows = cases.situations.start
    for gauge, name in enumerate(CURVES):
        known = [(r[0], r[1 + gauge]) for r in read if not math.isnan(r[1 + gauge])]
        if not known or (name == "motive" and not cases.rig.has_motive_gauge):
            continue
        times, values = np.array([k[0] for k in known]), np.array([k[1] for k in known])
        misfit = values - predicted(cases.needles, rows, gauge, times)
        pace = np.clip(PACE * paces(cases.needles, rows, gauge, times), -FARTHEST, FARTHEST)
        cell = np.clip(SLICE * predicted(cases.cells, rows, gauge, times), -FARTHEST, FARTHEST)
        spread = (
            covariance(gauge, times, values)
            + pace[:, :, None] * pace[:, None, :]
            + cell[:, :, None] * cell[:, None, :]
        )
        white = np.linalg.solve(spread, misfit[:, :, None])[:, :, 0]
        square = np.einsum("hk,hk->h", misfit, white)
        tails = scipy.special.gammaincc(len(times) / 2.0, square / 2.0)
        logs = -0.5 * (square + np.linalg.slogdet(spread)[1])
        out.append(Item(name, tails, logs, time=float(times[-1]), value=float(values[-1]), count=len(times)))
    return out


def finding_item(cases: HypothesisSet, check: str, outcome: str, place: str, time: float) -> Item:
    """What a check showed; a look at the running rig counts as made about then, not to the second.

    Raises
    ------
    InputError : the check cannot be made on this rig.
    """
    if (check, place) not in cases.chances:
        raise InputError(f"{check!r} at {place!r} cannot be made on this rig", "findings", "another check")
    times = look_times(find_check(check))
    gaps = [
        (0.0 if math.isnan(t) and math.isnan(time) else math.inf if math.isnan(t) else abs(t - time))
        for t in times
    ]
    if math.isnan(time) and not any(math.isnan(t) for t in times):
        near = list(range(len(times)))  # nobody noted when: any time will do
    else:
        least = min(g for g in gaps if not math.isnan(g))
        near = [i for i, gap in enumerate(gaps) if gap <= least + NEAR]
    chances = cases.chances[check, place][cases.situations.start][:, near]  # (hypotheses, times, outcomes)
    own = chances[:, :, CHECKS[check].outcomes.index(outcome)]
    tails = np.where(chances <= own[:, :, None] + 1e-12, chances, 0.0).sum(axis=2).max(axis=1)
    return Item("finding", tails, np.log(own.mean(axis=1)), check, outcome, place, time)


def start_item(cases: HypothesisSet, watched: float, primed_at: float | None, end: str) -> Item:
    """How the start went: when it pumped, or that it did not, and how it went on."""
    rows, doubts = cases.situations.start, cases.prime_doubts
    with np.errstate(divide="ignore", invalid="ignore"):
        expected = np.log(np.where(np.isfinite(cases.prime_times[rows]), cases.prime_times[rows], np.inf))
        if primed_at is None:
            tails = scipy.special.ndtr((expected - math.log(watched)) / doubts)
        else:
            gap = np.abs(math.log(primed_at) - expected) / doubts
            tails = np.where(np.isfinite(expected), 2.0 * scipy.special.ndtr(-gap), 0.0) * end_fits(
                cases.outcomes[rows], end
            )
    tails = np.clip(np.nan_to_num(tails), MISREPORT * 0.01, 1.0)
    return Item(
        "start",
        tails,
        np.log(tails),
        time=watched,
        value=math.nan if primed_at is None else primed_at,
        outcome=end,
    )
