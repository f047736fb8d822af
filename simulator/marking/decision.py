"""When a sitting may be decided: after five cases or more, pass, fail or one more, up to ten; then no decision.

After each case from the fifth the mean of the marks is held against the passing mark. It decides where it lies further
from it than ``Z`` standard errors. The standard error is that of a mean of so many cases by the variance study
(``CASE_SD``, :mod:`simulator.studies.case_variance`): five marks that happen to lie close together are no sharper than
any other five. Where the marks at hand lie further apart than that, their own spread counts: of somebody who is perfect
at one case and hopeless at the next, the same mean tells less. Both figures were chosen on the operating curve, which
``python -m simulator.studies.operating_curve`` prints.

Throughout: ``totals`` and ``graves`` are the marks [of 100] and the grave breaches of the cases played, in their order;
``cases`` is a number of them.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any

from simulator.marking.sheet import PASS
from simulator.rig.trainer import overrides

PASSED, FAILED, ONE_MORE, UNDECIDED = "passed", "failed", "one_more", "undecided"
LEAST, MOST = 5, 10
CASE_SD = 24.0  # [marks] of one case about a person's mean over all cases
Z = 1.0  # [standard errors] between mean and passing mark for a decision


@dataclass(frozen=True)
class Rule:
    """The rule a sitting was begun under; kept in its record, so that a later rule changes no older sitting.

    ``pass_mark`` [of 100]; ``least`` and ``most`` cases; ``z`` [standard errors]; ``case_sd`` [marks]; ``as_met``:
    whether marks that lie further apart than ``case_sd`` count as far apart as they are.
    """

    pass_mark: float = PASS
    least: int = LEAST
    most: int = MOST
    z: float = Z
    case_sd: float = CASE_SD
    as_met: bool = True

    def error(self, cases: int, totals: Sequence[float] = ()) -> float:
        """Standard error [marks] of the mean of so many cases: the least there is, or that with the marks as they are.

        Examples
        --------
        >>> Rule(case_sd=15.0).error(9)
        5.0
        >>> Rule(case_sd=15.0).error(4, [100.0, 0.0, 100.0, 0.0]) > 25.0
        True
        """
        met = statistics.stdev(totals) if self.as_met and len(totals) > 1 else 0.0
        return max(self.case_sd, met) / math.sqrt(cases)

    def decide(self, totals: Sequence[float], graves: Sequence[bool] = ()) -> str:
        """What is to be said after the cases played so far: passed, failed, one_more or undecided.

        A grave breach fails the sitting whatever the marks, and like everything else not before the fifth case.

        Examples
        --------
        >>> rule = Rule(z=0.5, case_sd=15.4)
        >>> rule.decide([80.0] * 4), rule.decide([80.0] * 5), rule.decide([72.0] * 5), rule.decide([60.0] * 5)
        ('one_more', 'passed', 'one_more', 'failed')
        >>> rule.decide([71.0] * 10), rule.decide([99.0] * 5, [False] * 4 + [True])
        ('undecided', 'failed')
        """
        cases = len(totals)
        if cases < self.least:
            return ONE_MORE
        if any(graves):
            return FAILED
        margin = self.z * self.error(cases, totals) if self.z else 0.0
        off = sum(totals) / cases - self.pass_mark
        if off >= margin:
            return PASSED
        if off < -margin or not margin:
            return FAILED
        return UNDECIDED if cases >= self.most else ONE_MORE

    def decided(self, totals: Sequence[float], graves: Sequence[bool]) -> tuple[int, str]:
        """After how many of the cases it was decided, and how; what was played beyond that does not count.

        Examples
        --------
        >>> Rule(z=0.5, case_sd=15.4).decided([50.0] * 5 + [100.0] * 5, [False] * 10)
        (5, 'failed')
        """
        for cases in range(self.least, len(totals) + 1):
            found = self.decide(totals[:cases], graves[:cases])
            if found != ONE_MORE:
                return cases, found
        return len(totals), ONE_MORE

    def as_dict(self) -> dict[str, float]:
        """For the sitting's record."""
        return asdict(self)


#: Sittings of older releases: five cases, the mean of the five, no margin.
FIVE = Rule(most=LEAST, z=0.0, case_sd=0.0, as_met=False)


def rule_now() -> Rule:
    """The rule for a sitting begun now: the package's, with the trainer's passing mark where a file of figures sets one.

    Examples
    --------
    >>> rule_now() == Rule()
    True
    """
    return Rule(pass_mark=overrides().threshold("pass_mark"))


def rule_of(record: Mapping[str, Any]) -> Rule:
    """The rule in a sitting's record; that of older releases where there is none.

    Parameters
    ----------
    record : of a sitting.

    Examples
    --------
    >>> rule_of({}) == FIVE, rule_of({"rule": Rule().as_dict()}) == Rule()
    (True, True)
    """
    kept = record.get("rule")
    return (
        Rule(**{"as_met": False, **{f.name: kept[f.name] for f in fields(Rule) if f.name in kept}})
        if kept
        else FIVE
    )
