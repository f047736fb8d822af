"""A gauge that reads wrong beside whatever else is wrong: how likely its needle says so.

Hypotheses hold one trouble, or two of the usual ones. A gauge draws no air and holds no water back, so it may be bad
beside any of them: that is worked out when it is asked for, as one more thing that the same needles may come of. Nobody
counts it as a second way to explain a pump that fails.

Arguments, the same throughout: ``belief`` after all that was seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from simulator.diagnosis.belief import ALSO_BAD, GAUGES_TRIED, Belief
from simulator.diagnosis.gauge_likelihood import DOUBT, log_likelihoods, log_unknown_beside
from simulator.diagnosis.hypotheses import sizes_of
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import CURVES
from simulator.instruments.checks import CHECKS
from simulator.instruments.gauges import lagged
from simulator.rig.faults import FAULTS
from simulator.rig.parts import GaugeState

SIZES = 8  # of a gauge's fault, each for an equal share of how bad it is drawn
COUNTS = 1e-3  # [-] weight from which a hypothesis is asked what a bad gauge would show beside it
MOST = 40  # hypotheses asked, the likeliest first
SECOND = 1.0  # [s] between needles kept


@lru_cache(maxsize=1)
def gauge_faults() -> dict[str, int]:
    """Faults of gauges, each with the gauge's number among the needles.

    Examples
    --------
    >>> set(gauge_faults().values()) <= {0, 1}
    True
    """
    return {
        name: number
        for name, item in FAULTS.items()
        if item.family == "instrument"
        for number, gauge in enumerate(CURVES)
        if item.part == f"{gauge}_gauge"
    }


def bad_gauges(belief: Belief) -> dict[str, float]:
    """Chance [-] that a gauge has each of its faults beside whatever else is wrong, or with nothing else wrong any more.

    Where a gauge alone, or in a pair, is one of the hypotheses, that is left out: their own weights say it. A gauge that
    has been changed is good.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "gauge_stuck"])
    >>> times = np.arange(3.0, 31.0, 3.0)
    >>> still = np.array([np.zeros(10), cases.needles[0, 1, times.astype(int)]])
    >>> belief = Belief(cases).update_gauges(1, times, still).update_check("gauge_swap", "suction_stuck")
    >>> list(bad_gauges(belief))
    ['gauge_stuck']
    """
    cases = belief.cases
    kinds = [
        name for name in gauge_faults() if name in cases.faults and gauge_faults()[name] not in belief.renewed
    ]
    out = dict.fromkeys(kinds, 0.0)
    alone = np.array([here.family == "instrument" for here in cases.hypotheses])
    second = np.array(
        [here.second is not None and here.second[0] in gauge_faults() for here in cases.hypotheses]
    )
    asked = np.flatnonzero(~alone & ~second & (belief.weights > COUNTS))
    asked = asked[np.argsort(-belief.weights[asked])][:MOST]
    if not kinds or not len(asked):
        return out
    whole = float(cases.weights[alone].sum())
    own = {name: float(cases.weights[cases.fault_index == cases.faults.index(name)].sum()) for name in kinds}
    ways = [
        (name, size, ALSO_BAD * share * own[name] / whole)
        for name in kinds
        for size, share in _sizes_of(name)
    ]
    log_told = _told(belief, asked, ways) + _tried(belief, ["", *(name for name, _, _ in ways)])[:, None]
    log_told += np.log([1.0 - sum(share for *_, share in ways), *(share for *_, share in ways)])[:, None]
    likely = np.exp(log_told - log_told.max(axis=0))
    chances = (likely / likely.sum(axis=0)) @ belief.weights[asked]
    for number, (name, _, _) in enumerate(ways):
        out[name] += float(chances[number + 1])
    return out


def _sizes_of(name: str) -> list[tuple[float, float]]:
    """Sizes [SI] of a gauge's fault with their shares [-]."""
    found = sizes_of(FAULTS[name].size, SIZES)
    whole = sum(share for _, share in found)
    return [(size, share / whole) for size, share in found]


def _told(belief: Belief, asked: np.ndarray, ways: list[tuple[str, float, float]]) -> np.ndarray:
    """Log of how likely the needles are with good gauges, and with each bad one, under some hypotheses, by number; shape
    (1 + ways, asked)."""
    cases, count = belief.cases, 1 + len(ways)
    if not belief.readings:
        return np.zeros((count, len(asked)))
    rows, at = np.unique(np.array([item.rows[asked] for item in belief.readings]), return_inverse=True)
    places = at.reshape(len(belief.readings), len(asked))
    needles, cells = (np.repeat(each[rows][None], count, axis=0) for each in (cases.needles, cases.cells))
    for number, (name, size, _) in enumerate(ways, start=1):
        gauge, state = gauge_faults()[name], _state(cases, name, size)
        needles[number, :, gauge] = _shown(needles[number, :, gauge], state)
        cells[number, :, gauge] = _shown(cells[number, :, gauge], replace(state, offset=0.0))
    readings = tuple(
        replace(item, rows=(np.arange(count)[:, None] * len(rows) + place).ravel())
        for item, place in zip(belief.readings, places, strict=True)
    )
    flat = [each.reshape(count * len(rows), *each.shape[2:]) for each in (needles, cells)]
    likely = log_likelihoods(flat[0], flat[1], readings).reshape(count, len(asked))
    # Needles that come near nothing, with a bad gauge or without, say nothing of the gauge.
    plain = tuple(replace(item, rows=item.rows[asked]) for item in belief.readings)
    unknown = log_unknown_beside(cases.needles, plain)
    return np.asarray(np.logaddexp(np.log1p(-DOUBT) + likely, np.log(DOUBT) + unknown))


def _state(cases: HypothesisSet, name: str, size: float) -> GaugeState:
    """How a gauge with a fault of a size [SI] is."""
    rig, _ = FAULTS[name].apply(cases.rig, cases.site, size, "")
    return rig.suction_gauge if FAULTS[name].part == "suction_gauge" else rig.motive_gauge


def _shown(curves: np.ndarray, state: GaugeState) -> np.ndarray:
    """What a bad gauge shows where a good one shows these curves [Pa], shape (rows, seconds)."""
    if state.stuck:
        return np.full_like(curves, state.offset)
    return state.offset + np.array([lagged(curve, state.extra_lag, SECOND) for curve in curves])


def _tried(belief: Belief, kinds: Sequence[str]) -> np.ndarray:
    """Log of how likely the last look at the gauges beside a good one is with each kind of bad gauge alone ("": none),
    shape (kinds,)."""
    cases = belief.cases
    seen = [item.outcome for item in belief.looks if item.check == GAUGES_TRIED][-1:]
    if not seen:
        return np.zeros(len(kinds))
    table = cases.chances[GAUGES_TRIED, ""][:, 0, CHECKS[GAUGES_TRIED].outcomes.index(seen[0])]
    start, at = cases.situations.start, {name: number for number, name in enumerate(cases.faults)}
    return np.log(
        [
            float(table[start[cases.fault_index == at[name]]].mean()) if name else float(table[0])
            for name in kinds
        ]
    )
