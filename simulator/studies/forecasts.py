"""Forecasts of faults, and figures of how they came true."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.rig.faults import FAULTS

#: When the expert's certainty is asked: with the gauges read, before a part is opened, before the first long work.
WHEN = ("gauges", "outside", "call")
#: Rigs and lifts [m] of the study.
SITES = (("osier", 3.0), ("alder", 4.0), ("reed", 3.5), ("sedge", 2.5), ("osier", 5.0), ("alder", 2.0))
BINS = 10
CERTAIN = 0.99  # [-] stated chance from which the expert counts as certain
RESAMPLED = 400
WANTED = {"ece": 0.05, "wrong": 0.02, "top": 0.95}  # of the call: at most, at most, at least


@dataclass(frozen=True)
class Forecast:
    """What was stated of one case: chance [-] of each fault, and which it was.

    ``also`` are other faults that were there too, ``known`` those that had been found by then: of what is known nothing
    more is stated.
    """

    truth: str
    stated: Mapping[str, float]
    rig: str = ""
    steps: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    known: tuple[str, ...] = ()

    @property
    def ranked(self) -> list[str]:
        """Faults, the likeliest first."""
        return sorted(self.stated, key=lambda name: -self.stated[name])

    @property
    def best(self) -> str:
        """The likeliest fault, of those not found yet."""
        return next(name for name in self.ranked if name not in self.known)

    @property
    def right(self) -> bool:
        """Whether the likeliest fault was there."""
        return self.best in (self.truth, *self.also)


@dataclass(frozen=True)
class Score:
    """How forecasts came true, all [-]: ``ece`` expected calibration error of the likeliest fault in ten bins; ``null``
    mean and 95th percentile of the same of a perfect forecaster; ``certain`` share stated at 0.99 or more, ``wrong``
    share of those that were something else; ``top`` share with the truth among the first three; ``right`` share with
    the truth first."""

    cases: int
    ece: float
    null: tuple[float, float]
    certain: float
    wrong: float
    top: float
    right: float


def calibration_error(stated: np.ndarray, right: np.ndarray) -> float:
    """Expected calibration error [-]: mean distance of stated chance and share that was right, in ten bins.

    Measure: Naeini, Cooper & Hauskrecht 2015.

    Examples
    --------
    >>> round(calibration_error(np.array([0.8, 0.8, 0.8, 0.8, 0.8]), np.array([1, 1, 1, 1, 0])), 9)
    0.0
    """
    which = np.minimum((stated * BINS).astype(int), BINS - 1)
    gaps = np.bincount(which, stated, BINS) - np.bincount(which, right, BINS)
    return float(np.abs(gaps).sum() / len(stated))


def null_band(stated: np.ndarray, seed: int) -> tuple[float, float]:
    """Mean and 95th percentile of the calibration error [-] were every stated chance exactly true; drawn by a seed.

    Examples
    --------
    >>> mean, high = null_band(np.full(1000, 0.7), 1)
    >>> 0.005 < mean < high < 0.05
    True
    """
    chance = np.random.default_rng(seed)
    errors = [
        calibration_error(stated, (chance.random(len(stated)) < stated).astype(float))
        for _ in range(RESAMPLED)
    ]
    return float(np.mean(errors)), float(np.quantile(errors, 0.95))


def score(forecasts: Sequence[Forecast], seed: int = 0, certain_from: float = CERTAIN) -> Score:
    """The figures of some forecasts; ``seed`` of the null band, ``certain_from`` the chance [-] that is certain."""
    stated = np.array([min(item.stated[item.best], 1.0) for item in forecasts])
    right = np.array([float(item.right) for item in forecasts])
    certain = stated >= certain_from
    return Score(
        cases=len(forecasts),
        ece=calibration_error(stated, right),
        null=null_band(stated, seed),
        certain=float(certain.mean()),
        wrong=float((1.0 - right[certain]).mean()) if certain.any() else 0.0,
        top=float(np.mean([item.truth in item.ranked[:3] for item in forecasts])),
        right=float(right.mean()),
    )


def confusion(forecasts: Sequence[Forecast], kind: Callable[[str], str]) -> tuple[list[str], np.ndarray]:
    """How often each kind was taken for each [-] in ``forecasts``, shape (truths, taken for); kinds in catalogue order.

    Examples
    --------
    >>> seen = [Forecast("sound", {"sound": 0.9, "belt_loose": 0.1}), Forecast("belt_loose", {"sound": 0.6})]
    >>> confusion(seen, lambda name: name)[1].tolist()
    [[1.0, 0.0], [1.0, 0.0]]
    """
    met = {kind(item.truth) for item in forecasts} | {kind(item.best) for item in forecasts}
    kinds = [name for name in dict.fromkeys(kind(fault) for fault in FAULTS) if name in met]
    table = np.zeros((len(kinds), len(kinds)))
    for item in forecasts:
        table[kinds.index(kind(item.truth)), kinds.index(kind(item.best))] += 1.0
    return kinds, table
