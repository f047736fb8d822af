"""How much the marks of one case vary about a person's mean over all cases: what the standard error rests on.

People and cases crossed, each person at each case (:mod:`simulator.studies.bank_plays`): the mean squares of the two-way
layout give the variance of persons, of cases, and of the rest (Brennan 2001, Generalizability Theory, ch. 2; formulas
from memory). A person's marks on other cases differ by case and rest together, so the standard deviation of one case is
sqrt(case + rest). The interval comes from drawing the cases anew, with replacement (bootstrap).

People near the passing mark are made of those who have played (:mod:`simulator.studies.near_people`): there the decision
is made, while the expert and those who know nothing spread less. The steady and the patchy count. Somebody who is
perfect or hopeless, case by case, spreads more than any learner; how he would do is told beside them.

The figure in use is that within the kinds of case, rounded up: the first five cases are one of each kind, and fives are
alike in difficulty, so that what parts the kinds does not move the mean of a form. The operating curve on drawn forms
tries that.

``python -m simulator.studies.case_variance`` prints it from the table that comes with the package.

Throughout: ``marks`` is an array (people, cases) [of 100]; ``table`` as in bank_plays; ``names`` of the people.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.marking.bank import KINDS, bank
from simulator.marking.decision import CASE_SD
from simulator.rig.command import command, whole
from simulator.studies.bank_plays import FILE, read_table
from simulator.studies.near_people import PATCHY, STEADY, WIDEST, Person, at_ability, steady

NEAR = (50.0, 90.0)  # [of 100] means of the steady people who count
ABILITIES = (60.0, 65.0, 70.0, 75.0, 80.0)  # of the others
TRIED, EACH = 200, 4  # people tried, and kept, of each ability
DRAWS = 500


@dataclass(frozen=True)
class Components:
    """Variances [marks^2] of persons, of cases and of the rest, and what one case varies by [marks]."""

    person: float
    case: float
    rest: float

    @property
    def case_sd(self) -> float:
        """Standard deviation of one case about a person's mean over all cases [marks]."""
        return float(np.sqrt(self.case + self.rest))


def components(marks: NDArray[np.float64]) -> Components:
    """Variance components of people crossed with cases, one play each; none below zero.

    Raises
    ------
    ValueError : fewer than two people or two cases.

    Examples
    --------
    >>> made = np.array([[60.0, 70.0], [70.0, 80.0]])
    >>> components(made)
    Components(person=50.0, case=50.0, rest=0.0)
    """
    people, cases = marks.shape
    if min(people, cases) < 2:
        raise ValueError("two people and two cases at least")
    whole_mean = marks.mean()
    by_person, by_case = marks.mean(axis=1) - whole_mean, marks.mean(axis=0) - whole_mean
    left = marks - whole_mean - by_person[:, None] - by_case[None, :]
    rest = float((left**2).sum()) / ((people - 1) * (cases - 1))
    person = (cases * float((by_person**2).sum()) / (people - 1) - rest) / cases
    case = (people * float((by_case**2).sum()) / (cases - 1) - rest) / people
    return Components(max(person, 0.0), max(case, 0.0), rest)


def marks_of(people: Sequence[Person]) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """The cases of the bank and what these ``people`` earned at them.

    Examples
    --------
    >>> marks_of([Person("steady", {"x": 50.0}), Person("steady", {"x": 60.0})])
    (('x',), array([[50.],
           [60.]]))
    """
    cases = tuple(sorted(people[0].marks))
    return cases, np.array([[person.marks[case] for case in cases] for person in people], dtype=float)


def near(table: dict[str, Any], seed: int = 0) -> list[Person]:
    """Steady and patchy people whose means are near the passing mark; ``seed`` draws who knows what."""
    low, high = NEAR
    patchy = [
        person for ability in ABILITIES for person in at_ability(table, PATCHY, ability, TRIED, seed)[:EACH]
    ]
    return [person for person in steady(table) if low <= person.ability <= high] + patchy


def interval(marks: NDArray[np.float64], draws: int, seed: int) -> tuple[float, float]:
    """Where the standard deviation of one case lies [marks], 90 %: ``draws`` of the cases anew, by a ``seed``.

    Examples
    --------
    >>> low, high = interval(np.array([[50.0, 60.0, 80.0], [55.0, 70.0, 75.0]]), 50, 1)
    >>> 0.0 <= low <= high
    True
    """
    chance = np.random.default_rng(seed)
    count = marks.shape[1]
    found = [components(marks[:, chance.integers(0, count, count)]).case_sd for _ in range(draws)]
    low, high = np.quantile(found, [0.05, 0.95])
    return float(low), float(high)


def within_kinds(cases: Sequence[str], marks: NDArray[np.float64]) -> float:
    """The same [marks] where each form has one case of each kind, so that what parts the kinds does not count.

    Parameters
    ----------
    cases : ids of the columns.
    """
    kind_of = {case.id: case.slot for case in bank()[0]}
    spreads = []
    for kind in KINDS:
        own = marks[:, [kind_of.get(case) == kind for case in cases]]
        if own.shape[1] > 1:
            spreads.append(own.var(axis=1, ddof=1).mean())
    return float(np.sqrt(np.mean(spreads))) if spreads else float("nan")


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the components; 1 where the figure in use lies below what the study finds.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.case_variance", description=main.__doc__
    )
    parser.add_argument("--table", type=Path, default=FILE)
    parser.add_argument("--draws", type=whole(10, 1_000_000), default=DRAWS)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=1)
    chosen = parser.parse_args(arguments)
    table = read_table(chosen.table)
    say = sys.stdout.write
    for name, own in table["plays"].items():
        totals = [plays[0][0] for plays in own.values()]
        if len(totals) > 1:
            say(
                f"{name:11} {len(own):3} cases  mean {np.mean(totals):5.1f}  spread {np.std(totals, ddof=1):5.1f}\n"
            )
    people = near(table, chosen.seed)
    widest = [
        person
        for ability in ABILITIES
        for person in at_ability(table, WIDEST, ability, TRIED, chosen.seed)[:EACH]
    ]
    for sort, own_sort in (
        (STEADY, [person for person in people if person.sort == STEADY]),
        (PATCHY, [person for person in people if person.sort == PATCHY]),
        (f"{WIDEST} (told only)", widest),
    ):
        if len(own_sort) > 1:
            cases, marks = marks_of(own_sort)
            spread, inside = float(marks.std(axis=1, ddof=1).mean()), within_kinds(cases, marks)
            say(f"{sort}: {len(own_sort)} people, one case +-{spread:.1f}, within kinds {inside:.1f}\n")
    cases, marks = marks_of(people)
    found, (low, high) = components(marks), interval(marks, chosen.draws, chosen.seed)
    say(f"all {len(people)} at {len(cases)} cases, marking rules {table['marking']}\n")
    say(f"variance: person {found.person:.0f}, case {found.case:.0f}, rest {found.rest:.0f}\n")
    say(f"one case: +-{found.case_sd:.1f} marks (90 %: {low:.1f} to {high:.1f}); ")
    say(f"within kinds {within_kinds(cases, marks):.1f}; in use {CASE_SD:.1f}\n")
    for number in (5, 10):
        phi = found.person / (found.person + found.case_sd**2 / number)
        say(f"mean of {number}: +-{found.case_sd / number**0.5:.1f}, phi {phi:.2f}\n")
    if within_kinds(cases, marks) > CASE_SD:
        sys.stderr.write(
            f"MISSED: one case varies by {within_kinds(cases, marks):.1f}, in use is {CASE_SD:.1f}\n"
        )
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
