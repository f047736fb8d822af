"""The advisor against the best plan there is, on cases small enough to be solved exactly."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from simulator.diagnosis.advice import next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import look_times
from simulator.instruments.checks import CHECKS
from simulator.rig.remedies import REMEDIES
from simulator.studies.exact_plan import Known, Look, Problem, Work
from tests.diagnosis.looking_order import expected_minutes

WORKS = ("close_drain", "tighten_belt", "clean_strainer", "clean_screen", "clean_nozzle", "clean_nrv")
HARMLESS = 1e-12  # chance of what a table leaves out


def test_the_programme_finds_the_known_example() -> None:
    # Rule: Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995; 10.3 by hand, see test_advice.
    works = [Work(m, (i,)) for i, m in enumerate([10.0, 5.0, 2.0, 1.0])]
    assert Problem([0.4, 0.3, 0.2, 0.1], [], works, 0.0).best_minutes() == pytest.approx(10.3, rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_the_programme_agrees_with_every_permutation(seed: int) -> None:
    chance = np.random.default_rng(seed)
    chances, minutes = chance.dirichlet(np.ones(5)).tolist(), chance.uniform(0.5, 20.0, 5).tolist()
    best = min(expected_minutes(order, chances, minutes) for order in permutations(range(5)))
    works = [Work(m, (i,)) for i, m in enumerate(minutes)]
    assert Problem(chances, [], works, 1.5).best_minutes() == pytest.approx(best + 1.5, rel=1e-9)


def sharp(count: int, shows: dict[int, int], right: float = 0.96) -> list[list[float]]:
    """A check that opens a part: each fault of ``shows`` gives its outcome, all others the first."""
    outcomes = max(shows.values()) + 1
    rows = []
    for fault in range(count):
        row = [(1.0 - right) / (outcomes - 1)] * outcomes
        row[shows.get(fault, 0)] = right
        rows.append(row)
    return rows


def vague(leans: list[float]) -> list[list[float]]:
    """A look from outside: the chance of its second outcome under each fault."""
    return [[1.0 - p, p] for p in leans]


#: chances of faults, their works, checks with tables
CASES = {
    "open each part or mend it": (
        [0.35, 0.25, 0.2, 0.2],
        WORKS[:4],
        {
            "belt": sharp(4, {1: 1}),
            "strainer_out": sharp(4, {2: 1}),
            "screen_out": sharp(4, {3: 1}),
            "exhaust_stream": vague([0.1, 0.8, 0.2, 0.7]),
        },
    ),
    "one listen parts air from water": (
        [0.3, 0.2, 0.2, 0.15, 0.15],
        WORKS[:5],
        {
            "exhaust_stream": vague([0.95, 0.1, 0.9, 0.1, 0.1]),
            "relief_listen": vague([0.05, 0.05, 0.05, 0.1, 0.9]),
            "belt": sharp(5, {1: 1}),
            "nozzle_out": sharp(5, {4: 1}),
            "blank_off": vague([0.9, 0.9, 0.05, 0.85, 0.9]),
        },
    ),
    "half the line, then the part": (
        [0.1, 0.18, 0.18, 0.18, 0.18, 0.18],
        WORKS,
        {
            "blank_off": vague([0.97, 0.97, 0.03, 0.97, 0.03, 0.03]),
            "relief_listen": vague([0.05, 0.1, 0.05, 0.05, 0.95, 0.05]),
            "belt": sharp(6, {1: 1}),
            "nrv_lid": sharp(6, {5: 1}),
        },
    ),
    "a likely fault that is dear to mend": (
        [0.1, 0.1, 0.1, 0.1, 0.6],
        ("close_drain", "tighten_belt", "clean_strainer", "clean_screen", "renew_seal"),
        {
            "seal_look": sharp(5, {4: 1}),
            "foam_pump": vague([0.05, 0.05, 0.05, 0.05, 0.8]),
            "belt": sharp(5, {1: 1}),
            "strainer_out": sharp(5, {2: 1}),
        },
    ),
    "looks that tell little": (
        [0.25, 0.25, 0.25, 0.25],
        WORKS[2:6],
        {
            "exhaust_stream": vague([0.4, 0.6, 0.5, 0.5]),
            "listen_pump": vague([0.5, 0.5, 0.3, 0.7]),
            "watch_water": vague([0.7, 0.4, 0.4, 0.4]),
            "tachometer": vague([0.5, 0.5, 0.5, 0.5]),
        },
    ),
    "six faults, six checks": (
        [0.3, 0.2, 0.15, 0.15, 0.1, 0.1],
        WORKS,
        {
            "walk_round": vague([0.85, 0.02, 0.02, 0.02, 0.02, 0.02]),
            "belt": sharp(6, {1: 1}),
            "exhaust_stream": vague([0.9, 0.2, 0.1, 0.15, 0.3, 0.8]),
            "relief_listen": vague([0.05, 0.05, 0.05, 0.05, 0.9, 0.05]),
            "blank_off": vague([0.95, 0.95, 0.05, 0.9, 0.9, 0.9]),
            "nrv_lid": sharp(6, {5: 1}),
        },
    ),
}


def both_of(small_set, case) -> tuple[Problem, HypothesisSet, dict[str, int], tuple[str, ...]]:
    """The case as an exact problem and as a hypothesis set: row 0 sound, one row a fault."""
    chances, works, tables = case
    count = len(chances)
    padded = {}
    for name, table in tables.items():
        outcomes = len(CHECKS[name].outcomes)
        rows = [[*row, *[HARMLESS] * (outcomes - len(row))] for row in [table[0], *table]]
        padded[name, ""] = [[p / sum(row) for p in row] for row in rows]
    after = {
        (work, ""): [0 if row == number else row for row in range(count + 1)]
        for number, work in enumerate(works, start=1)
    }
    cases = small_set([HARMLESS, *chances], padded, after)
    for (name, place), values in cases.chances.items():  # the same at every moment of a run
        cases.chances[name, place] = np.repeat(values, len(look_times(CHECKS[name])), axis=1)
    cases = replace(
        cases, fits=np.ones((count + 1, count + 1))
    )  # flat needles: a start tells by its prime alone
    minutes = {option.id: option.minutes for option in options(cases)}
    problem = Problem(
        chances,
        [Look(minutes[name], tables[name]) for name in tables],
        [Work(REMEDIES[work].minutes, (number,)) for number, work in enumerate(works)],
        cases.watch_minutes,
    )
    return problem, cases, {name: n for n, name in enumerate(tables)}, works


def advised(cases: HypothesisSet, looks: dict[str, int], works: tuple[str, ...]):
    """The advisor's choice for what is known, as an act of the exact problem."""
    names = tuple(looks)

    def policy(known: Known) -> tuple[str, int]:
        outcomes, done, out, seen = known
        # All begins after a first start that did not prime: running looks come once it was watched.
        belief = Belief(cases).update_restart(1, 60.0 * cases.watch_minutes, None)
        for name, outcome in zip(names, outcomes, strict=True):
            if outcome >= 0:
                belief = belief.update_check(name, CHECKS[name].outcomes[outcome])
        for number, work in enumerate(works):
            if done >> number & 1:
                mended = seen and not out >> number & 1
                belief = belief.update_remedy(work, "", "seen" if mended else "clean")
        left = [n for n in range(len(works)) if not done >> n & 1]
        offered = [
            option
            for option in options(cases)
            if (option.kind == "check" and outcomes[looks[option.id]] < 0)
            or (option.kind == "remedy" and works.index(option.id) in left)
            or (option.kind == "watch" and (seen or not left))
        ]
        best = next_best(belief, offered).option
        if best.kind == "check":
            return "look", looks[best.id]
        return ("work", works.index(best.id)) if best.kind == "remedy" else ("start", -1)

    return policy


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.full if number % 2 or name.startswith("six faults") else ())
        for number, name in enumerate(CASES)
    ],
)
def test_the_advisor_is_within_five_percent_of_the_best_plan(small_set, name: str, record_property) -> None:
    problem, cases, looks, works = both_of(small_set, CASES[name])
    best = problem.best_minutes()
    got = problem.minutes_of(advised(cases, looks, works))
    record_property("loss", got / best - 1.0)
    assert best <= got * (1.0 + 1e-9)
    assert got <= 1.05 * best, f"{got:.2f} min beside {best:.2f}"
