"""Are prices fair: what is left once it is known what is wrong, what steps are charged, what the coach's way earns.

``prices``: for each hypothesis, the price of what is left when it is known to be there, beside the true minutes: the
quickest chain of works that ends in a rig that proves itself, and a start to prove it.
``losses``: simulated trainees play call-outs; no step may be charged more than its own minutes and those of the start
that it makes necessary, which its sentence then names.
``coach``: the advice followed to its end, by family and rig, as a share of the time part.

``python -m simulator.studies.fair_prices --attempts 200`` prints all three; 1 where one is missed.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.completion import FALLBACK, by_row, minutes_from, plan_for
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.marking.economy import SLACK, Judged, own_minutes
from simulator.marking.mark import Marked
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import ECONOMY, OUT_OF
from simulator.rig.command import command, whole
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.studies.skill import by_site, study_scenarios
from simulator.studies.trainees import TRAINEES, Expert

NEAR = 0.5  # [min] within which a price is right
RIGHT = 0.95  # [-] of prices that must be
EARNS = 0.92  # [-] of the time part that the coach's way must earn
EXACT = 1e-6  # [min] of rounding
PLAYERS = ("random", "swapper", "list", "splitter")


def true_minutes(cases: HypothesisSet) -> np.ndarray:
    """Minutes [min] that each row needs at least until it is proven, shape (rows,): works, then a start.

    The quickest chain of works by relaxation (Bellman 1958); a row that no work mends costs another rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["drain_open"])
    >>> bool(true_minutes(cases)[0] == cases.watch_minutes)
    True
    """
    left = np.where(cases.proves, 0.0, np.inf)
    while True:
        better = left
        for (name, _), after in cases.situations.after.items():
            better = np.minimum(better, REMEDIES[name].minutes + left[after])
        if np.array_equal(better, left):
            return np.where(np.isfinite(left), left + cases.watch_minutes, FALLBACK)
        left = better


def prices_once_sure(cases: HypothesisSet) -> tuple[np.ndarray, np.ndarray]:
    """What is left once a hypothesis is known to be there, as priced and in truth [min], each (hypotheses,).

    Parameters
    ----------
    cases : with their rig in good order.
    """
    plan, now = plan_for(cases), cases.situations.start
    weights = by_row(plan, np.eye(len(now)), now)
    barred = np.zeros((len(now), len(plan.acts)), dtype=bool)
    priced = minutes_from(plan, weights, np.zeros_like(weights, dtype=bool), barred)
    return priced, true_minutes(cases)[now]


@dataclass(frozen=True)
class Loss:
    """A loss that a sheet names [min], the most that the step could have been charged, and whether its sentence names
    the start where that is charged too."""

    act: str
    minutes: float
    most: float
    told: bool

    @property
    def fair(self) -> bool:
        """Whether it is no more than it may be, and said."""
        return self.minutes <= self.most + EXACT and self.told


def losses_of(marked: Marked) -> list[Loss]:
    """Every step that lost minutes, beside what it took; ``marked`` is an attempt's."""
    return [_loss(item, marked) for item in marked.judged if item.lost > 0.0]


def _loss(item: Judged, marked: Marked) -> Loss:
    step = item.step
    _, again = own_minutes(step, step.option)
    took = max(step.minutes, step.option.minutes)
    economy = next(part for part in marked.sheet.parts if part.id == ECONOMY)
    said = [each.key for each in economy.evidence]
    told = item.again <= SLACK or "marking.economy.lost_again" in said or "marking.economy.lost_more" in said
    return Loss(f"{step.option.id} {step.option.place}".strip(), item.lost, took + again, told)


def sets() -> Iterable[HypothesisSet]:
    """A set of each rig."""
    for name in shipped_rig_names():
        yield hypothesis_set(load_rig(name), standard_site())


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the figures; 1 where one is missed. ``arguments`` as on a command line."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.fair_prices")
    parser.add_argument("--attempts", type=whole(1, 10_000), default=200)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=4000)
    parser.add_argument(
        "--draw", type=whole(0, 2**31 - 1), default=0, help="seed of the first random call-out"
    )
    chosen = parser.parse_args(arguments)
    missed = 0
    for cases in sets():
        priced, true = prices_once_sure(cases)
        near = float(np.mean(np.abs(priced - true) <= NEAR))
        missed += near < RIGHT
        sys.stdout.write(
            f"prices {cases.rig.title:8} within {NEAR} min: {100.0 * near:5.1f} % of {len(true)}\n"
        )
        sys.stdout.flush()
    losses: list[Loss] = []
    earned: dict[str, list[float]] = defaultdict(list)
    calls = study_scenarios(max(chosen.attempts // len(PLAYERS), 1), chosen.draw)
    for number, scenario in by_site(calls):
        for name in PLAYERS:
            attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=chosen.seed + number)
            TRAINEES[name](attempt, number).play()
            losses += losses_of(marked_attempt(attempt)[2])
        attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=chosen.seed + number)
        Expert(attempt, number).play()
        share = (marked_attempt(attempt)[2].sheet.points(ECONOMY) or 0.0) / OUT_OF[ECONOMY]
        family = FAULTS[scenario.fault_ids[0]].family if len(scenario.fault_ids) == 1 else "two"
        earned[f"family {family}"].append(share)
        earned[f"rig {attempt.case.sound_rig.title}"].append(share)
        sys.stdout.write(f"call {number + 1} of {len(calls)}: {share:.3f} {'+'.join(scenario.fault_ids)}\n")
        sys.stdout.flush()
    unfair = [loss for loss in losses if not loss.fair]
    sys.stdout.write(f"losses {len(losses)} in {len(calls) * len(PLAYERS)} attempts, unfair {len(unfair)}\n")
    for loss in unfair[:10]:
        sys.stdout.write(f"  {loss.act}: {loss.minutes:.1f} of {loss.most:.1f} min\n")
    for name, shares in sorted(earned.items()):
        low = float(np.mean(shares))
        missed += low < EARNS
        sys.stdout.write(
            f"coach {name}: {100.0 * low:.1f} % of the time part, least {100.0 * min(shares):.1f}, n {len(shares)}\n"
        )
    return 1 if missed or unfair else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
