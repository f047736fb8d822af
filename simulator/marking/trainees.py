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

``python -m simulator.marking.trainees --scenarios 200 --out report.html`` plays and compares them.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

import numpy as np

from simulator.attempt import Attempt
from simulator.attempt.acts import needs_of
from simulator.attempt.calls import (
    BLANK_QUESTION,
    FROST_ANSWERS,
    FROST_QUESTION,
    FROST_RIGHT,
    MARKERS,
    MOST_SUSPECTS,
    PRIME_QUESTION,
    SOMETHING_ELSE,
    top_suspect,
)
from simulator.attempt.expert import make_ready
from simulator.attempt.thumb import Step
from simulator.diagnosis.advice import CHECK, FINISH, REMEDY, WATCH, Option, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.cases import HypothesisSet
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.evidence import Story, Trail, follow, story_of
from simulator.diagnosis.words import mended_chance
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import expert_advice
from simulator.marking.service import cases_for
from simulator.marking.understanding import blank_share
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES
from simulator.run.outcome import SHARE

MOST_STEPS = 30
WAIT = 5.0  # [s] between looks at the clock
LONGER = 240.0  # [s] a pump that runs, but has not proved itself yet, is watched on
USUAL_GUESS = 60.0  # [s] for a good rig, of those who do not know better
SHOWS = 3.0  # times as likely with the fault as with a good rig: what the list takes for a find
LIKELY = 0.5  # [-] chance from which the splitter mends
TELLING = 0.02  # [bit] less is not worth a look to the splitter


def nearest_markers(chances: dict[str, float]) -> dict[str, int]:
    """Ten markers as near to chances [-] of the faults as ten come; at most three suspects.

    Examples
    --------
    >>> nearest_markers({"belt_loose": 0.62, "nozzle_plugged": 0.3, "drain_open": 0.08})
    {'belt_loose': 6, 'nozzle_plugged': 3, 'drain_open': 1}
    """
    top = sorted(chances.items(), key=lambda item: -item[1])[:MOST_SUSPECTS]
    parts = [*top, (SOMETHING_ELSE, max(1.0 - sum(chance for _, chance in top), 0.0))]
    markers = {name: int(MARKERS * chance + 1e-9) for name, chance in parts}
    for name, _ in sorted(parts, key=lambda item: markers[item[0]] - MARKERS * item[1]):
        if sum(markers.values()) < MARKERS:
            markers[name] += 1
    return {name: count for name, count in markers.items() if count}


class Trainee:
    """One way to go about a call-out; a subclass says what comes next.

    Parameters
    ----------
    attempt : to be played, not begun.
    seed : of the trainee's own chance.
    """

    name = ""

    def __init__(self, attempt: Attempt, seed: int = 0) -> None:
        self.attempt = attempt
        self.chance = random.Random(f"{self.name} {seed}")
        self.cases: HypothesisSet = cases_for(story_of(attempt))
        self.done = 0
        self._seen: tuple[int, float, Story, Trail] | None = None

    def play(self) -> None:
        """Play the call-out to its end."""
        attempt = self.attempt
        attempt.act("predict", {"question": PRIME_QUESTION, "answer": self.guess()})
        for option in self.choices():
            self.do(option)
            self.done += 1
            if attempt.proven():
                self.finish()
            if attempt.yard.ended:
                return
            if self.done >= MOST_STEPS:
                break
        attempt.act("give_up")

    def choices(self) -> Iterable[Option]:
        """What is done, one after the other; asked for the next when the last is done."""
        raise NotImplementedError

    def markers(self) -> dict[str, int]:
        """What is stated when a call is asked for."""
        return nearest_markers(self.trail.end.by_fault())

    def guess(self) -> float | None:
        """How long a good rig takes [s]."""
        return USUAL_GUESS

    def blank_answer(self, suspect: str) -> str | None:
        """What a blank-off test would show were the suspect right."""
        return None

    # doing

    @property
    def story(self) -> Story:
        """The story so far."""
        return self._look_up()[2]

    @property
    def trail(self) -> Trail:
        """What could be known so far."""
        return self._look_up()[3]

    def _look_up(self) -> tuple[int, float, Story, Trail]:
        """Story and trail, worked out when they are asked for."""
        attempt = self.attempt
        if self._seen is None or self._seen[:2] != (len(attempt.log), attempt.shown):
            story = story_of(attempt)
            self._seen = (len(attempt.log), attempt.shown, story, follow(story, self.cases))
        return self._seen

    def do(self, option: Option) -> None:
        """Do one thing, with all it waits for."""
        if option.kind == WATCH:
            self._watch()
        elif option.kind == CHECK:
            self._check(option)
        else:
            self._act("remedy", remedy=option.id, place=option.place)

    def finish(self) -> None:
        """Say that the job is done. It is not where the pump loses its prime while the van is packed."""
        self._act("finish")
        if self.attempt.yard.question == FROST_QUESTION:
            self.attempt.act("predict", {"question": FROST_QUESTION, "answer": self.frost_answer()})
            self._act("finish")

    def frost_answer(self) -> str:
        """What is done with the drains on a freezing night."""
        return FROST_RIGHT

    def call(self) -> None:
        """State the belief, and answer the question that comes with it."""
        attempt = self.attempt
        attempt.act("call", {"markers": self.markers()})
        suspect = top_suspect(attempt.yard.calls[-1]["markers"])
        if attempt.yard.question == BLANK_QUESTION and suspect:
            attempt.act("predict", {"question": BLANK_QUESTION, "answer": self.blank_answer(suspect)})

    def _act(self, action: str, **args: object) -> None:
        yard = self.attempt.yard
        needs = needs_of(self.attempt, action, dict(args))
        if any(need in needs and not yard.has(need) for need in ("first_call", "second_call")):
            self.call()
        make_ready(self.attempt, Step(action, dict(args), "", ()))
        self.attempt.act(action, dict(args))

    def _check(self, option: Option) -> None:
        attempt = self.attempt
        if "running" in CHECKS[option.id].needs:
            if not attempt.yard.engine_on:
                self._act("start_engine", speed="rated")
            if attempt.shown < USUAL_LOOK:
                attempt.act("wait", {"seconds": USUAL_LOOK - attempt.shown})
        self._act("check", check=option.id, **({"place": option.place} if option.place else {}))

    def _watch(self) -> None:
        attempt = self.attempt
        if attempt.yard.engine_on:
            attempt.act("stop_engine")
        self._act("start_engine", speed="rated")
        attempt.act("wait", {"seconds": 60.0 * self.cases.watch_minutes})
        most = attempt.shown + LONGER
        # A prime that was lost before must hold for longer than it did then.
        while self._may_yet_hold() and attempt.shown < most:
            attempt.act("wait", {"seconds": WAIT})

    def _may_yet_hold(self) -> bool:
        attempt, timeline = self.attempt, self.attempt.timeline
        if timeline is None or timeline.number < 2 or timeline.prime_tick() is None or attempt.proven():
            return False
        history = timeline.history()
        pumps = float(history.discharge_flow[attempt.yard.shown]) > SHARE * history.steady_flow
        return pumps and self.trail.end.proved

    # knowing

    def offered(self, kind: str) -> list[Option]:
        """Everything of a kind that can be done at this call-out."""
        running = self.attempt.yard.engine_on
        allowed = self.attempt.scenario.allowed_checks
        every = options(
            self.cases,
            None if allowed == "all" else allowed,
            running=running,
            started=bool(self.attempt.timelines),
        )
        return [option for option in every if option.kind == kind]

    def watching(self) -> Option:
        """A watched start."""
        return Option(WATCH, "watch", "", self.cases.watch_minutes)

    def walk(self) -> list[Option]:
        """A walk round, where the call-out offers it."""
        return [option for option in self.offered(CHECK) if option.id == "walk_round"]

    def repair(self, fault: str) -> Option | None:
        """The quickest work that puts most of what is possible of a fault right."""
        rows, belief = self.cases.situations, self.trail.end
        own = belief.weights * (self.cases.fault_index == self.cases.faults.index(fault))
        best: tuple[float, Option] | None = None
        for (name, place), after in rows.after.items():
            mends = self.cases.proves[after[belief.now]] & ~self.cases.proves[belief.now]
            share = float(own[mends].sum())
            rate = share / REMEDIES[name].minutes
            if share > 0.0 and (best is None or rate > best[0]):
                best = (rate, Option(REMEDY, name, place, REMEDIES[name].minutes))
        return None if best is None else best[1]


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
        on = [*self.chance.sample(list(FAULTS), MOST_SUSPECTS), SOMETHING_ELSE]
        thrown = [self.chance.choice(on) for _ in range(MARKERS)]
        return {name: thrown.count(name) for name in on if name in thrown}

    def guess(self) -> float | None:
        """Any time."""
        return round(self.chance.uniform(10.0, 300.0))

    def blank_answer(self, suspect: str) -> str | None:
        """Any answer."""
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
        often = {option: mended_chance(Belief(self.cases), option) for option in self.offered(REMEDY)}
        works = sorted(often, key=lambda option: -often[option])
        for first in range(0, len(works), 2):
            yield from works[first : first + 2]
            yield self.watching()

    def markers(self) -> dict[str, int]:
        """No idea."""
        return {SOMETHING_ELSE: MARKERS}

    def blank_answer(self, suspect: str) -> str | None:
        """Any answer."""
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
        table = step.before.chances(step.option.id, step.option.place, step.time)
        seen = CHECKS[step.option.id].outcomes.index(step.result["outcome"])
        own = self.cases.weights * (self.cases.fault_index == self.cases.faults.index(fault))
        there = float(own @ table[:, seen]) / float(own.sum())
        good = float(table[0, seen])
        if there > SHOWS * good:
            return self.repair(fault)
        for other in self.cases.faults[1:]:  # the same look may show another fault
            theirs = self.cases.weights * (self.cases.fault_index == self.cases.faults.index(other))
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
            works = {option: mended_chance(belief, option) for option in self.offered(REMEDY)}
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

    def choices(self) -> Iterable[Option]:
        """Whatever is best from what was seen."""
        while True:
            advice = expert_advice(self.trail.end, self.story, self.trail.time, bool(self.attempt.timelines))
            # Where the pump has run well but may yet lose it, only a longer start is proof.
            yield self.watching() if advice.option.kind == FINISH else advice.option


TRAINEES: dict[str, Callable[..., Trainee]] = {
    kind.name: kind for kind in (Blind, Swapper, ByList, HalfSplitter, Expert)
}


def main(arguments: list[str] | None = None) -> int:
    """Play and compare the trainees, and write the report."""
    from simulator.marking.study import main as study

    return study(arguments)


if __name__ == "__main__":
    raise SystemExit(main())
