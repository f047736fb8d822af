"""Whether stated chances come true: cases on rigs that no hypothesis knows, played by the expert, counted.

``python -m simulator.studies.calibration --cases 1000 --out report.html`` plays them and writes one page to print.

Throughout: ``count`` is the number of cases, ``seed`` of what is drawn, ``found`` the forecasts by the stage they
were made at, ``say`` takes a sentence on how far it is, ``arguments`` are those of the command line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.outlook import Observer
from simulator.rig.command import command, page_to_write, whole
from simulator.rig.presets import load_rig, standard_site
from simulator.studies.calibration_page import page
from simulator.studies.expert_play import Place, play
from simulator.studies.forecasts import SITES, WANTED, WHEN, Forecast, score
from simulator.studies.perturbed import SIZES, altered_weights, draw_truth, spread_of_cases


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
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.calibration")
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


if __name__ == "__main__":
    raise SystemExit(command(main))
