"""The best plan there is, worked out exactly, for a handful of faults and checks: what the advisor is held against.

Dynamic programming over everything that can become known (Bellman 1957). One fault is there; each check is made at most
once and errs by its table; a work mends its faults and the hands see whether it did, or not; a start proves a mended rig.

Throughout: ``number`` is the place of a check or work in its list, from 0.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

SURE = 1e-9  # [-] chance that counts as none
START = -1  # number of the act that starts the rig

#: What is known: the outcome of each check or -1, works done as bits, faults ruled out as bits, whether a work has
#: been seen to mend.
Known = tuple[tuple[int, ...], int, int, bool]


@dataclass(frozen=True)
class Look:
    """A check: its minutes [min] and the chance [-] of each outcome under each fault, ``table`` [fault][outcome]."""

    minutes: float
    table: Sequence[Sequence[float]]


@dataclass(frozen=True)
class Work:
    """A work: its minutes [min], the faults it mends, and whether the hands see if it has mended anything."""

    minutes: float
    mends: tuple[int, ...]
    seen: bool = True


@dataclass
class Problem:
    """A call-out small enough to be solved: chances [-] of faults, looks, works and the minutes [min] of a start.

    Examples
    --------
    >>> works = [Work(m, (i,)) for i, m in enumerate([10.0, 5.0, 2.0, 1.0])]
    >>> case = Problem([0.4, 0.3, 0.2, 0.1], [], works, start=0.0)
    >>> round(case.best_minutes(), 9)
    10.3
    """

    chances: Sequence[float]
    looks: Sequence[Look]
    works: Sequence[Work]
    start: float
    fallback: float = 90.0  # [min] when all works are done and none has mended it
    _best: dict[Known, float] = field(default_factory=dict, repr=False)

    @property
    def beginning(self) -> Known:
        """Nothing known."""
        return (-1,) * len(self.looks), 0, 0, False

    def weights(self, known: Known) -> list[float]:
        """Chance [-] of each fault together with what is known."""
        outcomes, _, out, _ = known
        found = []
        for fault, chance in enumerate(self.chances):
            if out >> fault & 1:
                chance = 0.0
            for look, outcome in zip(self.looks, outcomes, strict=True):
                if outcome >= 0 and chance > 0.0:
                    chance *= look.table[fault][outcome]
            found.append(chance)
        return found

    def mended(self, fault: int, works: int) -> bool:
        """Whether the works done (bits) have mended a fault."""
        return any(works >> number & 1 and fault in work.mends for number, work in enumerate(self.works))

    def look(self, known: Known, number: int) -> tuple[float, list[tuple[float, Known]]]:
        """Minutes [min] of a check, and what may then be known with its chance [-], not made to add up to 1."""
        outcomes, works, out, seen = known
        weights, look = self.weights(known), self.looks[number]
        after = []
        for outcome in range(len(look.table[0])):
            chance = sum(w * look.table[fault][outcome] for fault, w in enumerate(weights))
            if chance > SURE:
                told = (*outcomes[:number], outcome, *outcomes[number + 1 :])
                after.append((chance, (told, works, out, seen)))
        return look.minutes, after

    def work(self, known: Known, number: int) -> tuple[float, list[tuple[float, Known]]]:
        """As :meth:`look`, for a work."""
        outcomes, works, out, seen = known
        work, weights = self.works[number], self.weights(known)
        done = works | 1 << number
        if not work.seen:
            return work.minutes, [(sum(weights), (outcomes, done, out, seen))]
        mends = [fault for fault in work.mends if not self.mended(fault, works)]
        bits = sum(1 << fault for fault in mends)
        rest = sum(1 << fault for fault in range(len(weights))) & ~bits
        hit = sum(weights[fault] for fault in mends)
        after = [
            (hit, (outcomes, done, out | rest, True)),
            (sum(weights) - hit, (outcomes, done, out | bits, seen)),
        ]
        return work.minutes, [(chance, then) for chance, then in after if chance > SURE]

    def begin(self, known: Known) -> tuple[float, float, list[tuple[float, Known]]]:
        """Minutes [min] of a start, the chance [-] that it proves the rig, and what is known where it does not."""
        outcomes, works, out, _ = known
        weights = self.weights(known)
        good = [fault for fault in range(len(weights)) if self.mended(fault, works)]
        proves = sum(weights[fault] for fault in good)
        left = sum(weights) - proves
        told = out | sum(1 << fault for fault in good)
        return self.start, proves, [(left, (outcomes, works, told, False))] if left > SURE else []

    def best_minutes(self, known: Known | None = None) -> float:
        """Least expected minutes [min] until proven pumping, times the chance of what is known."""
        here = self.beginning if known is None else known
        if here not in self._best:
            self._best[here] = min(self.minutes_with(here, act, self.best_minutes) for act in self.acts(here))
        return self._best[here]

    def acts(self, known: Known) -> list[tuple[str, int]]:
        """What can usefully be done: looks not made, works not done, and a start where it may prove something."""
        outcomes, works, _, seen = known
        if seen:
            return [("start", START)]
        out = [("look", n) for n, outcome in enumerate(outcomes) if outcome < 0]
        out += [("work", n) for n in range(len(self.works)) if not works >> n & 1]
        if self.begin(known)[1] > SURE:
            out.append(("start", START))
        return out or [("give_up", START)]

    def minutes_with(self, known: Known, act: tuple[str, int], after: Callable[[Known], float]) -> float:
        """Expected minutes [min], times the chance of what is known, with an act first and then as ``after`` says."""
        kind, number = act
        mass = sum(self.weights(known))
        if kind == "give_up":
            return self.fallback * mass
        if kind == "start":
            minutes, _, then = self.begin(known)
        elif kind == "look":
            minutes, then = self.look(known, number)
        else:
            minutes, then = self.work(known, number)
        return minutes * mass + sum(after(state) for _, state in then)

    def minutes_of(self, policy: Callable[[Known], tuple[str, int]]) -> float:
        """Expected minutes [min] of going on as ``policy`` says at every turn."""

        def cost(known: Known) -> float:
            return self.minutes_with(known, policy(known), cost)

        return cost(self.beginning)
