"""What a real class tells of the cases: difficulty, discrimination, confusions, and how far marks tell people apart.

From the work files of a trainer's group, so that simulated figures can be replaced by its own:

difficulty
    Marks that were lost at a case on average [of 100].
discrimination
    Correlation of the marks of a case with the same people's mean over their other cases; what a case adds of its own is
    left out of both. Told from eight people on.
called
    What it was taken for, by the most markers of the last call, where that was something else.
phi
    Share of the variance of a mean of so many cases that lies between people (Brennan 2001, Generalizability Theory; from
    memory), everybody with cases of his own: one-way analysis of variance, sizes unlike (Searle 1971, Linear Models;
    from memory). Its interval comes from drawing the people anew (bootstrap).

``python -m simulator.studies.item_statistics work-1.json work-2.json ...`` prints it. Only cases of assessments count.

Throughout: ``answers`` are cases that somebody played to the end; ``paths`` of work files; ``cases`` is a number of them.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean
from typing import Any

import numpy as np

from simulator.attempt.calls import top_suspect
from simulator.diagnosis.words import fault_name
from simulator.errors import InputError
from simulator.marking.case_result import stored_sheet
from simulator.records.store import Store
from simulator.records.work_file import read_work
from simulator.records.work_merge import merge_work
from simulator.rig.command import command, whole

FEW = 8  # people below which no discrimination is told
DRAWS = 500
OTHER = "something_else"


@dataclass(frozen=True)
class Answer:
    """A case that somebody played: who, which case, marks [of 100], what was wrong, what it was last taken for."""

    person: str
    case: str
    total: float
    truth: tuple[str, ...]
    called: str


@dataclass(frozen=True)
class Item:
    """A case: people, difficulty [marks], discrimination [-] or None, what it was wrongly taken for and how often [-]."""

    case: str
    truth: tuple[str, ...]
    people: int
    difficulty: float
    discrimination: float | None
    called: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Phi:
    """Variance [marks^2] between people and within; ``phi`` of a mean of ``cases`` [-] with its interval, 90 %."""

    between: float
    within: float
    cases: int
    phi: float
    low: float
    high: float


def answers_of(paths: Iterable[Path]) -> list[Answer]:
    """All cases of assessments in work files that were played to their end and marked.

    Raises
    ------
    InputError : a file is no work file.
    """
    out = []
    for number, path in enumerate(paths):
        work = read_work(path.read_bytes())
        with Store.open("sqlite://") as store:
            merge_work(store, work)
            for row in store.list_attempts():
                if row.mode == "assessment":
                    found = _answer(store, row.attempt_id, f"{number} {work.learner}")
                    out += [found] if found is not None else []
    return out


def _answer(store: Any, attempt_id: str, person: str) -> Answer | None:
    sheet, record = stored_sheet(store, attempt_id), store.attempt_record(attempt_id)
    if sheet is None:
        return None
    calls = [
        event["args"]["markers"]
        for event in store.events(attempt_id)
        if event["act"] == "call" and event["accepted"]
    ]
    truth = tuple(str(fault["fault"]) for fault in record["scenario"].get("faults", ())) or ("sound",)
    called = (top_suspect(calls[-1]) or OTHER) if calls else ""
    return Answer(person, str(record["scenario_hash"])[:12], float(sheet["total"]), truth, called)


def items_of(answers: Sequence[Answer]) -> list[Item]:
    """Every case that was played, the hardest first.

    Examples
    --------
    >>> item = items_of([Answer("a", "x", 40.0, ("belt_loose",), "drain_open"),
    ...                  Answer("b", "x", 80.0, ("belt_loose",), "belt_loose")])[0]
    >>> item.difficulty, item.called, item.discrimination
    (40.0, (('drain_open', 1),), None)
    """
    out = []
    for case in sorted({answer.case for answer in answers}):
        own = [answer for answer in answers if answer.case == case]
        wrong = Counter(
            answer.called for answer in own if answer.called and answer.called not in answer.truth
        )
        lost = 100.0 - fmean(answer.total for answer in own)
        people = len({answer.person for answer in own})
        out.append(
            Item(case, own[0].truth, people, lost, _discrimination(own, answers), tuple(wrong.most_common(3)))
        )
    return sorted(out, key=lambda item: -item.difficulty)


def _discrimination(own: Sequence[Answer], answers: Sequence[Answer]) -> float | None:
    pairs = []
    for answer in own:
        rest = [
            other.total for other in answers if other.person == answer.person and other.case != answer.case
        ]
        if rest:
            pairs.append((answer.total, fmean(rest)))
    if len(pairs) < FEW:
        return None
    mine, theirs = np.array(pairs).T
    if not mine.std() or not theirs.std():
        return None
    return float(np.corrcoef(mine, theirs)[0, 1])


def phi_of(answers: Sequence[Answer], cases: int, draws: int = DRAWS, seed: int = 1) -> Phi:
    """How far a mean of so many cases tells these people apart.

    Parameters
    ----------
    draws : of the people anew, for the interval; by a ``seed``.

    Raises
    ------
    InputError : fewer than two people with two cases or more.
    """
    by_person: dict[str, list[float]] = {}
    for answer in answers:
        by_person.setdefault(answer.person, []).append(answer.total)
    groups = [own for own in by_person.values() if len(own) > 1]
    if len(groups) < 2:
        raise InputError("too few people", "the work files", "two people with two marked cases or more")
    between, within = _variances(groups)
    chance = np.random.default_rng(seed)
    found = []
    for _ in range(draws):
        drawn = [groups[place] for place in chance.integers(0, len(groups), len(groups))]
        found.append(_phi(*_variances(drawn), cases))
    low, high = np.quantile(found, [0.05, 0.95])
    return Phi(between, within, cases, _phi(between, within, cases), float(low), float(high))


def _variances(groups: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Between people and within, of groups of unlike sizes; none below zero."""
    sizes = np.array([len(own) for own in groups], dtype=float)
    means = np.array([fmean(own) for own in groups])
    count, total = len(groups), sizes.sum()
    within = sum(float(((np.array(own) - fmean(own)) ** 2).sum()) for own in groups) / (total - count)
    whole_mean = float((sizes * means).sum() / total)
    square = float((sizes * (means - whole_mean) ** 2).sum()) / (count - 1)
    size = (total - float((sizes**2).sum()) / total) / (count - 1)
    return max((square - within) / size, 0.0), float(within)


def _phi(between: float, within: float, cases: int) -> float:
    whole_variance = between + within / cases
    return between / whole_variance if whole_variance > 0.0 else 0.0


def main(arguments: Sequence[str] | None = None) -> int:
    """Print what the work files tell of cases and people; 1 and a sentence where they tell too little.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.item_statistics", description=main.__doc__
    )
    parser.add_argument("work", type=Path, nargs="+", help="work files of a group")
    parser.add_argument("--draws", type=whole(10, 100_000), default=DRAWS)
    chosen = parser.parse_args(arguments)
    say = sys.stdout.write
    try:
        answers = answers_of(chosen.work)
        for item in items_of(answers):
            apart = "-" if item.discrimination is None else f"{item.discrimination:+.2f}"
            taken = ", ".join(f"{_name(name)} ({count})" for name, count in item.called)
            say(
                f"{item.case}  {item.people:3} people  lost {item.difficulty:5.1f}  discrimination {apart:>5}"
            )
            say(
                f"  {' and '.join(_name(name) for name in item.truth)}{'; taken for ' + taken if taken else ''}\n"
            )
        for cases in (1, 5, 10):
            found = phi_of(answers, cases, chosen.draws)
            say(f"phi of {cases:2} cases {found.phi:.2f} (90 %: {found.low:.2f} to {found.high:.2f})\n")
        say(f"one case: +-{found.within**0.5:.1f} marks within a person, people +-{found.between**0.5:.1f}\n")
    except OSError as error:
        sys.stderr.write(f"{error.filename}: {error.strerror}\n")
        return 1
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


def _name(fault: str) -> str:
    return "something else" if fault == OTHER else fault_name(fault)


if __name__ == "__main__":
    raise SystemExit(command(main))
