"""Where a call-out stands: what it was begun under, the case, the yard, the runs, the log, and its two clocks.

Whoever reads or changes it imports this file; it imports none of them. It is changed by :mod:`commands` alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from simulator.attempt.calls import PRIME_QUESTION
from simulator.attempt.case import Case
from simulator.attempt.notes import Note
from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.attempt.yard import Yard
from simulator.errors import RefusedAct
from simulator.instruments.chance import key
from simulator.rig.safe_work import RULES
from simulator.scenario import Scenario, build, sound_rig
from simulator.texts import text

AHEAD_OUTSIDE, AHEAD_SEE_THROUGH = 100, 600  # [0.1 s] that may be sent ahead of the shown clock

Event = dict[str, Any]


class Coach(Protocol):
    """Gives hints. A coach that reasons better may be handed to the attempt."""

    def hint(self, state: AttemptState, step: int) -> Note:
        """A note for hint step 1, 2 or 3 from what the trainee has seen in ``state``."""
        ...


#: What counts as a proof. 1: any start that primes in the time that fits the water left; 2: one from an emptied hose;
#: 3: one that also holds for longer than an earlier one after which the pump came to pump badly.
PROOF_RULES = 3


@dataclass(frozen=True)
class Terms:
    """What an attempt was begun under and keeps to: its id in the store, call-out, mode, seed of all chance, coach.

    ``rules`` is the version of the safety rules, ``proof_rules`` that of what counts as a proof; ``sealed``: a page
    tells no truth, even at the end.
    """

    id: str
    scenario: Scenario
    mode: str  # guided | practice | assessment
    seed: int
    coach: Coach
    rules: int = RULES
    sealed: bool = False
    proof_rules: int = PROOF_RULES

    @property
    def see_through(self) -> bool:
        """Whether pages may look inside the rig."""
        return bool(self.scenario.see_through) and self.mode != "assessment"

    def allows(self, check_id: str) -> bool:
        """Whether the call-out offers the check of an id (``check_id``)."""
        allowed = self.scenario.allowed_checks
        return allowed == "all" or check_id in allowed


class AttemptState:
    """The state that acts change; begun anew from its terms.

    Attributes
    ----------
    terms : what it was begun under.
    case : the rig as it now is, and in good order.
    yard : what is worn, tagged, open, known; the clocks, as ticks of 0.1 s.
    timelines : one a start of the engine, in order.
    log : its events, as they are stored.

    Examples
    --------
    >>> from simulator.attempt.hints import RuleOfThumbCoach
    >>> from simulator.scenario import random_scenario
    >>> state = AttemptState(Terms("a", random_scenario(7), "practice", 7, RuleOfThumbCoach()))
    >>> state.spend(1.5)
    >>> state.yard.minutes(), state.timeline, state.shown
    (1.5, None, 0.0)
    """

    def __init__(self, terms: Terms) -> None:
        self.terms = terms
        rig, site = build(terms.scenario)
        self.case = Case(rig, site, *sound_rig(terms.scenario), terms.seed)
        self.yard = Yard(question=PRIME_QUESTION, rules=terms.rules)
        self.timelines: list[Timeline] = []
        self.log: list[Event] = []

    @property
    def timeline(self) -> Timeline | None:
        """The run since the latest start, or None before the first."""
        return self.timelines[-1] if self.timelines else None

    def running_timeline(self) -> Timeline:
        """The run that is under way; only asked where the needs have made sure of it.

        Raises
        ------
        RefusedAct : the engine has never been started.
        """
        if self.timeline is None:
            raise RefusedAct("not_proven", text("attempt.refused.not_proven"))
        return self.timeline

    @property
    def shown(self) -> float:
        """Run clock as the learner saw it [s]."""
        return round(self.yard.shown * TICK, 1)

    def horizon(self) -> int:
        """Last tick [0.1 s] of the run that may be sent now."""
        timeline, yard = self.timeline, self.yard
        if timeline is None:
            return 0
        last = timeline.last_tick
        far = yard.shown + (AHEAD_SEE_THROUGH if self.terms.see_through else AHEAD_OUTSIDE)
        return far if last is None else min(far, last)

    def pass_to(self, shown: float, *, exact: bool = False) -> None:
        """Let the clocks go on to a shown time [s], never back and, unless ``exact``, never beyond what could have
        been shown."""
        timeline, yard = self.timeline, self.yard
        if timeline is None:
            return
        tick = tick_of(shown)
        if not exact:
            tick = min(tick, self.horizon())
        gone = max(tick - yard.shown, 0)
        yard.shown += gone
        yard.ticks += gone
        if not yard.engine_on:
            yard.rested += gone

    def spend(self, minutes: float) -> None:
        """Let minutes [min] go by in the yard; a running engine runs on."""
        ticks, yard, timeline = round(minutes * 600), self.yard, self.timeline
        yard.ticks += ticks
        if timeline is None:
            return
        if yard.engine_on:
            yard.shown += ticks
            timeline.extend_to(yard.shown)
        else:
            yard.rested += ticks
            yard.shown = max(yard.shown, min(yard.shown + ticks, timeline.last_tick or 0))

    def look_seed(self, check_id: str, repeat: int) -> int:
        """Seed of the needle's shake while the check ``check_id`` reads it for the ``repeat``-th time, counted from 0."""
        if check_id == "gauges" and self.timeline is not None:
            return self.timeline.seed
        return key(self.terms.seed, "needle", check_id, repeat)
