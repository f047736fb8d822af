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
BEFORE_START = "walk_round"
GLANCE = 1.0  # [min] to start a stopped rig for a look at it running
SMALL_MASS = 1e-3  # [-] share of a belief below which a hypothesis is not followed up
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
    cases: HypothesisSet,
    allowed_checks: Iterable[str] | None = None,
    *,
    running: bool = False,
    started: bool = True,
) -> tuple[Option, ...]:
    """Everything that can be done on this rig, with its minutes as the rig stands or runs.

    A walk round before the first start (``started`` false) is asked for by safety, and free.

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
            free = name == BEFORE_START and not started
            out.append(Option(CHECK, name, place, 0.0 if free else check.minutes + start))
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
    split = (belief.weights[:, None] * chances).T
    return option.minutes + float(from_here(belief, split, belief.now).sum())


def _with_remedy(belief: Belief, option: Option) -> float:
    rows, act = belief.cases.situations, (option.id, option.place)
    found = rows.findings[act][belief.now]
    split = np.array([belief.weights * (found == finding) for finding in np.unique(found)])
    return option.minutes + float(from_here(belief, split, rows.after[act][belief.now]).sum())


def from_here(belief: Belief, split: np.ndarray, now: np.ndarray) -> np.ndarray:
    """Expected minutes [min] until proven pumping for each row of weights (beliefs, hypotheses) in rows
    ``now``.

    The better of two plans: mend by chance over cost at once, or watch a start first. Weights need not add up
    to 1.
    """
    cases = belief.cases
    at_once = remaining_minutes(cases, split, now)
    known = watched_before(belief, now)
    total = split.sum(axis=1)
    unknown = split[:, ~known].sum(axis=1)
    after = np.array(
        [
            (cases.watch_minutes * mass + after_watching(cases, weights, now, known))
            if mass > SMALL_MASS and new > SMALL_MASS * mass
            else np.inf
            for weights, mass, new in zip(split, total, unknown, strict=True)
        ]
    )
    return np.minimum(at_once, after)


def watched_before(belief: Belief, now: np.ndarray) -> np.ndarray:
    """Which hypotheses, in rows ``now``, have had a start watched to the end in just that state."""
    cases = belief.cases
    known = np.zeros(len(now), dtype=bool)
    for start in belief.starts:
        if start.watched >= cases.proof_time or not np.isfinite(cases.proof_time):
            known |= start.rows == now
    return known


def after_watching(cases: HypothesisSet, weights: np.ndarray, now: np.ndarray, known: np.ndarray) -> float:
    """Expected minutes [min] left once a start has been watched, times the total weight.

    A start that proves the rig ends the work; one that does not tells by its needles, unless they were seen
    before.
    """
    proves = cases.proves[now]
    truths = np.flatnonzero(~proves & (weights > SMALL_MASS * weights.sum()))
    if not len(truths):
        return 0.0
    likely = cases.fits[np.ix_(now[truths], now)]
    likely = np.where(known[truths, None] & known[None, :], 1.0, likely)
    likely = (1.0 - DOUBT) * likely + DOUBT * (likely @ weights)[:, None] / weights.sum()
    after = likely * np.where(proves, DOUBT, 1.0) * weights
    left = remaining_minutes(cases, after / after.sum(axis=1, keepdims=True), now)
    return float(weights[truths] @ left)


def _with_watch(belief: Belief, option: Option) -> float:
    now = belief.now
    return option.minutes + after_watching(belief.cases, belief.weights, now, watched_before(belief, now))
