"""Simulated people near the passing mark, made of those who have played the bank's cases.

steady
    Works all cases alike: slips at a share of the steps.
patchy
    Knows some faults and not others. At a case whose fault he knows he earns what the expert earned there, else what the
    one who slips at 60 % of the steps earned, and at a quarter of the faults what somebody earned who hands over after a
    start.
all or nothing
    The same, but whatever he does not know he hands over after a start. The widest spread that there is.

Throughout: ``table`` as in bank_plays; ``seed`` draws who knows what; marks are of 100.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import lru_cache
from statistics import fmean
from typing import Any

from simulator.marking.bank import KINDS, bank
from simulator.studies.sitters import SLIPS

BEST, WORSE, WORST = "expert", "slips 60", "one start"
STEADY, PATCHY, WIDEST = "steady", "patchy", "all or nothing"
GIVES_UP = {PATCHY: 0.25, WIDEST: 1.0}  # [-] of the faults that are handed over where they are not known


@dataclass(frozen=True)
class Person:
    """One of them: of which sort, and the marks earned at each case of the bank, by its id."""

    sort: str
    marks: dict[str, float]

    @property
    def ability(self) -> float:
        """Mean over all cases, each kind counted alike, as a form does [of 100]."""
        return kind_mean(self.marks)


def kind_mean(marks: dict[str, float]) -> float:
    """Mean over the kinds of case of the means within them.

    Parameters
    ----------
    marks : by the id of the case.

    Examples
    --------
    >>> kind_mean({case.id: 70.0 for case in bank()[0]})
    70.0
    """
    by_kind = {
        kind: [marks[case.id] for case in bank()[0] if case.slot == kind and case.id in marks]
        for kind in KINDS
    }
    return fmean(fmean(own) for own in by_kind.values() if own)


def played(table: dict[str, Any], name: str) -> dict[str, float]:
    """What somebody (``name``) earned at every case of the bank; at one not played, the mean of those of its kind.

    Raises
    ------
    ValueError : of some kind not one case was played.
    """
    own = {case: fmean(play[0] for play in plays) for case, plays in table["plays"].get(name, {}).items()}
    out = {}
    for case in bank()[0]:
        kin = [own[other.id] for other in bank()[0] if other.slot == case.slot and other.id in own]
        if not kin:
            raise ValueError(f"{name} has played no case of some kind")
        out[case.id] = own.get(case.id, fmean(kin))
    return out


def steady(table: dict[str, Any]) -> list[Person]:
    """Those who slip, as far as they have played."""
    names = [f"slips {share}" for share in SLIPS if table["plays"].get(f"slips {share}")]
    return [Person(STEADY, played(table, name)) for name in names]


@lru_cache(maxsize=1)
def _faults() -> dict[str, frozenset[str]]:
    """What is wrong in each case of the bank."""
    return {case.id: frozenset(case.scenario().fault_ids) for case in bank()[0]}


def knowing_some(table: dict[str, Any], sort: str, share: float, count: int, seed: int) -> list[Person]:
    """People who know each fault with a chance.

    Parameters
    ----------
    sort : patchy, or all or nothing.
    share : the chance [-].
    count : of people.
    """
    best, worse, worst = (played(table, name) for name in (BEST, WORSE, WORST))
    faults = _faults()
    every = sorted({name for names in faults.values() for name in names})
    out = []
    for number in range(count):
        chance = random.Random(f"{sort} {share} {seed} {number}")
        known = {name for name in every if chance.random() < share}
        left = {name for name in every if chance.random() < GIVES_UP[sort]}
        marks = {
            case: best[case] if names <= known else worst[case] if names <= left else worse[case]
            for case, names in faults.items()
        }
        out.append(Person(sort, marks))
    return out


def at_ability(table: dict[str, Any], sort: str, ability: float, count: int, seed: int) -> list[Person]:
    """People whose mean over the bank is a figure, within a mark.

    Parameters
    ----------
    sort : patchy, or all or nothing.
    ability : the mean [of 100].
    count : of people that are tried; a share of them fits.
    """
    best, worse, worst = (kind_mean(played(table, name)) for name in (BEST, WORSE, WORST))
    unknown = (1.0 - GIVES_UP[sort]) * worse + GIVES_UP[sort] * worst
    share = (ability - unknown) / (best - unknown)
    if not 0.0 < share < 1.0:
        return []
    found = knowing_some(table, sort, share, count, seed)
    return [person for person in found if abs(person.ability - ability) <= 1.0]
