"""Does the certificate hold against those who try to trick it? Simulated sittings on forms drawn from the bank.

A sitting is a form as it is drawn for a person, with what each simulated person earned at these very cases
(:mod:`simulator.studies.bank_plays`), decided by the rule of a real sitting, grave breaches included. The expert is to
pass, the five of :mod:`simulator.studies.sitters` who try to trick it are not. Where somebody has not played a case,
another one of its kind that he has played stands in.

``python -m simulator.studies.sittings --sittings 2000`` prints the shares from a fresh seed; ``--out page.html`` writes
a page as well.

Throughout: ``count`` of sittings, ``rates`` how each person does, ``plays`` what one person earned by the id of the case,
``chance`` draws.
"""

from __future__ import annotations

import argparse
import random
import secrets
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from pathlib import Path
from statistics import fmean

from simulator.marking.bank import BankCase, bank
from simulator.marking.certificate_forms import SITTINGS, draw_form
from simulator.marking.decision import FAILED, ONE_MORE, PASSED, UNDECIDED, Rule
from simulator.rig.command import command, page_to_write, whole
from simulator.studies.bank_plays import FILE, read_table
from simulator.studies.sitters import COMER, COUNTER, TRICKS
from simulator.texts import text

EXPERT, TOLD = "expert", "kind known"  # the last is told, not asked for
WORKS_LIKE = {COMER: "slips 60", COUNTER: "slips 60"}
EXPERT_PASSES, TRICK_PASSES = 0.95, 0.05  # [-] at least, and at most
ROWS = 60
BADLY = 55.0  # [marks] by which somebody may feel, without being told, that a case went badly

Play = tuple[float, bool, bool]  # marks [-], grave breach, proven
Plays = Mapping[str, Sequence[Play]]


@dataclass(frozen=True)
class Rate:
    """How one person does: shares of sittings that pass, fail, stay undecided [-], mean marks, mean number of cases.

    For the one who comes again a sitting is all that he takes until he passes or the bank has no new cases for him.
    """

    person: str
    passes: float
    fails: float
    undecided: float
    mean: float
    cases: float
    sittings: int
    played: int  # cases of the bank that the person has really played


class Sitter:
    """One simulated person at drawn forms; ``fifth`` is whose play counts at the fifth case, if another's."""

    def __init__(self, person: str, plays: Plays, fifth: Sitter | None = None) -> None:
        self.person, self.rule, self._fifth = person, Rule(), fifth
        self._plays = {case: list(own) for case, own in plays.items() if own}
        kind_of = {case.id: case.slot for case in bank()[0]}
        self._of_kind: dict[str, list[str]] = {}
        for case in self._plays:
            self._of_kind.setdefault(kind_of.get(case, ""), []).append(case)
        self.played = len(self._plays)

    def play(self, case: BankCase, chance: random.Random) -> Play:
        """One play of a case, or of another of its kind where it was not played."""
        own = self._plays.get(case.id)
        if own is None:
            own = self._plays[chance.choice(self._of_kind[case.slot])]
        return chance.choice(own)

    def sit(self, form: Sequence[BankCase], chance: random.Random) -> tuple[str, list[float]]:
        """One sitting at a form: how it ended, and the marks of the cases played."""
        plays: list[Play] = []
        for number, case in enumerate(form, start=1):
            known = self._fifth is not None and number == self.rule.least
            plays.append((self._fifth if known and self._fifth is not None else self).play(case, chance))
            end = self.rule.decide([play[0] for play in plays], [play[1] for play in plays])
            if end != ONE_MORE:
                return end, [play[0] for play in plays]
        return UNDECIDED, [play[0] for play in plays]


@lru_cache(maxsize=2)
def rows_of_forms(seed: int) -> tuple[tuple[tuple[BankCase, ...], ...], ...]:
    """Rows of six forms, as somebody draws them who comes six times; sittings share them.

    Parameters
    ----------
    seed : of the draws.
    """
    rows = []
    for number in range(ROWS):
        row: list[tuple[BankCase, ...]] = []
        for again in range(SITTINGS):
            row.append(draw_form(seed + ROWS * again + number, [case.id for form in row for case in form]))
        rows.append(tuple(row))
    return tuple(rows)


def rate(sitter: Sitter, count: int, seed: int) -> Rate:
    """How a ``sitter`` does, each sitting with a form of its own; ``seed`` of the draws.

    Examples
    --------
    >>> always = Sitter("expert", {case.id: [(95.0, False, True)] for case in bank()[0]})
    >>> rate(always, 3, 1).passes
    1.0
    """
    ends: list[str] = []
    means: list[float] = []
    cases: list[int] = []
    for number in range(count):
        chance = random.Random(f"sitting {sitter.person} {seed} {number}")
        end, totals = sitter.sit(chance.choice(rows_of_forms(seed))[0], chance)
        ends.append(end)
        means.append(fmean(totals))
        cases.append(len(totals))
    return _rate(sitter, ends, means, cases)


def rate_of_comer(sitter: Sitter, count: int, seed: int) -> Rate:
    """The same for a ``sitter`` who leaves a sitting once a case among the first five went badly, and comes again."""
    ends: list[str] = []
    means: list[float] = []
    cases: list[int] = []
    for number in range(count):
        chance = random.Random(f"again {seed} {number}")
        end, total, played = FAILED, 0.0, 0
        for form in chance.choice(rows_of_forms(seed)):
            plays: list[Play] = []
            for case in form:
                plays.append(sitter.play(case, chance))
                end = sitter.rule.decide([play[0] for play in plays], [play[1] for play in plays])
                if end != ONE_MORE or (len(plays) < sitter.rule.least and _badly(plays[-1])):
                    break
            total, played = fmean(play[0] for play in plays), played + len(plays)
            if end == PASSED:
                break
        ends.append(FAILED if end == ONE_MORE else end)
        means.append(total)
        cases.append(played)
    return _rate(sitter, ends, means, cases)


def _badly(play: Play) -> bool:
    return play[0] < BADLY or not play[2]


def _rate(sitter: Sitter, ends: list[str], means: list[float], cases: list[int]) -> Rate:
    count = len(ends)
    passes, fails, undecided = (ends.count(end) / count for end in (PASSED, FAILED, UNDECIDED))
    return Rate(sitter.person, passes, fails, undecided, fmean(means), fmean(cases), count, sitter.played)


def rates_of(table: Mapping[str, Plays], count: int, seed: int) -> dict[str, Rate]:
    """Everybody's, as far as they have played at least one case of each kind.

    Parameters
    ----------
    table : ``plays`` of the table of plays: person, case, plays.
    seed : of the draws.
    """
    kinds, kind_of = {case.slot for case in bank()[0]}, {case.id: case.slot for case in bank()[0]}

    def plays_of(person: str) -> Plays:
        own: Plays = table.get(WORKS_LIKE.get(person, person), {})
        return own if {kind_of.get(case) for case in own} >= kinds else {}

    out = {}
    for person in (EXPERT, *TRICKS, TOLD):
        own, known = plays_of(person), plays_of(TOLD)
        if own and (known or person != COUNTER):
            sitter = Sitter(person, own, Sitter(TOLD, known) if person == COUNTER else None)
            out[person] = (rate_of_comer if person == COMER else rate)(sitter, count, seed)
    return out


def misses(rates: Mapping[str, Rate]) -> list[str]:
    """What should be and is not, as sentences."""
    out = []
    for person in (EXPERT, *TRICKS):
        found = rates.get(person)
        if found is None:
            out.append(text("study.missed_nobody", person=person))
        elif person == EXPERT and found.passes < EXPERT_PASSES:
            out.append(text("study.missed_expert", share=f"{100.0 * found.passes:.1f}"))
        elif person != EXPERT and found.passes > TRICK_PASSES:
            out.append(text("study.missed_trick", person=person, share=f"{100.0 * found.passes:.1f}"))
    return out


def page(rates: Mapping[str, Rate], seed: int) -> str:
    """The report as one HTML page; ``seed`` of its draws."""
    rows = "".join(
        f"<tr><td>{escape(found.person)}</td><td>{100.0 * found.passes:.1f} %</td><td>{100.0 * found.fails:.1f} %</td>"
        f"<td>{100.0 * found.undecided:.1f} %</td><td>{found.mean:.1f}</td><td>{found.cases:.1f}</td>"
        f"<td>{found.played}</td></tr>"
        for found in rates.values()
    )
    title = escape(text("study.sittings_title", n=next(iter(rates.values())).sittings))
    names = ("trainee", "passes", "fails", "undecided", "mean", "cases", "played")
    head = "".join(f"<th>{escape(text(f'study.columns.{name}'))}</th>" for name in names)
    said = [text("study.made_up"), text("study.sittings_how", seed=seed), *misses(rates)]
    style = "body{font:16px sans-serif;margin:2em}td,th{padding:.2em .8em;border-bottom:1px solid #bbb;text-align:left}"
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>{style}</style></head>'
        f"<body><h1>{title}</h1>{''.join(f'<p>{escape(line)}</p>' for line in said)}"
        f"<table><tr>{head}</tr>{rows}</table></body></html>"
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw sittings and print who passes; 1 and sentences where the certificate is tricked, or fails the expert.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.sittings", description=main.__doc__)
    parser.add_argument("--sittings", type=whole(1, 1_000_000), default=1000, help="of each person")
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=None, help="a fresh one by default")
    parser.add_argument("--table", type=Path, default=FILE)
    parser.add_argument("--out", type=page_to_write, default=None, help="a page to write as well")
    chosen = parser.parse_args(arguments)
    seed = secrets.randbits(31) if chosen.seed is None else chosen.seed
    rates = rates_of(read_table(chosen.table)["plays"], chosen.sittings, seed)
    say = sys.stdout.write
    say(f"seed {seed}, {chosen.sittings} sittings each\n")
    say(f"{'':12}{'pass':>9}{'fail':>9}{'undecided':>11}{'mean':>7}{'cases':>7}\n")
    for found in rates.values():
        shares = f"{100.0 * found.passes:7.1f} %{100.0 * found.fails:7.1f} %{100.0 * found.undecided:9.1f} %"
        say(f"{found.person:12}{shares}{found.mean:7.1f}{found.cases:7.1f}  ({found.played} cases played)\n")
    if chosen.out is not None and rates:
        chosen.out.write_text(page(rates, seed), encoding="utf-8")
    missed = misses(rates)
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
