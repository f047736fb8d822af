"""Whether stated chances come true: cases on rigs that no hypothesis knows, played by the expert, counted.

``python -m simulator.diagnosis.calibration --cases 1000 --out report.html`` plays them and writes one page to print.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.cases import HypothesisSet, hypothesis_set
from simulator.diagnosis.expert_play import Place, play
from simulator.diagnosis.outlook import Observer
from simulator.diagnosis.perturbed import SIZES, altered_weights, draw_truth, spread_of_cases
from simulator.rig.command import command, page_to_write, whole
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site

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
    """What was stated of one case: chance [-] of each fault, and which it was."""

    truth: str
    stated: Mapping[str, float]
    rig: str = ""
    steps: tuple[str, ...] = ()

    @property
    def ranked(self) -> list[str]:
        """Faults, the likeliest first."""
        return sorted(self.stated, key=lambda name: -self.stated[name])

    @property
    def best(self) -> str:
        """The likeliest fault."""
        return self.ranked[0]


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
    """Expected calibration error [-]: mean distance of stated chance and share that came true, in ten bins.

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
    """Mean and 95th percentile of the calibration error [-] were every stated chance exactly true.

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


def score(forecasts: Sequence[Forecast], seed: int = 0) -> Score:
    """The figures of some forecasts; ``seed`` of the null band."""
    stated = np.array([min(item.stated[item.best], 1.0) for item in forecasts])
    right = np.array([float(item.best == item.truth) for item in forecasts])
    certain = stated >= CERTAIN
    return Score(
        cases=len(forecasts),
        ece=calibration_error(stated, right),
        null=null_band(stated, seed),
        certain=float(certain.mean()),
        wrong=float((1.0 - right[certain]).mean()) if certain.any() else 0.0,
        top=float(np.mean([item.truth in item.ranked[:3] for item in forecasts])),
        right=float(right.mean()),
    )


def study_of(cases: HypothesisSet, count: int, seed: int) -> dict[str, list[Forecast]]:
    """Forecasts of some cases beside one hypothesis set, by the moment they were asked for.

    Parameters
    ----------
    cases : hypotheses of the rig in good order.
    count : number of cases [-].
    seed : of all that is left to chance.
    """
    chance = np.random.default_rng(seed)
    observer = Observer(cases.rig, cases.site)
    weights, bend = altered_weights(chance), float(np.exp(SIZES * chance.standard_normal()))
    out: dict[str, list[Forecast]] = {when: [] for when in WHEN}
    for _ in range(count):
        truth = draw_truth(observer, chance, weights, bend, int(chance.integers(2**31)))
        here = Place(observer.beside(truth.gas_exponent), truth.rig, truth.site, truth.seed)
        played = play(cases, here, to_the_end=False)
        steps = tuple(f"{step.id}: {result}" if result else step.id for step, result in played.steps)
        for when in WHEN:
            out[when].append(Forecast(truth.fault, stated(played.beliefs[when]), cases.rig.name, steps))
    return out


def stated(belief: Belief) -> dict[str, float]:
    """Chance of each fault [-] as a belief states it."""
    return belief.by_fault()


def study(
    count: int, seed: int, say: Callable[[str], None] = lambda sentence: None
) -> dict[str, list[Forecast]]:
    """Forecasts over all rigs and sites of the study."""
    out: dict[str, list[Forecast]] = {when: [] for when in WHEN}
    for number, ((rig, lift), share) in enumerate(
        zip(SITES, spread_of_cases(count, len(SITES)), strict=True)
    ):
        if share == 0:
            continue
        cases = hypothesis_set(load_rig(rig), replace(standard_site(rig), lift=lift))
        found = study_of(cases, share, seed * 1000 + number)
        for when in WHEN:
            out[when] += found[when]
        say(f"{cases.rig.title}, lift {lift:g} m: {share} cases played")
    return out


def misses(found: Mapping[str, Sequence[Forecast]], seed: int = 0) -> list[str]:
    """What was wanted of the call and not reached, as sentences."""
    result = score(found["call"], seed)
    out = []
    if result.ece > WANTED["ece"]:
        out.append(f"calibration error {result.ece:.3f}, wanted {WANTED['ece']:g} at most")
    if result.wrong > WANTED["wrong"]:
        out.append(f"certain and wrong {result.wrong:.3f}, wanted {WANTED['wrong']:g} at most")
    if result.top < WANTED["top"]:
        out.append(f"truth among the first three {result.top:.3f}, wanted {WANTED['top']:g} at least")
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Play the cases, write the page; 1 where something wanted was missed, 2 where the page cannot be written."""
    from simulator.diagnosis.calibration_page import page

    parser = argparse.ArgumentParser(prog="python -m simulator.diagnosis.calibration")
    parser.add_argument("--cases", type=whole(1, 100_000), default=1000)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=3)
    parser.add_argument("--out", type=page_to_write, default=Path("calibration-report.html"))
    chosen = parser.parse_args(arguments)

    def say(sentence: str) -> None:
        sys.stdout.write(f"{sentence}\n")
        sys.stdout.flush()

    found = study(chosen.cases, chosen.seed, say)
    for when in WHEN:
        say(f"{when}: {score(found[when], chosen.seed)}")
    try:
        chosen.out.write_text(page(found, chosen.seed), encoding="utf-8")
    except OSError as error:
        sys.stderr.write(f"The page cannot be written to {chosen.out}: {error.strerror}.\n")
        return 2
    missed = misses(found, chosen.seed)
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


def confusion(forecasts: Sequence[Forecast], kind: Callable[[str], str]) -> tuple[list[str], np.ndarray]:
    """How often each kind was taken for each [-], shape (truths, taken for), with the kinds in catalogue order.

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


if __name__ == "__main__":
    raise SystemExit(command(main))
