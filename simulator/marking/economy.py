"""Part two: were the minutes well spent. Each step is judged by what could be known then, never by luck.

Throughout: ``story`` is what an attempt holds; ``belief`` is how likely each hypothesis is now; ``cases`` are the
hypotheses of the rig in good order; ``time`` is that of the run [s]; ``started`` says whether the engine was started
before; ``step`` is one of the steps of ``trail``; ``unfinished`` are minutes of work left undone [min].
"""

from __future__ import annotations

import hashlib
import math
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from simulator.diagnosis.advice import BEFORE_START, LEAVE, Advice, minutes_with, next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import plan_for
from simulator.diagnosis.ending import FAILED_ENDS
from simulator.diagnosis.evidence import Step, Story, Trail
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.look_first import beside_work, can_confirm, confirming
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, WATCH, Option
from simulator.diagnosis.words import (
    mended_chance,
    minutes_words,
    option_label,
    reason,
    reason_before,
    told_label,
)
from simulator.instruments.checks import CHECKS
from simulator.marking.as_taught import as_taught
from simulator.marking.sheet import ECONOMY, OUT_OF, Part, because, part
from simulator.marking.which_of_two import tells_which
from simulator.rig.remedies import REMEDIES
from simulator.texts import text

KEPT = 512
_kept: OrderedDict[str, Advice] = OrderedDict()
SLACK = 0.25  # [min] by which two choices may differ and still count as equal
EMPTIES = 0.75  # [min] of standing before a start that the page asks for: the hose empties
MAX_NAMED = 3  # steps named in the evidence
#: [-] What the minutes count for where a job is left that could be done: to spend them well on a rig that does not pump
#: serves nobody; common practice, no source.
LEFT = 0.5
QUICK = 3.0  # [min] for which a pump that should have had its water may run on, for one look; common practice, no source
EVEN = 0.5  # [-] chance that a work puts things right, below which nobody has to lock a call for it
THIRD = (
    1.0 / 3.0  # [-] of the minutes of a work: what a look that confirms before it may take, once, for nothing
)


@dataclass(frozen=True)
class Judged:
    """A step with what an expert would have done, and the expected minutes [min] it lost beside that.

    ``again`` [min]: of these, a start that the step makes necessary. ``first``: the look that comes before the expert's
    work, see :func:`confirming_look`. ``ran_on_for``: the look that a start was made for, and rightly: only that the pump
    ran on and on is lost.
    """

    step: Step
    expert: Advice
    lost: float
    again: float = 0.0
    first: Option | None = None
    ran_on_for: Option | None = None

    @property
    def better(self) -> Option:
        """What a foreman would have had done: the quick look that shows it, before long work."""
        return self.first or self.expert.option

    @property
    def same(self) -> bool:
        """Whether a foreman or an expert would have done the same act, or started it for a look as well."""
        if self.ran_on_for is not None:
            return True
        did = self.step.option
        return (did.kind, did.id, did.place) in {
            (best.kind, best.id, best.place) for best in (self.better, self.expert.option)
        }

    @property
    def too_late(self) -> bool:
        """Whether the job was done already, but the engine stood: it is handed over while it pumps."""
        return self.better.kind == FINISH and math.isnan(self.step.time)

    @property
    def reason(self) -> str:
        """Why that is better; of the work itself where it was done without the look that may come before it."""
        if self.ran_on_for is not None:
            return text("marking.steps.for_a_look", look=option_label(self.ran_on_for))
        did, best = self.step.option, self.expert.option
        if self.first is None or (did.kind, did.id, did.place) == (best.kind, best.id, best.place):
            return self.expert.reason
        return reason_before(self.step.before, self.first, self.expert.option)


def expert_advice(belief: Belief, story: Story, time: float, started: bool) -> Advice:
    """What an expert would do, knowing just this. The latest answers are kept: a debrief asks again what a hint asked."""
    key = _key(belief, story.allowed_checks, time, started)
    if key in _kept:
        _kept.move_to_end(key)
        return _kept[key]
    free = not started and not walked(belief)
    choice = options(belief.cases, story.allowed_checks, running=time == time, started=not free)
    advice = next_best(belief, (*choice, LEAVE), time=time)
    while len(_kept) >= KEPT:
        _kept.popitem(last=False)
    _kept[key] = advice
    return advice


def confirming_look(belief: Belief, story: Story, time: float, work: Option) -> Option | None:
    """The quick look that shows what a work puts right, where nothing but needles spoke yet; None where there is none.

    Parameters
    ----------
    work : what an expert would do.
    """
    return confirming(belief, work, options(belief.cases, story.allowed_checks, running=time == time))


def walked(belief: Belief) -> bool:
    """Whether the walk round before the first start has been made: only one is asked for, and free."""
    return any(seen.check == BEFORE_START for seen in belief.looks)


def _key(belief: Belief, allowed: tuple[str, ...] | None, time: float, started: bool) -> str:
    """A fingerprint of all that advice rests on."""
    digest = hashlib.blake2b(repr((belief.cases.key, allowed, time, started)).encode(), digest_size=16)
    digest.update(belief.weights.tobytes())
    digest.update(belief.now.tobytes())
    for seen in belief.looks:
        digest.update(f"{seen.check} {seen.place} {seen.outcome}".encode())
        digest.update(seen.chances.tobytes())
    for start in belief.starts:
        digest.update(
            repr((start.watched, start.primed_at, start.warm, start.proof, start.end, start.lacks)).encode()
        )
        digest.update(start.rows.tobytes())
    return digest.hexdigest()


def own_minutes(step: Step, option: Option) -> tuple[float, float]:
    """The most that a step can be charged: minutes [min] of its own, and of the start that it makes necessary.

    Only work asks for a start, to see what has come of it; and whatever is done to a pump that is proven asks for another
    proof.

    Parameters
    ----------
    step : as it was done.
    option : the same act with the minutes that it is charged for.
    """
    again = option.kind == REMEDY or (step.before.proved and option.kind == CHECK)
    return option.minutes, step.before.cases.watch_minutes if again else 0.0


def confirms(step: Step, expert: Advice) -> bool:
    """Whether a step is a look that a careful foreman wants before a long work: free, once.

    It takes at most a third of the work's minutes (two minutes of foam before the six of a ring), and is the first look
    that shows what that work puts right, or the first to part it from all else that is left. To open the part that the
    work is done on is half the work: only what it takes beside that counts.

    Parameters
    ----------
    step : as it was done.
    expert : what an expert would have done instead.
    """
    look, work, plan = step.option, expert.option, plan_for(step.before.cases)
    if look.kind != CHECK or work.kind != REMEDY or beside_work(look, work) > THIRD * work.minutes:
        return False

    def stands_before(act: tuple[str, str]) -> bool:
        number = plan.number.get(act)
        return number is not None and plan.number.get((work.id, work.place)) == plan.tables.plain[number]

    if can_confirm(step.before, look, work, THIRD):
        return (look.id, look.place) not in {(seen.check, seen.place) for seen in step.before.looks}

    made = any(stands_before((seen.check, seen.place)) for seen in step.before.looks)
    return stands_before((look.id, look.place)) and not made


def call_is_open(story: Story, seq: int) -> bool:
    """Whether work still waited for a call at an event of a number (``seq``): mending locks both calls.

    Examples
    --------
    >>> from types import SimpleNamespace as Log
    >>> call, look = {"act": "call", "accepted": True}, {"act": "check", "accepted": True}
    >>> [call_is_open(Log(log=({}, call, look, call)), seq) for seq in (1, 2, 3, 4)]
    [True, False, True, False]
    """
    done = [event["act"] for event in story.log[1:seq] if event["accepted"]]
    calls = [number for number, act in enumerate(done) if act == "call"]
    if "remedy" in done or len(calls) >= 2:
        return False
    return not calls or "check" in done[calls[-1] :]


def before_the_call(advice: Advice, belief: Belief) -> Advice:
    """What comes first where the advice is work that more likely fails than helps: no foreman locks his call on it.

    The best look or start that tells something, or work that more likely helps; the advice itself where there is neither.
    A look tells something where it spares more than a quarter of a minute of what is left.

    Parameters
    ----------
    advice : of a moment at which work still waits for a call.
    """
    if advice.option.kind != REMEDY or mended_chance(belief, advice.option) >= EVEN:
        return advice
    for option, minutes in advice.table:
        tells = option.kind in (CHECK, WATCH) and option.minutes + advice.minutes - minutes > SLACK
        if tells or (option.kind == REMEDY and mended_chance(belief, option) >= EVEN):
            return replace(advice, option=option, minutes=minutes, reason=reason(belief, option))
    return advice


def opened_for(steps: Sequence[Step]) -> tuple[float, Option] | None:
    """The work that followed on the part that a look had left open, in its full minutes, and the minutes [min] that the
    look took beside it; None where none did.

    Nothing where that is no more than a third of the work, as of any look that confirms: who looks first is sure.

    Parameters
    ----------
    steps : the look, and all that was done after it.
    """
    look = steps[0].option
    if look.kind != CHECK or not CHECKS[look.id].opens:
        return None
    for later in steps[1:]:
        if later.option.kind == "watch":  # it was closed up for the start
            break
        if later.option.kind == REMEDY and later.minutes < REMEDIES[later.option.id].minutes:
            work = replace(later.option, minutes=REMEDIES[later.option.id].minutes)
            beside = beside_work(look, work)
            if beside < look.minutes:
                return (beside if beside > THIRD * work.minutes else 0.0), work
    return None


def judge(
    step: Step,
    story: Story,
    then: Step | None = None,
    opened: tuple[float, Option] | None = None,
    start: Step | None = None,
) -> Judged:
    """The expected minutes [min] a step loses against the best choice from the same knowledge.

    Never more than its own minutes and those of a start that it makes necessary: prices of what is left are those of a
    plan, and a step must not pay for how far that is from the best one. A look that card or lesson names, or that
    confirms before a long work, is free, and so is the start that it takes where it needs the rig running.

    Parameters
    ----------
    then : what was done next.
    opened : what followed on the part that a look opened, see :func:`opened_for`: no more is lost than had the work been
        done at once, and what the look took beside it. That something was found there is luck, and pays nothing.
    start : the start just before, where there was one.
    """
    advised = expert_advice(step.before, story, step.time, step.started)
    expert = before_the_call(advised, step.before) if call_is_open(story, step.seq) else advised
    option = step.option
    if option.id == BEFORE_START and not walked(step.before):
        return Judged(
            step, expert, 0.0
        )  # it is asked for before every first start: who comes to it late does so too
    if option.id == BEFORE_START and walked(step.before):
        option = replace(option, minutes=CHECKS[BEFORE_START].minutes)
    if option.kind == "watch":
        # A start that can still tell is charged in full; any other only what it really took.
        telling = minutes_with(step.before, option)
        idle = telling - option.minutes >= expert.minutes - SLACK
        minutes = step.minutes if idle else max(step.minutes, option.minutes)
        if step.after.proved and any(start.end in FAILED_ENDS for start in step.before.starts):
            minutes = option.minutes  # what failed before must hold for longer than it did then
        elif step.after.proved:
            minutes = min(
                minutes, _to_prime(step, option.minutes)
            )  # who reads on while it pumps loses nothing
        option = replace(option, minutes=minutes)
    lost = minutes_with(step.before, option, step.time) - expert.minutes
    own, again = own_minutes(step, option)
    lost = min(lost, own + again)
    if opened is not None and lost > SLACK:
        beside, work = opened
        at_once = judge(replace(step, option=work, minutes=work.minutes), story).lost
        lost = min(lost, at_once + beside)
    first = confirming_look(step.before, story, step.time, expert.option)
    if lost > SLACK and (named := _named_before(step, story, start)) is not None:
        return named
    seen_bad = expert.option.kind == FINISH and called_for(step)  # a proof is no reason to leave it
    if lost <= SLACK or seen_bad or called_for(step) or one_quick_look(step, story):
        return Judged(step, expert, 0.0, first=first)
    if confirms(step, advised) or as_taught(step, story) or _same(option, first):
        return Judged(step, expert, 0.0, first=first)
    if tells_which(step, advised.option):
        return Judged(step, expert, 0.0, first=first)
    ran_on_for = None
    if (
        option.kind == "watch"
        and then is not None
        and then.time == then.time
        and (_wanted(then, expert, story) or _costs_nothing(then, story))
    ):
        lost = min(
            lost, max(step.minutes - step.option.minutes, 0.0)
        )  # the start alone: not that it ran on and on
        ran_on_for = then.option
        if lost <= SLACK:
            return Judged(step, expert, 0.0, first=first)
    return Judged(step, expert, lost, max(lost - own, 0.0), first, ran_on_for)


def told_better(item: Judged) -> str:
    """What would have been better, as it stands in a sentence; with its start, where it takes a running engine and that
    stood.

    Parameters
    ----------
    item : a step that lost something, or might have gone another way.
    """
    act, best = told_label(item.better), item.better
    if best.kind != CHECK or not _running(best.id) or not math.isnan(item.step.time):
        return act
    return text("marking.steps.start_then", act=act[:1].lower() + act[1:])


def called_for(step: Step) -> bool:
    """Whether a step is work that a look before called for: a hose seen to lie over a hump, a valve seen ajar.

    Parameters
    ----------
    step : as it was done.
    """
    return step.option.kind == REMEDY and any(
        (seen.outcome, step.option.id) in CHECKS[seen.check].calls_for for seen in step.before.looks
    )


def one_quick_look(step: Step, story: Story) -> bool:
    """Whether a step is the one look for which a pump that should have had its water may run on: it takes no more than
    QUICK minutes, needs it running, and none was made before.

    Parameters
    ----------
    step : as it was done.
    """
    look, starts = step.option, step.before.starts
    if look.kind != CHECK or look.minutes > QUICK or not starts or not _running(look.id):
        return False
    if any(_running(seen.check) for seen in step.before.looks):
        return False
    run = story.runs[starts[-1].run]
    dry = not run.primed(step.time) or run.end(step.time) == "lost_prime"
    return dry and step.time > run.proof_time


def _running(look: str) -> bool:
    return "running" in CHECKS[look].needs


def _same(one: Option, other: Option | None) -> bool:
    return other is not None and (one.kind, one.id, one.place) == (other.kind, other.id, other.place)


def _named_before(step: Step, story: Story, start: Step | None) -> Judged | None:
    """The step as no loss where it is the very act that was named a moment ago, when the engine still ran, or before it
    was started for this look; else None.

    To stop the engine is what makes a work safe, and to start it what a look needs: that alone must not make another act
    the better one.
    """
    if step.time != step.time and step.before.starts:
        before, time, started = step.before, step.before.starts[-1].watched, True
    elif start is not None and step.option.kind == CHECK and _running(step.option.id):
        before, time, started = start.before, start.time, start.started
    else:
        return None
    advised = expert_advice(before, story, time, started)
    for seq in (step.seq, _call_for(story, step.seq)):
        named = before_the_call(advised, before) if call_is_open(story, seq) else advised
        first = confirming_look(before, story, time, named.option)
        if _same(step.option, first or named.option):
            return Judged(step, named, 0.0, first=first)
    return None


def _call_for(story: Story, seq: int) -> int:
    """The event at which a call was made that an act at an event (``seq``) waited for; that act's own where none was."""
    for at in range(seq - 1, 0, -1):
        if not story.log[at]["accepted"]:
            continue
        if story.log[at]["act"] == "call":
            return at
        if story.log[at]["act"] in ("check", "remedy", "start_engine"):
            break
    return seq


def _started_for(steps: Sequence[Step], number: int) -> Step | None:
    """The start just before a step, if it came of one."""
    before = steps[number - 1] if number else None
    return before if before is not None and before.option.kind == WATCH else None


def _to_prime(step: Step, usual: float) -> float:
    """Minutes [min] of a start that is a proof, up to its prime; the usual ones where one before did not hold."""
    starts = step.after.starts[len(step.before.starts) :]
    if any(start.end == "lost_prime" for start in step.before.starts):
        return usual
    return max([usual, *(start.primed_at / 60.0 for start in starts if start.primed_at is not None)])


def _wanted(look: Step, expert: Advice, story: Story) -> bool:
    """Whether a look was worth a start: an expert wanted it, lesson or card name it, or it confirms before work."""
    best = expert.option
    if (look.option.kind, look.option.id, look.option.place) == (best.kind, best.id, best.place):
        return True
    return as_taught(look, story) or confirms(
        look, expert_advice(look.before, story, look.time, look.started)
    )


def _costs_nothing(look: Step, story: Story) -> bool:
    """Whether what a start was made for is a look that costs nothing: a dry pump is stopped after one quick look, and
    started again for the next."""
    return (
        look.option.kind == CHECK
        and "running" in CHECKS[look.option.id].needs
        and judge(look, story).lost <= SLACK
    )


def waited(story: Story) -> float:
    """Minutes [min] let go by with the engine stopped, without those in which the hose empties for the next start."""
    running, gap, empties, total = False, 0.0, 0.0, 0.0
    for event in story.log:
        if not event["accepted"]:
            continue
        if event["act"] == "start_engine":
            total += max(gap - empties, 0.0)
            running, gap = True, 0.0
        elif event["act"] == "stop_engine":
            running, empties = False, EMPTIES
        elif event["act"] == "wait" and not running:
            gap += float(event["result"].get("minutes", 0.0))
    return total + gap


def prior_minutes(cases: HypothesisSet, story: Story) -> float:
    """Minutes [min] an expert expects to need before anything is seen."""
    return expert_advice(Belief(cases), story, math.nan, False).minutes


def economy_points(lost: float, unfinished: float, expected: float) -> float:
    """Points for expected minutes lost and expected minutes of work left undone [min].

    Beside the minutes an expert would expect beforehand [min]: losing as many halves the points, leaving as
    many undone takes them all, and leaving any takes half. Every minute lost costs something, however many were lost
    before, and stopping early never pays: the best way on loses nothing.

    Examples
    --------
    >>> economy_points(0.0, 0.0, 10.0), economy_points(10.0, 0.0, 10.0), economy_points(0.0, 10.0, 10.0)
    (40.0, 20.0, 0.0)
    """
    counts = LEFT if unfinished > 0.0 else 1.0
    share = counts * max(1.0 - unfinished / expected, 0.0)
    return OUT_OF[ECONOMY] * share * expected / (expected + max(lost, 0.0))


def mark_economy(story: Story, cases: HypothesisSet, trail: Trail) -> tuple[Part, list[Judged]]:
    """The part, and every step judged. Not marked where the attempt was stopped for safety."""
    judged = [
        judge(step, story, then, opened_for(trail.steps[number:]), start=_started_for(trail.steps, number))
        for number, (step, then) in enumerate(pairwise((*trail.steps, None)))
        if step is not None
    ]
    if story.ended == "stopped_for_safety":
        return part(ECONOMY, [because(0.0, "economy.not_reached")], marked=False), judged
    expected, most = prior_minutes(cases, story), OUT_OF[ECONOMY]
    worst = sorted((item for item in judged if item.lost > 0.0), key=lambda item: -item.lost)
    idle = waited(story)
    idle = idle if idle > SLACK else 0.0
    lost = idle + sum(item.lost for item in worst)
    with_losses = economy_points(lost, 0.0, expected)
    evidence = [because(most, "economy.start", minutes=minutes_words(expected))]

    def take(minutes: float, key: str, **fields: str) -> None:
        points = (most - with_losses) * minutes / lost
        evidence.append(because(-points, key, minutes=minutes_words(minutes), **fields))

    if idle > 0.0:
        take(idle, "economy.waited")
    for item in worst[:MAX_NAMED]:
        did = option_label(item.step.option)
        if item.same:  # the right thing, done for too long
            take(item.lost, "economy.too_long", did=did)
            continue
        if item.too_late:
            take(item.lost, "economy.lost_too_late", did=did)
            continue
        key = "economy.lost_again" if item.again > SLACK else "economy.lost"
        take(item.lost, key, did=did, expert=told_better(item))
    if len(worst) > MAX_NAMED:
        take(sum(item.lost for item in worst[MAX_NAMED:]), "economy.lost_more")
    if story.ended != "finished":
        last = expert_advice(trail.end, story, trail.time, True)
        rest = 0.0 if last.option.kind == HAND_OVER else last.minutes
        points = with_losses - economy_points(lost, rest, expected)
        evidence.append(because(-points, "economy.unfinished", minutes=minutes_words(rest)))
    elif lost == 0.0:
        evidence.append(because(0.0, "economy.well"))
    return part(ECONOMY, evidence), judged
