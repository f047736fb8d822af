"""The next best thing to do: one step looked ahead, what comes after it priced by chance over cost.

Minutes that safety asks for are free and not counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.cases import HypothesisSet
from simulator.diagnosis.completion import remaining_minutes
from simulator.diagnosis.gauge_likelihood import DOUBT
from simulator.instruments.checks import CHECKS
from simulator.rig.remedies import REMEDIES

WATCH, CHECK, REMEDY, FINISH = "watch", "check", "remedy", "finish"
GLANCE = 1.0  # [min] to start a stopped rig for a look at it running
USUAL_LOOK = 55.0  # [s] of the run at which an expert looks at it running


@dataclass(frozen=True)
class Option:
    """Something that can be done: watch a start, a check, a remedy; ``minutes`` [min] of its own."""

    kind: str
    id: str
    place: str
    minutes: float


@dataclass(frozen=True)
class Advice:
    """The best option, the expected minutes [min] until proven pumping with it, those of every option, and
    why."""

    option: Option
    minutes: float
    table: tuple[tuple[Option, float], ...]
    reason: str


def options(
    cases: HypothesisSet, allowed_checks: Iterable[str] | None = None, *, running: bool = False
) -> tuple[Option, ...]:
    """Everything that can be done on this rig, with its minutes as the rig stands or runs.

    Examples
    --------
    >>> from simulator.diagnosis.cases import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> [o.id for o in options(cases, ["belt"]) if o.kind == "check"]
    ['belt']
    """
    out = [Option(WATCH, "watch", "", cases.watch_minutes)]
    allowed = None if allowed_checks is None else set(allowed_checks)
    for name, place in cases.chances:
        check = CHECKS[name]
        if allowed is None or name in allowed:
            start = GLANCE if "running" in check.needs and not running else 0.0
            out.append(Option(CHECK, name, place, check.minutes + start))
    for name, place in cases.situations.after:
        out.append(Option(REMEDY, name, place, REMEDIES[name].minutes))
    return tuple(out)


def minutes_with(belief: Belief, option: Option, time: float = float("nan")) -> float:
    """Expected minutes [min] until proven pumping when this is done first; ``time`` [s] of the run, nan if
    stopped."""
    if belief.proved:
        return option.minutes
    if option.kind == FINISH:
        return 0.0
    if option.kind == CHECK:
        return _with_check(belief, option, time)
    if option.kind == REMEDY:
        return _with_remedy(belief, option)
    return _with_watch(belief, option)


def next_best(
    belief: Belief, available: Iterable[Option] | None = None, *, time: float = float("nan")
) -> Advice:
    """What to do next.

    Parameters
    ----------
    belief : after all that was seen.
    available : options to choose from; by default everything.
    time : [s] of the run that is under way; nan when the engine is stopped.

    Examples
    --------
    >>> from simulator.diagnosis.cases import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    >>> next_best(Belief(cases).update_check("belt", "broken")).option.id
    'renew_belt'
    """
    from simulator.diagnosis.words import reason

    chosen = tuple(available) if available is not None else options(belief.cases, running=not np.isnan(time))
    if belief.proved:
        chosen = (Option(FINISH, "finish", "", 0.0),)
    table = tuple(sorted(((o, minutes_with(belief, o, time)) for o in chosen), key=lambda pair: pair[1]))
    best, minutes = table[0]
    return Advice(best, minutes, table, reason(belief, best))


def _with_check(belief: Belief, option: Option, time: float) -> float:
    check = CHECKS[option.id]
    at = time
    if "running" in check.needs and (np.isnan(time) or time < USUAL_LOOK):
        at = USUAL_LOOK
    chances = belief.next_chances(option.id, option.place, at)
    after = remaining_minutes(belief.cases, (belief.weights[:, None] * chances).T, belief.now)
    return option.minutes + float(after.sum())


def _with_remedy(belief: Belief, option: Option) -> float:
    rows, act = belief.cases.situations, (option.id, option.place)
    found = rows.findings[act][belief.now]
    split = np.array([belief.weights * (found == finding) for finding in np.unique(found)])
    after = remaining_minutes(belief.cases, split, rows.after[act][belief.now])
    return option.minutes + float(after.sum())


def _with_watch(belief: Belief, option: Option) -> float:
    """A start that proves the rig ends the work; one that does not tells by its needles, unless they were
    seen."""
    cases, now, weights = belief.cases, belief.now, belief.weights
    likely = cases.fits[np.ix_(now, now)]
    known = np.zeros(len(now), dtype=bool)
    for start in belief.starts:
        if start.watched >= cases.proof_time or not np.isfinite(cases.proof_time):
            known |= start.rows == now
    seen = known[:, None] & known[None, :]
    likely = np.where(seen, 1.0, likely)
    likely = (1.0 - DOUBT) * likely + DOUBT * (likely @ weights)[:, None]
    open_ended = ~cases.proves[now] & (weights > 1e-6)
    after = likely[open_ended] * np.where(cases.proves[now], DOUBT, 1.0) * weights
    total = after.sum(axis=1, keepdims=True)
    left = remaining_minutes(cases, after / total, now)
    return option.minutes + float(np.sum(weights[open_ended] * left))
