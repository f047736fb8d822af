"""One trouble is looked for until it is mended and the rig still does not pump, or none fits; then there may be two.

Whether two faults are there is never asked of the call-out: a second one comes into the belief by what was seen alone,
and only from then on. Until then two at once would be one more way to explain every reading; common practice, no source.

So with a trouble that comes under way: a pump that primes and then goes bad may have any that was not there before, and
from such a start on they are thought of. A start that never primes is left to the single faults: of when one came before
the prime the few times of the hypotheses say too much. But for a strainer that weed blinds as the water climbs: it runs
as a loose liner does, so that without it every one would be told as such a hose.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.ending import FAILED_ENDS, ONCE, surprise
from simulator.diagnosis.evidence import Step, Story, Trail, follow
from simulator.diagnosis.hypotheses import late_ones, weeds
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, hypothesis_set, with_more
from simulator.diagnosis.option import REMEDY, WATCH
from simulator.rig.remedies import REMEDIES, UNSEEN

SURE = (
    0.5  # [-] chance that what was wrong is mended, from which a start that fails says that something else is
)
#: [nat] How surprising all that was seen is under what fits best, from which it is asked what fits better: a thing that
#: comes true once in a hundred.
ODD = ONCE
NEARLY = 0.9  # [-] of the minutes a start is watched, from which it counts as watched


def mended(step: Step) -> float:
    """Chance [-] before a step that the rig is right by now: there was one fault and it is gone, or there was none."""
    belief = step.before
    return float(belief.weights[belief.cases.proves[belief.now]].sum())


def failed(step: Step) -> bool:
    """Whether a step is a start that was watched long enough and proved nothing, or pumped and did not go on well."""
    if step.option.kind != WATCH or step.after.proved:
        return False
    starts = step.after.starts[len(step.before.starts) :]
    if any(start.end in FAILED_ENDS for start in starts):
        return True
    primes = [start.primed_at for start in starts if start.primed_at is not None]
    if primes:  # it pumps well, if perhaps not for long enough to prove it
        return max(primes) > step.after.cases.proof_time
    return step.minutes >= NEARLY * step.option.minutes


def cured_in_vain(step: Step, worked: bool) -> bool:
    """Whether a step is a start that failed, with all mended that one fault can be; ``worked``: some work was done."""
    return worked and failed(step) and mended(step) >= SURE


def found_bad(step: Step) -> bool:
    """Whether a step is work that found its part bad: that trouble was there, whatever else is."""
    option = step.option
    if option.kind != REMEDY:
        return False
    finding = step.result["finding"]
    return bool(finding) and finding not in (REMEDIES[option.id].findings[0], UNSEEN)


def went_bad(belief: Belief) -> bool:
    """Whether a start has been seen that primed and then did not go on well: by a ``belief``.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"]))
    >>> went_bad(belief), went_bad(belief.update_restart(1, 120.0, 40.0, end="lost_prime"))
    (False, True)
    """
    return any(start.end in FAILED_ENDS for start in belief.starts)


def never_primed(belief: Belief) -> bool:
    """Whether a start from dry was watched for as long as one is, and did not prime: by a ``belief``.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"]))
    >>> never_primed(belief.update_restart(1, 120.0)), never_primed(belief.update_restart(1, 20.0))
    (True, False)
    """
    enough = NEARLY * 60.0 * belief.cases.watch_minutes
    return any(
        not start.warm and start.primed_at is None and start.watched >= enough for start in belief.starts
    )


def with_weeds(cases: HypothesisSet, progress: Progress | None = None) -> HypothesisSet:
    """Single faults, and a strainer that weed blinds while the water climbs.

    Parameters
    ----------
    cases : single faults, or those of :func:`with_late`.
    progress : told how far the others are simulated.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> with_weeds(cases) is cases
    True
    """
    if "strainer_plugged" not in cases.faults:
        return cases
    more = weeds(cases.rig, cases.site, float(cases.prime_times[0]))
    return with_more(cases, more, progress=progress) if more else cases


def with_late(cases: HypothesisSet, progress: Progress | None = None) -> HypothesisSet:
    """Single faults, and each that may come while the rig runs.

    Parameters
    ----------
    cases : single faults.
    progress : told how far the others are simulated.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> any(here.late for here in cases.hypotheses), any(here.late for here in with_late(cases).hypotheses)
    (False, True)
    """
    return with_more(cases, late_ones(cases.rig, cases.site, cases.faults), progress=progress)


#: What a start can show, and what is thought of as well from there on.
SHOWN_BY_STARTS: tuple[
    tuple[Callable[[Belief], bool], Callable[[HypothesisSet, Progress | None], HypothesisSet]], ...
] = ((never_primed, with_weeds), (went_bad, with_late))


def trail_of(story: Story, cases: HypothesisSet, progress: Progress | None = None) -> Trail:
    """What could be known at every step: single faults, and more from where a second trouble has shown, or a pump has
    primed and gone bad.

    Where a part was found bad and mended and the rig still fails, what is left is one trouble again, and what the rig did
    before that work counts no longer. Where no single fault fits, two at once and one that comes late are thought of too.

    Parameters
    ----------
    story : of an attempt.
    cases : single faults of the story's rig and site in good order.
    progress : told how far more hypotheses are simulated.
    """
    trail = follow(story, cases)
    known, since, asked, wide, late = trail, -1, -1, cases, -1
    to_come = dict(SHOWN_BY_STARTS)
    while True:
        shown = _next_shown(known, asked, wide is not cases, late)
        told = [(seq, seen) for seen in to_come if (seq := _seen_at(known, seen)) is not None]
        seq, seen = min(told, key=lambda item: item[0], default=(-1, None)) if wide is cases else (-1, None)
        if seen is not None and (shown is None or seq <= shown.seq):
            cases = wide = to_come.pop(seen)(cases, progress)
            late, known = seq, follow(story, cases, since)
            trail = _joined(trail, known, seq)
            continue
        if shown is None:
            return trail
        bad = [step.seq for step in known.steps if asked < step.seq < shown.seq and found_bad(step)]
        if (
            bad and surprise(shown.before) < ODD
        ):  # all fitted until that start: what it showed is another trouble's
            since = bad[-1]
        elif wide is cases:
            wide = hypothesis_set(*story.sound, pairs=True, progress=progress)
        asked = shown.seq
        known = follow(story, wide, since)
        trail = _joined(trail, known, asked)


def _seen_at(trail: Trail, seen: Callable[[Belief], bool]) -> int | None:
    """The first event of a trail (its seq) from which what a start can show is ``seen``; None: never."""
    for step in trail.steps:
        if seen(step.after):
            return step.seq
    return trail.steps[-1].seq if trail.steps and seen(trail.end) else None


def _next_shown(trail: Trail, asked: int, wide: bool, late: int) -> Step | None:
    """The first step after the event ``asked``, and not before the event ``late``, from which what was thought of no
    longer fits; where two at once have been thought of already (``wide``), only work in vain tells so."""
    worked = bad = False
    for step, later in pairwise((*trail.steps, None)):
        assert step is not None
        if step.seq <= asked:
            continue
        worked, bad = worked or step.option.kind == REMEDY, bad or found_bad(step)
        if step.seq < late:
            continue
        if cured_in_vain(step, worked) and (bad or not wide):
            return step
        if not wide and surprise(step.after) >= ODD:
            return step
        start = gone_bad(trail, step, trail.end if later is None else later.before)
        if start is not None and cured_in_vain(start, worked) and (bad or not wide):
            return start
    return None


def gone_bad(trail: Trail, step: Step, by_now: Belief) -> Step | None:
    """The latest start as it is known after a ``step`` of a ``trail``: it may go bad while looks at it go on.

    A step that stands for it, its ``seq`` that of ``step``, the belief ``by_now`` after it; None where the engine stands,
    or where the rig was worked on while it ran.
    """
    run = [one for one in trail.steps if one.seq <= step.seq]
    begun = next((n for n in reversed(range(len(run))) if run[n].option.kind == WATCH), None)
    if begun is None or any(one.option.kind == REMEDY or one.time != one.time for one in run[begun + 1 :]):
        return None
    start = run[begun]
    new = by_now.starts[len(start.before.starts) :]
    minutes = max((one.watched / 60.0 for one in new), default=0.0)
    return replace(start, seq=step.seq, minutes=minutes, after=by_now)


def _joined(trail: Trail, later: Trail, seq: int) -> Trail:
    """One trail up to an event (its ``seq``), and another from there on."""
    steps = (*(s for s in trail.steps if s.seq <= seq), *(s for s in later.steps if s.seq > seq))
    calls = {at: (trail if at <= seq else later).at_calls[at] for at in trail.at_calls}
    return Trail(steps, calls, later.end, later.time)
