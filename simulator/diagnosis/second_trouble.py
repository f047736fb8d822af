"""One trouble is looked for until it is mended and the rig still does not pump, or none fits; then there may be two.

Whether two faults are there is never asked of the call-out: a second one comes into the belief by what was seen alone,
and only from then on. Until then two at once would be one more way to explain every reading; common practice, no source.
"""

from __future__ import annotations

from simulator.diagnosis.ending import FAILED_ENDS, MISFIT, surprise
from simulator.diagnosis.evidence import Step, Story, Trail, follow
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, hypothesis_set
from simulator.diagnosis.option import REMEDY, WATCH

SURE = (
    0.5  # [-] chance that what was wrong is mended, from which a start that fails says that something else is
)
NEARLY = 0.9  # [-] of the minutes a start is watched, from which it counts as watched


def mended(step: Step) -> float:
    """Chance [-] before a step that there was one fault and that it is gone by now."""
    cases, belief = step.before.cases, step.before
    good = (cases.situations.start != 0) & (belief.now == 0)
    return float(belief.weights[good].sum())


def failed(step: Step) -> bool:
    """Whether a step is a start that was watched long enough and proved nothing, or pumped and did not go on well."""
    if step.option.kind != WATCH or step.after.proved:
        return False
    badly = any(start.end in FAILED_ENDS for start in step.after.starts[len(step.before.starts) :])
    return badly or step.minutes >= NEARLY * step.option.minutes


def shows_second(trail: Trail) -> int | None:
    """The event (its seq) from which no one fault fits; None: not yet.

    A start failed although all was mended that one fault can be, or too much that was seen speaks against each.

    Parameters
    ----------
    trail : of a belief that knows single faults only.
    """
    worked = False
    for step in trail.steps:
        worked = worked or step.option.kind == REMEDY
        if worked and failed(step) and mended(step) >= SURE:
            return step.seq
        if surprise(step.after) >= MISFIT:
            return step.seq  # no single fault fits what was seen
    return None


def trail_of(story: Story, cases: HypothesisSet, progress: Progress | None = None) -> Trail:
    """What could be known at every step: single faults, and two at once from where a second one has shown.

    Parameters
    ----------
    story : of an attempt.
    cases : single faults of the story's rig and site in good order.
    progress : told how far the pairs are simulated.
    """
    trail = follow(story, cases)
    shown = shows_second(trail)
    if shown is None:
        return trail
    wide = follow(story, hypothesis_set(*story.sound, pairs=True, progress=progress))
    steps = (*(s for s in trail.steps if s.seq <= shown), *(s for s in wide.steps if s.seq > shown))
    calls = {seq: (trail if seq <= shown else wide).at_calls[seq] for seq in trail.at_calls}
    return Trail(steps, calls, wide.end, wide.time)
