"""How somebody worked in a call-out that is over, for the debrief and for later: told, never marked.

What a look can tell is judged by what was known before it, never by how it came out.

Throughout: ``belief`` is how likely each hypothesis is before a step; ``story`` and ``marked`` are of the same attempt.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from simulator.attempt.calls import SOMETHING_ELSE
from simulator.diagnosis.advice import BEFORE_START
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Step, Story
from simulator.diagnosis.option import CHECK, REMEDY, WATCH, Option
from simulator.diagnosis.words import fault_name, minutes_words, option_label
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import told_by
from simulator.marking.economy import Judged
from simulator.marking.mark import Marked
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.texts import text

LOOKS = (CHECK, WATCH)
READ_AT = (15, 30, 60, 100)  # [s] at which a watched start is read, as far as it is simulated
VACUUM_STEP, MOTIVE_STEP = 4e3, 4e4  # [Pa] by which needles differ for whoever watches a start
HALF = 0.5
NAMED = 3  # looks named in a sentence
AS_LONG = 0.85  # [-] of somebody's minutes that count as the same
SHORTEST = 0.25  # [min] of an old hand's that are worth a word
NEXT_TO_NOTHING = 0.02  # [bit]
AREA = "skills.how_worked"


def how_worked(story: Story, marked: Marked) -> dict[str, Any]:
    """What is kept of how somebody worked: plain numbers, the sentences are made of them and of the steps.

    Returns
    -------
    ``looks``, ``vain`` : looks and watched starts, and those of them that told nothing new [-].
    ``vain_minutes`` : what those took [min].
    ``halved_after`` : minutes [min] until a look left half as many suspects as there were at first; None: none did.
    ``changes`` : times that what was called or worked on was something else than before [-].
    ``minutes``, ``old_hand`` : what all looks took, and in how many an old hand would have found out as much [min].
    """
    looks = [item for item in marked.judged if counts(item.step)]
    vain = [item.step for item in looks if in_vain(item)]
    halved = first_to_halve(marked.trail.steps)
    own, needed = beside_an_old_hand(looks)
    return {
        "looks": len(looks),
        "vain": len(vain),
        "vain_minutes": round(sum(taken(step) for step in vain), 1),
        "halved_after": None if halved is None else round(halved[0], 1),
        "changes": max(len(minds(story.log)) - 1, 0),
        "minutes": round(own, 1),
        "old_hand": round(needed, 1),
    }


def sentences(story: Story, marked: Marked) -> list[str]:
    """How somebody worked in this call, in sentences."""
    found = how_worked(story, marked)
    out = []
    if not found["looks"]:
        kinds = {step.option.kind for step in marked.trail.steps}
        key = "walk_alone" if CHECK in kinds else "worked_first" if REMEDY in kinds else "no_looks"
        out.append(text(f"{AREA}.{key}"))
    elif not found["vain"]:
        key = "told_one" if found["looks"] == 1 else "told_all"
        out.append(text(f"{AREA}.{key}", n=found["looks"]))
    else:
        steps = [item.step for item in marked.judged if counts(item.step) and in_vain(item)]
        names = list(dict.fromkeys(_name(step.option) for step in steps))
        more = text(f"{AREA}.and_more") if len(names) > NAMED else ""
        fields = {"n": found["looks"], "vain": found["vain"], "names": "; ".join(names[:NAMED]) + more}
        one = found["vain"] == 1
        key = (
            ("only_vain" if one else "all_vain")
            if found["vain"] == found["looks"]
            else "vain_one"
            if one
            else "vain_some"
        )
        out.append(text(f"{AREA}.{key}", minutes=minutes_words(found["vain_minutes"]), **fields))
    halved = first_to_halve(marked.trail.steps)
    if halved is not None:
        minutes, step = halved
        out.append(text(f"{AREA}.halved", minutes=minutes_words(minutes), act=_name(step.option)))
    elif found["looks"]:
        out.append(text(f"{AREA}.never_halved"))
    seen = minds(story.log)
    if len(seen) > 1:
        fields = {"n": len(seen) - 1, "before": seen[0], "after": seen[-1]}
        out.append(text(f"{AREA}.changed_{'once' if len(seen) == 2 else 'often'}", **fields))
    elif seen:
        out.append(text(f"{AREA}.changed_never"))
    own, needed = found["minutes"], found["old_hand"]
    if own > 0.0:
        key = "as_long" if needed >= AS_LONG * own else "longer" if needed >= SHORTEST else "in_no_time"
        out.append(text(f"{AREA}.{key}", own=minutes_words(own), needed=minutes_words(needed)))
    return out


def counts(step: Step) -> bool:
    """Whether a step is a look that could have been left out.

    The walk round before the first start is asked for by safety, and a start after work is its proof.
    """
    option = step.option
    if option.kind == CHECK:
        return not (option.id == BEFORE_START and not step.started)
    return option.kind == WATCH and np.array_equal(step.before.now, step.before.cases.situations.start)


def told_nothing(step: Step) -> bool:
    """Whether a look told nothing new, as its line in the debrief says."""
    return told_by(step) == text("diagnosis.changed.nothing")


def in_vain(item: Judged) -> bool:
    """Whether a look told nothing new, cost minutes by the marks, and was not what an old hand would have done, who could
    not know that either.

    Parameters
    ----------
    item : a look as it was judged.
    """
    return told_nothing(item.step) and not item.same and item.lost > 0.0


def taken(step: Step) -> float:
    """Minutes [min] that a step took; a walk round its own, though it is not charged before the first start."""
    return max(step.minutes, CHECKS[BEFORE_START].minutes if step.option.id == BEFORE_START else 0.0)


def suspects(chances: Iterable[float]) -> float:
    """How many suspects there are left, each counted by how likely it still is [-]: two to the power of the entropy
    (Shannon 1948, A Mathematical Theory of Communication, in bits).

    Parameters
    ----------
    chances : [-] of each, together 1.

    Examples
    --------
    >>> suspects([0.25] * 4), suspects([1.0, 0.0])
    (4.0, 1.0)
    """
    return float(2.0 ** entropy(chances))


def entropy(chances: Iterable[float]) -> float:
    """Bits [-] that are still to be found out.

    Parameters
    ----------
    chances : [-] of each, together 1.

    Examples
    --------
    >>> entropy([0.5, 0.5]), entropy([1.0])
    (1.0, 0.0)
    """
    return float(-sum(chance * math.log2(chance) for chance in chances if chance > 0.0)) + 0.0


def first_to_halve(steps: Sequence[Step]) -> tuple[float, Step] | None:
    """Minutes [min] gone by then, and the first look that left half as many suspects as there were; None: none did.

    Parameters
    ----------
    steps : in their order.
    """
    if not steps:
        return None
    most = HALF * suspects(steps[0].before.by_fault().values())
    gone = 0.0
    for step in steps:
        gone += taken(step)
        if step.option.kind in LOOKS and suspects(step.after.by_fault().values()) <= most:
            return gone, step
    return None


def minds(log: Sequence[dict[str, Any]]) -> list[str]:
    """What was thought to be wrong, by the calls and by the work, each time it was something else than before.

    Parameters
    ----------
    log : of an attempt.

    Examples
    --------
    >>> called = {"act": "call", "accepted": True, "result": {"markers": {"belt_loose": 7, "seal_worn": 3}}}
    >>> work = {"act": "remedy", "accepted": True, "result": {"remedy": "renew_seal"}}
    >>> len(minds([called, called])), len(minds([called, work]))
    (1, 2)
    """
    out: list[tuple[str, frozenset[str]]] = []
    for event in log:
        if not event["accepted"]:
            continue
        if event["act"] == "call":
            markers = event["result"]["markers"]
            top = max(markers, key=lambda name: markers[name])
            works = (
                frozenset(remedies_for(FAULTS[top].part)) if top in FAULTS and top != "sound" else frozenset()
            )
            name = text("panel.call.other") if top == SOMETHING_ELSE else fault_name(top)
            here = (name, works)
            same = bool(out) and out[-1][0] == name
        elif event["act"] == "remedy":
            work = event["result"]["remedy"]
            here = (text(f"remedies.{work}.name"), frozenset(remedies_for(REMEDIES[work].part)))
            same = bool(out) and work in out[-1][1]
        else:
            continue
        if not same:
            out.append(here)
    return [name for name, _ in out]


def beside_an_old_hand(looks: Sequence[Judged]) -> tuple[float, float]:
    """Minutes [min] that some looks took, and those in which an old hand would have found out as much, never more.

    What each look could tell is held against the look that an old hand would have made from the same knowledge: at its
    rate, so long would it have taken. A look that told something and cost no marks is one that an old hand makes too. An
    old hand who would work by then, or hand over, looks no more. The walk round that comes before the first start is
    nobody's choice: the start after it is what is compared.

    Parameters
    ----------
    looks : as they were judged.
    """
    own = needed = 0.0
    for item in looks:
        step, better = item.step, item.better
        minutes = taken(step)
        own += minutes
        if item.same or (
            item.lost <= 0.0 and not told_nothing(step)
        ):  # also what confirms, as the marks have it
            needed += minutes
            continue
        if better.id == BEFORE_START and not step.started:
            better = Option(WATCH, WATCH, "", step.before.cases.watch_minutes)
        if better.kind not in LOOKS:
            continue
        best = bits(step.before, better, step.time)
        if best >= NEXT_TO_NOTHING:
            told = bits(step.before, step.option, step.time, watched_for(step))
            needed += min(minutes, told / best * _usual(better))
    return own, needed


def watched_for(step: Step) -> float:
    """For how long [s] a start was watched; without end where the step is none."""
    starts = step.after.starts[len(step.before.starts) :]
    return max((start.watched for start in starts), default=math.inf)


def bits(belief: Belief, option: Option, time: float, until: float = math.inf) -> float:
    """What a look can be expected to tell [bit], before it is made.

    Of a check: how much its outcome is in doubt, less what is chance in it (mutual information, Shannon 1948). Of a
    start: how many ways it can go for whoever watches, each by how likely it is.

    Parameters
    ----------
    option : the check, or the start.
    time : [s] of the run; nan with the engine stopped.
    until : [s] for which a start is watched.
    """
    weights = belief.weights
    if option.kind == CHECK:
        if (option.id, option.place) not in belief.cases.chances:
            return 0.0  # read from the needles, which the start has told already
        chances = belief.next_chances(option.id, option.place, time)
        own = float(weights @ -np.sum(chances * np.log2(np.maximum(chances, 1e-300)), axis=1))
        return max(entropy((weights @ chances).tolist()) - own, 0.0)
    ways = _starts(belief, until)[belief.now]
    return entropy(np.bincount(np.unique(ways, return_inverse=True)[1].reshape(-1), weights=weights).tolist())


def _starts(belief: Belief, until: float) -> np.ndarray:
    """The way in which a start of each row goes, watched until a time [s]: (rows,) of a number, as far as they
    can be told apart."""
    cases = belief.cases
    seconds = [at for at in READ_AT if at < min(cases.needles.shape[2], until + 1.0)]
    read = np.nan_to_num(cases.needles[:, :, seconds])
    levels = np.round(read / np.array([VACUUM_STEP, MOTIVE_STEP])[None, :, None]).reshape(len(read), -1)
    primed = np.nan_to_num(cases.prime_times, nan=np.inf) < until
    ends = np.where(primed, 1 + np.unique(cases.outcomes, return_inverse=True)[1].reshape(-1), 0)
    return np.unique(np.column_stack([levels, ends]), axis=0, return_inverse=True)[1].reshape(-1)


def _usual(option: Option) -> float:
    """Minutes [min] of an act as anybody needs for it."""
    return CHECKS[option.id].minutes if option.kind == CHECK and option.id in CHECKS else option.minutes


def _name(option: Option) -> str:
    return option_label(option).rstrip(".")
