"""Simulated people at a certificate sitting: how far between knowing and not, and five who try to trick it.

slips 15, slips 30, slips 45, slips 60
    Know as much as the expert; of their steps so many in a hundred are drawn blindly, and so many in a hundred of their
    ten markers stand on what is most often at fault in general. They stand between the expert and somebody who guesses:
    from them come the standard error of a case, the difficulty of the cases, and people near the passing mark.
swapper
    Mends blind what is most often at fault, two works at a time (:mod:`simulator.studies.trainees`). Tries whether luck
    passes. Hints at every turn are no way to try: a sitting refuses them.
one start
    Watches one start, states what could be known by then and hands over. Tries whether a good first guess passes.
one answer
    States the commonest fault of its rig with all ten markers before he has seen anything, mends that and starts.
    Tries whether a fixed answer passes.
kind known
    Has been told of what kind a case is; mends blind what is most often at fault of that kind, and starts after each.
    Nobody at a sitting is told; how such a one would do at ten cases is told beside the rest.
counts kinds
    Works like slips 60 and knows the blueprint: the first five are one of each kind, so that the fifth is known by what
    is left, and he plays it like kind known. Tries whether the blueprint gives a sitting away.
come again
    Works like slips 60, leaves the sitting for good when a case among the first five goes badly, and sits again, up to
    six times: as many as the bank has cases for. Tries whether coming again until it goes well passes.

The last two are made of the plays of the others, in :mod:`simulator.studies.sittings`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from simulator.attempt import Attempt
from simulator.attempt.calls import MARKERS, SOMETHING_ELSE
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.marking.bank import KINDS
from simulator.rig.faults import FAULTS
from simulator.studies.habits import OneStart
from simulator.studies.trainee import Trainee, nearest_markers
from simulator.studies.trainees import Expert, Swapper

LOOKS = 0.7  # [-] of blind steps that are looks; the rest is work
SLIPS = (15, 30, 45, 60)  # [%] of steps drawn blindly
COUNTER, COMER = "counts kinds", "come again"
TRICKS = ("swapper", "one start", "one answer", COUNTER, COMER)


class Slips(Expert):
    """Knows, and now and then does anything.

    Parameters
    ----------
    share : of steps that are drawn blindly [-].
    """

    def __init__(self, attempt: Attempt, seed: int = 0, share: float = 0.0) -> None:
        self.name = f"slips {100.0 * share:.0f}"
        super().__init__(attempt, seed)
        self.share = share

    def choices(self) -> Iterable[Option]:
        """The expert's next step, or a blind one before it."""
        for option in super().choices():
            while self.chance.random() < self.share:
                kind = CHECK if self.chance.random() < LOOKS else REMEDY
                yield self.chance.choice(self.offered(kind))
            yield option

    def markers(self) -> dict[str, int]:
        """What could be known, drawn towards what is most often at fault."""
        known, general = self.trail.end.by_fault(), Belief(self.cases).by_fault()
        return nearest_markers(
            {name: (1.0 - self.share) * known[name] + self.share * general.get(name, 0.0) for name in known}
        )


class OneAnswer(Trainee):
    """Says the same whatever the case."""

    name = "one answer"

    def choices(self) -> Iterable[Option]:
        """The work on the commonest fault, and a start."""
        work = self.repair(self._commonest())
        if work is not None:
            yield work
        yield self.watching()

    def markers(self) -> dict[str, int]:
        """All on one."""
        return {self._commonest(): MARKERS}

    def _commonest(self) -> str:
        general = Belief(self.cases).by_fault()
        return max((name for name in general if name != "sound"), key=lambda name: general[name])


class KindKnown(Trainee):
    """Knows what kind of case it is, and nothing else."""

    name = "kind known"

    def choices(self) -> Iterable[Option]:
        """A start, then work on the faults of the kind, the commonest first, and a start after each."""
        general = Belief(self.cases).by_fault()
        tried: set[Option] = set()
        yield self.watching()
        for name in sorted(self._of_kind(), key=lambda name: -general.get(name, 0.0)):
            work = self.repair(name) if name in self.cases.faults and name != "sound" else None
            if work is not None and work not in tried:
                tried.add(work)
                yield work
                yield self.watching()

    def markers(self) -> dict[str, int]:
        """Spread over the three commonest of the kind."""
        general = Belief(self.cases).by_fault()
        mine = {name: general.get(name, 0.0) for name in self._of_kind()}
        whole = sum(mine.values())
        if whole <= 0.0:
            return {SOMETHING_ELSE: MARKERS}
        return nearest_markers({name: chance / whole for name, chance in mine.items()})

    def _of_kind(self) -> list[str]:
        families = {FAULTS[name].family for name in self.attempt.scenario.fault_ids} or {"none"}
        kind = next(own for own in KINDS.values() if families <= set(own))
        return [name for name, fault in FAULTS.items() if fault.family in kind]


def _slipping(share: float) -> Callable[..., Trainee]:
    return lambda attempt, seed=0: Slips(attempt, seed, share)


SITTERS: dict[str, Callable[..., Trainee]] = {
    "expert": Expert,
    **{f"slips {share}": _slipping(share / 100.0) for share in SLIPS},
    "swapper": Swapper,
    "one start": OneStart,
    "one answer": OneAnswer,
    "kind known": KindKnown,
}
