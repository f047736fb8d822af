"""The operating curve of the certificate's rule: who passes, fails or stays undecided, and after how many cases.

Ways to it, which must agree as far as they ask the same:

integral
    Normal marks of a known spread. The density of the sum of the marks is carried from case to case over the region in
    which the sitting goes on, by Gauss-Legendre quadrature (Armitage, McPherson & Rowe 1969, J. R. Stat. Soc. A 132:235;
    from memory). The rule's own code takes no part, nor the spread of the marks as they are: it asks for the least margin
    there is, and so passes and fails a little more often than the rule.
normal
    The same marks drawn by chance, decided by the rule's own code.
patchy, all or nothing
    Forms as they are drawn from the bank, with what simulated people of that ability earned at those very cases
    (:mod:`simulator.studies.near_people`). Bounded, uneven marks: what the integral takes for granted is tried. The last
    are the widest spread there is, and are told, not asked for.

``python -m simulator.studies.operating_curve`` prints them for true abilities of 60 to 80, from a fresh seed;
``--choose`` prints how the margin was chosen.

Throughout: ``ability`` is a person's mean over all cases [of 100]; ``rule`` that of the sitting; ``count`` of sittings;
``chance`` draws; ``table`` as in bank_plays.
"""

from __future__ import annotations

import argparse
import random
import secrets
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.stats import norm

from simulator.marking.certificate_forms import draw_form
from simulator.marking.decision import FAILED, ONE_MORE, PASSED, UNDECIDED, Rule
from simulator.rig.command import command, whole
from simulator.studies.bank_plays import FILE, read_table
from simulator.studies.near_people import GIVES_UP, PATCHY, Person, at_ability

ABILITIES = (60.0, 65.0, 70.0, 75.0, 80.0)
WRONG = 0.05  # [-] at most pass at the lowest of these, and fail at the highest
NODES = 96  # of the quadrature; twice as many change no figure by 1e-9
MARGINS = tuple(round(0.05 * step, 2) for step in range(41))
FORMS = 120  # drawn; sittings share them
TRIED = 600  # people, for those of an ability
ASKED = ("integral", "normal", PATCHY)  # may not be wrong too often; the rest is told


@dataclass(frozen=True)
class Point:
    """One point of the curve: shares that pass, fail, stay undecided [-], and the mean number of cases."""

    ability: float
    passed: float
    failed: float
    undecided: float
    cases: float

    @property
    def line(self) -> str:
        """For the command's table."""
        shares = "".join(f"{100.0 * share:9.2f} %" for share in (self.passed, self.failed, self.undecided))
        return f"{self.ability:6.0f}{shares}{self.cases:8.2f}"


def by_integral(ability: float, rule: Rule, nodes: int = NODES) -> Point:
    """The curve at one ability, by quadrature over ``nodes`` points.

    Examples
    --------
    >>> even = by_integral(70.0, Rule(z=0.5, case_sd=15.4))
    >>> round(even.passed - even.failed, 9), round(even.passed + even.failed + even.undecided, 9)
    (0.0, 1.0)
    """
    points, weights = np.polynomial.legendre.leggauss(nodes)

    def bounds(cases: int) -> tuple[float, float]:
        margin = rule.z * rule.case_sd * np.sqrt(cases)
        return cases * rule.pass_mark - margin, cases * rule.pass_mark + margin

    cases, sd = rule.least, rule.case_sd
    low, high = bounds(cases)
    spread = sd * np.sqrt(cases)
    passed = float(norm.sf(high, cases * ability, spread))
    failed = float(norm.cdf(low, cases * ability, spread))
    mean = cases * (passed + failed)
    sums = 0.5 * ((high - low) * points + high + low)
    held = norm.pdf(sums, cases * ability, spread) * weights * 0.5 * (high - low)
    while cases < rule.most:
        cases += 1
        low, high = bounds(cases)
        up = float(held @ norm.sf(high, sums + ability, sd))
        down = float(held @ norm.cdf(low, sums + ability, sd))
        passed, failed, mean = passed + up, failed + down, mean + cases * (up + down)
        new = 0.5 * ((high - low) * points + high + low)
        held = norm.pdf(new[:, None], sums[None, :] + ability, sd) @ held * weights * 0.5 * (high - low)
        sums = new
    undecided = float(held.sum())
    return Point(ability, passed, failed, undecided, mean + cases * undecided)


def sittings(ability: float, rule: Rule, count: int, marks: Callable[[], Sequence[float]]) -> Point:
    """The curve at one ability, by sittings decided by the rule itself; ``marks`` gives those of ten cases."""
    ends: Counter[str] = Counter()
    played = 0
    for _ in range(count):
        totals = marks()
        for cases in range(rule.least, rule.most + 1):
            end = rule.decide(totals[:cases])
            if end != ONE_MORE:
                ends[end] += 1
                played += cases
                break
    return Point(ability, ends[PASSED] / count, ends[FAILED] / count, ends[UNDECIDED] / count, played / count)


def by_normal(ability: float, rule: Rule, count: int, chance: np.random.Generator) -> Point:
    """With normal marks.

    Examples
    --------
    >>> by_normal(95.0, Rule(z=0.5, case_sd=5.0), 50, np.random.default_rng(1)).passed
    1.0
    """
    drawn = chance.normal(ability, rule.case_sd, (count, rule.most))
    rows = iter(drawn)
    return sittings(ability, rule, count, lambda: [float(mark) for mark in next(rows)])


def by_forms(
    ability: float,
    rule: Rule,
    count: int,
    people: Sequence[Person],
    forms: Sequence[Sequence[str]],
    seed: int,
) -> Point:
    """With forms drawn from the bank and what people of that ability earned at their cases.

    Parameters
    ----------
    people : of the ability; each sitting is that of one of them.
    forms : ids of ten cases each.
    seed : of the draws.

    Raises
    ------
    ValueError : nobody has that ability.
    """
    if not people:
        raise ValueError(f"nobody has an ability of {ability:g}")
    chance = random.Random(f"forms {ability} {seed}")

    def marks() -> list[float]:
        person, form = chance.choice(people), chance.choice(forms)
        return [person.marks[case] for case in form]

    return sittings(ability, rule, count, marks)


def wrong(points: Sequence[Point]) -> list[str]:
    """What should not be: sentences.

    Parameters
    ----------
    points : of one curve, by ability.

    Examples
    --------
    >>> wrong([Point(60.0, 0.04, 0.9, 0.06, 6.0), Point(80.0, 0.9, 0.06, 0.04, 6.0)])
    ['a true 80 fails in 6.00 %']
    """
    low, high = points[0], points[-1]
    out = []
    if low.passed > WRONG:
        out.append(f"a true {low.ability:.0f} passes in {100.0 * low.passed:.2f} %")
    if high.failed > WRONG:
        out.append(f"a true {high.ability:.0f} fails in {100.0 * high.failed:.2f} %")
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the curve; 1 and sentences where somebody is wrongly passed or failed too often.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.operating_curve", description=main.__doc__
    )
    parser.add_argument(
        "--sittings", type=whole(10, 10_000_000), default=20_000, help="at each ability, each way"
    )
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=None, help="a fresh one by default")
    parser.add_argument("--table", type=Path, default=FILE)
    parser.add_argument("--choose", action="store_true", help="also every margin that was weighed")
    chosen = parser.parse_args(arguments)
    seed = secrets.randbits(31) if chosen.seed is None else chosen.seed
    rule, chance, say = Rule(), np.random.default_rng(seed), sys.stdout.write
    head = f"{'true':>6}{'pass':>11}{'fail':>11}{'undecided':>11}{'cases':>8}\n"
    if chosen.choose:
        say(
            f"margins at +-{rule.case_sd:g} a case\n{'z':>6}{'60 passes':>12}{'70 undecided':>14}{'cases at 70':>13}\n"
        )
        for z in MARGINS:
            tried = replace(rule, z=z)
            low, mid = by_integral(ABILITIES[0], tried), by_integral(rule.pass_mark, tried)
            say(f"{z:6.2f}{100.0 * low.passed:10.2f} %{100.0 * mid.undecided:12.2f} %{mid.cases:13.2f}\n")
    table = read_table(chosen.table)
    forms = [[case.id for case in draw_form(seed + number)] for number in range(FORMS)]
    say(f"rule: {rule}\nseed {seed}, {chosen.sittings} sittings at each ability\n")
    ways: dict[str, Callable[[float], Point]] = {
        "integral": lambda ability: by_integral(ability, rule),
        "normal": lambda ability: by_normal(ability, rule, chosen.sittings, chance),
    }
    for sort in GIVES_UP:
        ways[sort] = lambda ability, sort=sort: by_forms(  # type: ignore[misc]
            ability, rule, chosen.sittings, at_ability(table, sort, ability, TRIED, seed), forms, seed
        )
    missed = []
    for name, way in ways.items():
        points = [way(ability) for ability in ABILITIES]
        say(f"{name}\n{head}" + "".join(f"{point.line}\n" for point in points))
        missed += [f"{name}: {sentence}" for sentence in wrong(points) if name in ASKED]
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
