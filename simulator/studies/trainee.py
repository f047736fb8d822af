"""What all simulated trainees share: safe work, the clock, the calls they are asked for."""

from __future__ import annotations

import random
from collections.abc import Iterable

from simulator.attempt import Attempt
from simulator.attempt.acts import needs_of
from simulator.attempt.calls import (
    BLANK_QUESTION,
    FROST_QUESTION,
    FROST_RIGHT,
    MARKERS,
    MAX_SUSPECTS,
    PRIME_QUESTION,
    SOMETHING_ELSE,
    top_suspect,
)
from simulator.attempt.expert import let_empty, make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.advice import options
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.evidence import Story, Trail, story_of
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import CHECK, REMEDY, RUN_ON, WATCH, Option
from simulator.diagnosis.second_trouble import trail_of
from simulator.instruments.checks import CHECKS
from simulator.marking.service import cases_for
from simulator.rig.remedies import REMEDIES

MAX_STEPS = 30
WAIT = 5.0  # [s] between looks at the clock
LONGER = 240.0  # [s] a pump that runs, but has not proved itself yet, is watched on
USUAL_GUESS = 60.0  # [s] for a good rig, of those who do not know better


def nearest_markers(chances: dict[str, float]) -> dict[str, int]:
    """Ten markers as near to chances [-] of the faults as ten come; at most three suspects.

    Examples
    --------
    >>> nearest_markers({"belt_loose": 0.62, "nozzle_plugged": 0.3, "drain_open": 0.08})
    {'belt_loose': 6, 'nozzle_plugged': 3, 'drain_open': 1}
    """
    top = sorted(chances.items(), key=lambda item: -item[1])[:MAX_SUSPECTS]
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
    most_steps = MAX_STEPS  # after which the job is handed over

    def __init__(self, attempt: Attempt, seed: int = 0) -> None:
        self.attempt = attempt
        self.chance = random.Random(f"{self.name} {seed}")
        self.cases: HypothesisSet = cases_for(story_of(attempt.state))
        self.done = 0
        self._seen: tuple[int, float, Story, Trail] | None = None

    def play(self) -> None:
        """Play the call-out to its end."""
        attempt = self.attempt
        attempt.act("predict", {"question": PRIME_QUESTION, "answer": self.guess()})
        for option in self.choices():
            self.do(option)
            self.done += 1
            work = self.before_handing_over() if attempt.proven() else None
            if work is not None:
                self.do(work)
                self.do(self.watching())
            if attempt.proven():
                self.finish()
            if attempt.yard.ended:
                return
            if self.done >= self.most_steps:
                break
        attempt.act("give_up")

    def choices(self) -> Iterable[Option]:
        """What is done, one after the other; asked for the next when the last is done."""
        raise NotImplementedError

    def before_handing_over(self) -> Option | None:
        """Work on a rig that is proven, before it is handed over; None: there is none."""
        return None

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
            story = story_of(attempt.state)
            self._seen = (len(attempt.log), attempt.shown, story, trail_of(story, self.cases))
        return self._seen

    def do(self, option: Option) -> None:
        """Do one thing (``option``), with all it waits for."""
        if option.kind == WATCH and option.id == RUN_ON:
            self.attempt.act(
                "wait", {"seconds": max(60.0 * self.cases.watch_minutes - self.attempt.shown, WAIT)}
            )
            self._run_on()
        elif option.kind == WATCH:
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
        needs = needs_of(self.attempt.state, action, dict(args))
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
            let_empty(attempt)
        self._act("start_engine", speed="rated")
        attempt.act("wait", {"seconds": 60.0 * self.cases.watch_minutes})
        self._run_on()

    def _run_on(self) -> None:
        attempt = self.attempt
        most = attempt.shown + LONGER
        # A prime that was lost before must hold for longer than it did then.
        while self._may_yet_hold() and attempt.shown < most:
            attempt.act("wait", {"seconds": WAIT})

    def _may_yet_hold(self) -> bool:
        attempt, timeline = self.attempt, self.attempt.timeline
        if timeline is None or timeline.number < 2 or timeline.prime_tick() is None or attempt.proven():
            return False
        run = self.story.runs[timeline.number]  # as it was seen: in time and well, if not yet for long enough
        return run.end(attempt.shown) == "primed" and run.prime_time <= run.proof_time

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
        belief = self.trail.end
        cases = belief.cases  # more of them than at the beginning where a second trouble has shown
        own = belief.weights * (cases.fault_index == cases.faults.index(fault))
        best: tuple[float, Option] | None = None
        for (name, place), after in cases.situations.after.items():
            mends = cases.proves[after[belief.now]] & ~cases.proves[belief.now]
            share = float(own[mends].sum())
            rate = share / REMEDIES[name].minutes
            if share > 0.0 and (best is None or rate > best[0]):
                best = (rate, Option(REMEDY, name, place, REMEDIES[name].minutes))
        return None if best is None else best[1]
