"""What panels call: the debrief of an attempt that is over, and advice on request while one goes on.

Throughout: ``progress`` takes the share that is done [-]; ``truth`` says what was wrong, ``cause`` how it came about.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from simulator.attempt.calls import MARKERS
from simulator.attempt.notes import Note, note, suspect_name
from simulator.attempt.offers import group_of
from simulator.attempt.proof import proven
from simulator.diagnosis.advice import Advice
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Story, Trail, story_of
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, WATCH, Option
from simulator.diagnosis.second_trouble import trail_of
from simulator.diagnosis.words import likeliest_behind, reason, reason_before, safe_label
from simulator.errors import RefusedAct
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import debrief_of
from simulator.marking.economy import before_the_call, call_is_open, confirming_look, expert_advice
from simulator.marking.mark import Marked, mark_in_full
from simulator.rig.remedies import REMEDIES
from simulator.texts import text

if TYPE_CHECKING:
    from simulator.attempt import Attempt, AttemptState

Progress = Callable[[int, int], None]


def cases_for(story: Story, progress: Progress | None = None) -> HypothesisSet:
    """Single faults of the story's rig and site, from the cache where they are there; what is wrong is not asked."""
    return hypothesis_set(*story.sound, progress=progress)


def marked_attempt(attempt: Attempt, progress: Progress | None = None) -> tuple[Story, HypothesisSet, Marked]:
    """The story, hypotheses and marks of an attempt that is over.

    Raises
    ------
    RefusedAct : the call-out is not over.
    """
    if not attempt.yard.ended:
        raise RefusedAct("not_over", text("attempt.refused.not_over"))
    story = story_of(attempt.state)
    cases = cases_for(story, progress)
    return story, cases, mark_in_full(story, cases, progress)


def debrief_and_keep(
    attempt: Attempt, units: str = "metric", progress: Progress | None = None, *, keeps: bool = True
) -> dict[str, Any]:
    """Mark an attempt that is over, keep the marks where its store keeps marks, and give the debrief as plain data.

    Parameters
    ----------
    keeps : whether the marks are kept; those of a call that was played elsewhere are kept there.
    units : "metric" or "us", for the figures in its sentences.
    progress : told how many cases are worked out, of how many.

    Raises
    ------
    RefusedAct : the call-out is not over.
    """
    story, cases, marked = marked_attempt(attempt, progress)
    keep = getattr(attempt.store, "save_marks", None)
    if keep is not None and keeps:
        keep(attempt.id, marked.sheet.as_dict())
    found = debrief_of(story, cases, marked, units)
    return {**found, "truth": with_cause(found["truth"], attempt.scenario.cause)}


def with_cause(truth: str, cause: str) -> str:
    """What was wrong, and how it came about where the call-out says so.

    Examples
    --------
    >>> with_cause("The drain stood open.", "weather")
    'The drain stood open. It was the weather that did it.'
    >>> with_cause("The drain stood open.", "")
    'The drain stood open.'
    """
    return f"{truth} {text(f'marking.truth.cause.{cause}')}" if cause else truth


def advise(state: AttemptState, progress: Progress | None = None) -> Advice:
    """What an expert would do now in a ``state``, knowing what the trainee has seen and no more; ``progress`` is told how
    far the hypotheses are simulated."""
    return _advice(state, progress)[1]


def _advice(state: AttemptState, progress: Progress | None = None) -> tuple[Trail, Advice]:
    story = story_of(state)
    trail = trail_of(story, cases_for(story, progress), progress)
    started = any(event["act"] == "start_engine" and event["accepted"] for event in story.log)
    return trail, expert_advice(trail.end, story, trail.time, started)


class Coaching:
    """Hints from the reasoning over hypotheses, for :class:`simulator.attempt.Attempt`'s ``coach``.

    Step 1 tells the chief suspect's kind, or what to begin with; step 2 where to go on, at what suspect and why; step 3
    what to do, and what the call says where it waits for that.
    """

    def hint(self, state: AttemptState, step: int) -> Note:
        """A note for hint step 1, 2 or 3 in a ``state``."""
        trail, advice = _advice(state)
        if call_is_open(story_of(state), len(state.log)):
            advice = before_the_call(advice, trail.end)
        option = advice.option
        look = confirming_look(trail.end, story_of(state), trail.time, option)
        if option.kind == FINISH and not proven(state):  # it ran well, and only a longer start is proof
            option = Option(WATCH, "watch", "", trail.end.cases.watch_minutes)
        if step <= 1:
            if option.kind == HAND_OVER:
                return note("hint", "marking.hints.none_of_these")
            if option.kind == FINISH:
                return note("hint", "attempt.hints.proven.ask")
            if not trail.end.starts:  # nothing was seen yet that points to a kind
                return note("hint", f"attempt.hints.{'run_it' if option.kind == WATCH else 'walk_first'}.ask")
            if option.kind == WATCH:
                asked = trail.end.lacks or "prove_it"
                return note("hint", f"attempt.hints.{asked}.ask")
            families = trail.end.by_family()
            family = max(families, key=lambda name: families[name])
            return note("hint", f"marking.hints.{family}")
        if step == 2:
            why = reason(trail.end, option) if look is None else reason_before(trail.end, look, option)
            return _towards(trail.end, look or option, why)
        what = safe_label(look or option)
        if look is None and option.kind == REMEDY and not state.yard.has("second_call"):
            suspect, chance = likeliest_behind(trail.end, option)
            n = max(round(MARKERS * chance), 1)
            return note("hint", "marking.hints.do_call", what=what, n=n, suspect=suspect_name(suspect))
        return note("hint", "marking.hints.do", what=what)


def _towards(end: Belief, option: Option, why: str) -> Note:
    """The second step of a hint: where to look or work next, at what suspect, and why, but not yet the act."""
    if option.kind == CHECK and option.minutes > 0.0:  # the walk that costs nothing is named by its reason
        return note("hint", "marking.hints.why_check", where=_where(option), why=why)
    if option.kind == REMEDY:
        suspect = suspect_name(likeliest_behind(end, option)[0])
        return note("hint", "marking.hints.why_remedy", where=_where(option), suspect=suspect, why=why)
    return note("hint", "marking.hints.why", why=why)


def _where(option: Option) -> str:
    """The part of the list in which an act stands, as it is said in a sentence."""
    part = option.place or (CHECKS if option.kind == CHECK else REMEDIES)[option.id].place
    name = text(f"attempt.groups.{group_of(part)}")
    return name[:1].lower() + name[1:]
