"""Forms of ten cases drawn from the bank by two published blueprints, alike in difficulty and in minutes.

The first five are one case of each kind, in a drawn order. Six to ten have a blueprint of their own: any kinds, none of
them more than twice, so that who has counted the kinds cannot tell what is left.

All forms that a learner has left are made up at once, out of the cases not met, and put into balance by swapping cases of
a kind; the first of them is drawn. So the last form is as well balanced as the first, and a bank of twelve cases a kind
lasts for six sittings without a case coming twice.

Throughout: ``cases`` of the bank; ``used`` ids of cases that this learner has met, the oldest first.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean

from simulator.errors import InputError
from simulator.marking.bank import KINDS, BankCase, bank
from simulator.marking.decision import LEAST, MOST

FIRST = tuple(KINDS)
OF_A_KIND = 2  # at most, among cases six to ten
SITTINGS = 6  # forms that are made up at once, at most
BAND = 0.045  # [-] of the target minutes, the first five: any two forms are then within 10 % of each other
EQUAL = 2.0  # [marks] by which the mean difficulty of five cases may be off the bank's
TRIES, SWAPS = 30, 1500
CHOICES = (3, 5, 8, 1000)  # cases a kind to choose from, once those not met are too few


@dataclass(frozen=True)
class _Goal:
    """What fives should be like: minutes [min] of the first five, mean difficulty [marks] of any five."""

    minutes: float
    difficulty: float

    def off(self, five: Sequence[BankCase], *, first: bool) -> float:
        """How far five cases are off, squared, in bands."""
        hard = (fmean([case.difficulty for case in five]) - self.difficulty) / EQUAL
        long = (sum(case.minutes for case in five) / self.minutes - 1.0) / BAND if first else 0.0
        return hard * hard + long * long

    def fits(self, five: Sequence[BankCase], *, first: bool, slack: float = 1.0) -> bool:
        """Whether five cases are within the bands, or so many times as wide ones."""
        close = abs(fmean([case.difficulty for case in five]) - self.difficulty) <= slack * EQUAL
        minutes = sum(case.minutes for case in five)
        return close and (not first or abs(minutes / self.minutes - 1.0) <= slack * BAND)


def draw_form(
    seed: int, used: Sequence[str] = (), cases: Sequence[BankCase] | None = None, target: float | None = None
) -> tuple[BankCase, ...]:
    """Ten cases in the order in which they are played: five by the first blueprint, five by the other.

    Parameters
    ----------
    seed : of the draw.
    used : a met case is taken only where those not met do not make a form any more, the longest ago first.
    cases, target : of another bank; the target is minutes of the first five [min].

    Raises
    ------
    InputError : no ten cases of the bank fit.

    Examples
    --------
    >>> form = draw_form(1)
    >>> sorted(case.slot for case in form[:5]) == sorted(FIRST), form == draw_form(1), len({case.id for case in form})
    (True, True, 10)
    """
    if cases is None or target is None:
        cases, target = bank()
    chance = random.Random(f"form {seed}")
    met = {case_id: place for place, case_id in enumerate(used)}  # the later place of one met twice
    ordered = {
        kind: sorted(_shuffled(cases, kind, chance), key=lambda case: met.get(case.id, -1)) for kind in KINDS
    }
    new = {kind: [case for case in own if case.id not in met] for kind, own in ordered.items()}
    count = min(forms_in(new), SITTINGS)
    goal = _Goal(target, mean_difficulty(cases))
    for pool in [new] if count else _with_oldest(ordered, new):
        for _ in range(TRIES):
            form = _balanced(pool, max(count, 1), goal, chance)
            if form is not None:
                first, more = list(form[:LEAST]), list(form[LEAST:])
                chance.shuffle(first)
                chance.shuffle(more)
                return (*first, *more)
    raise InputError("no ten cases fit the target minutes", "certificate bank", f"{target:g} min")


def form_fits(form: Sequence[BankCase], target: float, difficulty: float, slack: float = 1.0) -> bool:
    """Whether ten cases are of the two blueprints and within the bands.

    Parameters
    ----------
    form : the cases in the order in which they are played; five or more.
    target : minutes of the first five [min].
    difficulty : mean of the bank [marks].
    slack : the bands are so many times as wide [-].
    """
    goal, first, more = _Goal(target, difficulty), form[:LEAST], form[LEAST:]
    return (
        len(form) == MOST
        and len({case.id for case in form}) == MOST
        and sorted(case.slot for case in first) == sorted(FIRST)
        and _mixed(more)
        and goal.fits(first, first=True, slack=slack)
        and goal.fits(more, first=False, slack=slack)
    )


def mean_difficulty(cases: Iterable[BankCase]) -> float:
    """Mean difficulty of a bank [marks], each kind counted alike.

    Examples
    --------
    >>> mean_difficulty(bank()[0]) < 100.0
    True
    """
    own = list(cases)
    return fmean(fmean(case.difficulty for case in own if case.slot == kind) for kind in KINDS)


def forms_in(pool: dict[str, list[BankCase]]) -> int:
    """How many forms cases by kind are enough for.

    Parameters
    ----------
    pool : cases of each kind.

    Examples
    --------
    >>> forms_in({kind: [case for case in bank()[0] if case.slot == kind] for kind in KINDS}) >= SITTINGS
    True
    """
    count = min(len(own) for own in pool.values())
    while (
        count
        and sum(min(len(own) - count, OF_A_KIND * count) for own in pool.values()) < (MOST - LEAST) * count
    ):
        count -= 1
    return count


def _mixed(more: Sequence[BankCase]) -> bool:
    """Whether no kind comes more often than it may among cases six to ten."""
    kinds = [case.slot for case in more]
    return all(kinds.count(kind) <= OF_A_KIND for kind in kinds)


def _shuffled(cases: Sequence[BankCase], kind: str, chance: random.Random) -> list[BankCase]:
    own = [case for case in cases if case.slot == kind]
    chance.shuffle(own)
    return own


def _with_oldest(
    ordered: dict[str, list[BankCase]], new: dict[str, list[BankCase]]
) -> Iterable[dict[str, list[BankCase]]]:
    """The cases not met, and of those met the longest ago first, with more and more choice."""
    for choice in CHOICES:
        pool = {kind: own[: max(len(new[kind]), choice)] for kind, own in ordered.items()}
        if forms_in(pool):
            yield pool


def _balanced(
    pool: dict[str, list[BankCase]], count: int, goal: _Goal, chance: random.Random
) -> tuple[BankCase, ...] | None:
    """The first of so many forms of a pool, once all are balanced; None where this draw did not get there."""
    left = {kind: _again_shuffled(own, chance) for kind, own in pool.items()}
    fives: list[list[BankCase]] = []
    for _ in range(count):
        fives += [[left[kind].pop() for kind in FIRST], []]
    for five in fives[1::2]:
        for _ in range(MOST - LEAST):
            kinds = [case.slot for case in five]
            open_to = [kind for kind, own in left.items() if own and kinds.count(kind) < OF_A_KIND]
            if not open_to:
                return None
            # The kinds of which most are left come sooner, so that none is left over at the end.
            five.append(left[chance.choices(open_to, [len(left[kind]) ** 2 for kind in open_to])[0]].pop())
    off = [goal.off(five, first=number % 2 == 0) for number, five in enumerate(fives)]
    for _ in range(SWAPS):
        if all(goal.fits(five, first=number % 2 == 0) for number, five in enumerate(fives)):
            return (*fives[0], *fives[1])
        _swap(fives, left, off, goal, chance)
    return None


def _again_shuffled(own: Sequence[BankCase], chance: random.Random) -> list[BankCase]:
    out = list(own)
    chance.shuffle(out)
    return out


def _swap(
    fives: list[list[BankCase]],
    left: dict[str, list[BankCase]],
    off: list[float],
    goal: _Goal,
    chance: random.Random,
) -> None:
    """Swap a case of the worst five (now and then of any) for one of its kind elsewhere, if that brings them nearer."""
    worst = max(range(len(fives)), key=lambda number: off[number])
    here = worst if chance.random() < 0.7 else chance.randrange(len(fives))
    place = chance.randrange(len(fives[here]))
    kind = fives[here][place].slot
    others = [
        (other, at)
        for other, five in enumerate(fives)
        if other != here
        for at, case in enumerate(five)
        if case.slot == kind or (other % 2 and here % 2)
    ]
    spare = [(-1, at) for at in range(len(left[kind]))]
    if not others and not spare:
        return
    other, at = chance.choice(others + spare)
    there = left[kind] if other < 0 else fives[other]
    before = off[here] + (off[other] if other >= 0 else 0.0)
    fives[here][place], there[at] = there[at], fives[here][place]
    new_here = goal.off(fives[here], first=here % 2 == 0)
    new_other = goal.off(fives[other], first=other % 2 == 0) if other >= 0 else 0.0
    mixed = here % 2 == 0 or (_mixed(fives[here]) and (other < 0 or other % 2 == 0 or _mixed(there)))
    if mixed and new_here + new_other < before:
        off[here] = new_here
        if other >= 0:
            off[other] = new_other
    else:
        fives[here][place], there[at] = there[at], fives[here][place]
