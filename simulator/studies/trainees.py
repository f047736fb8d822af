"""Simulated trainees: five ways to go about a call-out, to see whether the marks tell skill from luck.

All of them obey the safety rules: whatever an act waits for is made safe first. All watch a start from dry as long as
a sound rig's proof takes, say that the job is done once the pump is proven, and hand the job over after 30 steps.
They play through the headless attempt and are marked by the marking that marks a person.

random
    Each step is, with equal chance, a watched start, any look or any work, drawn blindly. Ten markers are thrown
    one by one on three suspects drawn blindly and on "something else". The guesses are drawn too.
swapper
    The shot-gun part swapper. Watches one start, states that he has no idea (ten markers on "something else"), then
    mends blind what is most often at fault first, two works at a time without a look, each pair followed by a start.
list
    The fixed list by likelihood. Walks round, watches one start, states how often each fault comes up in general.
    Then goes down the faults from the most common to the least, whatever the gauges said: makes the look that shows
    this fault best, and where it shows worse than a good rig would, does the quickest work on it and starts.
splitter
    The half-splitter. Walks round, watches a start, states what he believes. Then always the look whose outcomes
    come nearest to halving what is possible (the most expected information [bit]), whatever its minutes; mends what
    is likelier than not, most of all likely first, and starts after it.
expert
    Follows the advice of the model from what was seen, and states what he believes.

``python -m simulator.studies.skill --scenarios 200 --out report.html`` plays and compares them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from simulator.attempt.calls import (
    FROST_ANSWERS,
    MARKERS,
    MAX_SUSPECTS,
    SOMETHING_ELSE,
)
from simulator.diagnosis.advice import Advice
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, WATCH, Option
from simulator.diagnosis.words import helped_chance
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import expert_advice
from simulator.marking.understanding import blank_share
from simulator.rig.faults import FAULTS
from simulator.studies.trainee import Trainee, nearest_markers

SHOWS = 3.0  # times as likely with the fault as with a good rig: what the list takes for a find
LIKELY = 0.5  # [-] chance from which the splitter mends
TELLING = 0.02  # [bit] less is not worth a look to the splitter


class Blind(Trainee):
    """Draws every step."""

    name = "random"

    def choices(self) -> Iterable[Option]:
        """Starts, looks and work, drawn blindly."""
        while True:
            kind = self.chance.choice((WATCH, CHECK, REMEDY))
            yield self.chance.choice(self.offered(kind)) if kind != WATCH else self.watching()

    def markers(self) -> dict[str, int]:
        """Ten markers thrown on three suspects and on something else."""
        on = [*self.chance.sample(list(FAULTS), MAX_SUSPECTS), SOMETHING_ELSE]
        thrown = [self.chance.choice(on) for _ in range(MARKERS)]
        return {name: thrown.count(name) for name in on if name in thrown}

    def guess(self) -> float | None:
        """Any time."""
        return round(self.chance.uniform(10.0, 300.0))

    def blank_answer(self, suspect: str) -> str | None:
        """Any answer, whatever the suspect."""
        return self.chance.choice(CHECKS["blank_off"].outcomes)

    def frost_answer(self) -> str:
        """Any answer."""
        return self.chance.choice(FROST_ANSWERS)


class Swapper(Trainee):
    """Mends on no evidence."""

    name = "swapper"

    def choices(self) -> Iterable[Option]:
        """One start, then work two at a time, and a start after each pair."""
        yield self.watching()
        often = {option: helped_chance(Belief(self.cases), option) for option in self.offered(REMEDY)}
        works = sorted(often, key=lambda option: -often[option])
        for first in range(0, len(works), 2):
            yield from works[first : first + 2]
            yield self.watching()

    def markers(self) -> dict[str, int]:
        """No idea."""
        return {SOMETHING_ELSE: MARKERS}

    def blank_answer(self, suspect: str) -> str | None:
        """Any answer, whatever the suspect."""
        return self.chance.choice(CHECKS["blank_off"].outcomes)


class ByList(Trainee):
    """Goes down a fixed list."""

    name = "list"

    def choices(self) -> Iterable[Option]:
        """A walk round, one start, then the faults from the most common to the least."""
        yield from self.walk()
        yield self.watching()
        done: set[tuple[str, str]] = set()
        general = Belief(self.cases).by_fault()
        for fault in sorted(general, key=lambda name: -general[name]):
            for look in self._looks(fault):
                if (look.id, look.place) in done:
                    continue
                done.add((look.id, look.place))
                yield look
                work = self._work_found(fault)
                if work is not None:
                    yield work
                    yield self.watching()

    def markers(self) -> dict[str, int]:
        """How often faults come up in general."""
        return nearest_markers(Belief(self.cases).by_fault())

    def _looks(self, fault: str) -> list[Option]:
        """The look that parts this fault best from a good rig, at every place where it can be made."""
        index = self.cases.faults.index(fault)
        own = self.cases.weights * (self.cases.fault_index == index)
        looks = self.offered(CHECK)
        if own.sum() <= 0.0 or not looks or index == 0:
            return []

        def parts(option: Option) -> float:
            table = self.cases.chances[option.id, option.place]
            there, good = table[self.cases.situations.start, -1], table[0, -1]
            return float((own / own.sum()) @ np.abs(there - good).sum(axis=1))

        best = max(looks, key=lambda option: (round(parts(option), 2), -option.minutes))
        return [option for option in looks if option.id == best.id]

    def _work_found(self, fault: str) -> Option | None:
        """The work on a fault where the last look showed it."""
        step = self.trail.steps[-1]
        cases = step.before.cases  # more of them than at the beginning where a second trouble has shown
        table = step.before.chances(step.option.id, step.option.place, step.time)
        seen = CHECKS[step.option.id].outcomes.index(step.result["outcome"])
        own = cases.weights * (cases.fault_index == cases.faults.index(fault))
        there = float(own @ table[:, seen]) / float(own.sum())
        good = float(table[0, seen])
        if there > SHOWS * good:
            return self.repair(fault)
        for other in cases.faults[1:]:  # the same look may show another fault
            theirs = cases.weights * (cases.fault_index == cases.faults.index(other))
            if float(theirs @ table[:, seen]) / float(theirs.sum()) > max(LIKELY, SHOWS * good):
                return self.repair(other)
        return None


class Knowing(Trainee):
    """One who knows what the model says of a good rig and of a suspect."""

    def guess(self) -> float | None:
        """What the rig's card says."""
        seconds = float(self.cases.prime_times[0])
        return round(seconds) if np.isfinite(seconds) else None

    def blank_answer(self, suspect: str) -> str | None:
        """The likeliest outcome."""
        shares = {
            each: blank_share(each, suspect, self.trail.end)[0] for each in CHECKS["blank_off"].outcomes
        }
        return max(shares, key=lambda name: shares[name])


class HalfSplitter(Knowing):
    """Halves what is possible, whatever it costs."""

    name = "splitter"

    def choices(self) -> Iterable[Option]:
        """A walk round, a start, then the look that halves best until something is likelier than not."""
        yield from self.walk()
        yield self.watching()
        while True:
            belief = self.trail.end
            works = {option: helped_chance(belief, option) for option in self.offered(REMEDY)}
            work = max(works, key=lambda option: (round(works[option], 2), -option.minutes))
            look, told = self._best_look(belief)
            if works[work] < LIKELY and told > TELLING and look is not None:
                yield look
                continue
            if works[work] > TELLING:
                yield work
            yield self.watching()

    def _best_look(self, belief: Belief) -> tuple[Option | None, float]:
        looks = [option for option in self.offered(CHECK) if option.id != "walk_round" or not belief.looks]
        told = {option: self._told(belief, option) for option in looks}
        best = max(looks, key=lambda option: (round(told[option], 2), -option.minutes), default=None)
        return best, told[best] if best is not None else 0.0

    def _told(self, belief: Belief, option: Option) -> float:
        """Expected information of a look [bit]."""
        time = self.trail.time
        if "running" in CHECKS[option.id].needs:
            time = max(time, USUAL_LOOK) if time == time else USUAL_LOOK
        chances = belief.next_chances(option.id, option.place, time)
        mean = belief.weights @ chances
        return float(belief.weights @ (chances * np.log2(chances / mean)).sum(axis=1))


class Expert(Knowing):
    """Follows the advice of the model."""

    name = "expert"

    def advised(self) -> Advice:
        """What the model advises now."""
        return expert_advice(self.trail.end, self.story, self.trail.time, bool(self.attempt.timelines))

    def before_handing_over(self) -> Option | None:
        """A gauge that lies is changed."""
        option = self.advised().option
        return option if self.trail.end.proved and option.kind == REMEDY else None

    def choices(self) -> Iterable[Option]:
        """Whatever is best from what was seen."""
        while True:
            advice = self.advised()
            if advice.option.kind == HAND_OVER:
                return
            # Where the pump has run well but may yet lose it, only a longer start is proof.
            yield self.watching() if advice.option.kind == FINISH else advice.option


TRAINEES: dict[str, Callable[..., Trainee]] = {
    kind.name: kind for kind in (Blind, Swapper, ByList, HalfSplitter, Expert)
}
