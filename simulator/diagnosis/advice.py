"""The next best thing to do: one step looked ahead, what comes after it priced by chance over cost.

Minutes that safety asks for are free and not counted.

Throughout: ``belief`` is how likely each hypothesis is now; ``cases`` are the hypotheses of the rig in good order;
``option`` is something that can be done; ``allowed_checks`` are those that may be used (None: all); ``running`` says
whether the engine runs.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

import numpy as np

from simulator.diagnosis.belief import LONGER, Belief
from simulator.diagnosis.completion import (
    FALLBACK,
    GLANCE,
    USUAL_LOOK,
    Plan,
    barred_acts,
    by_row,
    minutes_from,
    plan_for,
)
from simulator.diagnosis.ending import FAILED_ENDS, fits_nothing, still_open
from simulator.diagnosis.greedy import after_watching
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.lying_gauge import bad_gauges
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, RUN_ON, WATCH, Option
from simulator.diagnosis.outlook import WATCH_SLACK
from simulator.diagnosis.words import reason
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES

BEFORE_START = "walk_round"
GAUGES_CHANGED = ("suction_gauge", "motive_gauge")
LIES = 0.8  # [-] chance from which a gauge of a rig that pumps is changed before it is handed over
BY_HAND = 1.0  # [min] of a work that is no more than a hand on a valve or a lever
GUESS = 0.5  # [-] chance to mend it, below which a work is a guess
LATER = 0.01  # [min] by which a guess, or a free look made before, stands behind what is better
IDLE = 0.05  # [-] an act that spares less than this share of its own minutes tells nothing


#: To hand the job over costs what another rig costs: it is best once nothing on the list is worth its minutes.
LEAVE = Option(HAND_OVER, "hand_over", "", FALLBACK)


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
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
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


def minutes_with(
    belief: Belief,
    option: Option,
    time: float = float("nan"),
    allowed_checks: Collection[str] | None = None,
) -> float:
    """Expected minutes [min] until proven pumping when this is done first; ``time`` [s] of the run, nan if
    stopped; ``allowed_checks`` those that may be used later on, None for all."""
    return float(_minutes(belief, (option,), time, allowed_checks)[0])


def next_best(
    belief: Belief,
    available: Iterable[Option] | None = None,
    *,
    time: float = float("nan"),
    allowed_checks: Collection[str] | None = None,
) -> Advice:
    """What to do next.

    Where the job may be handed over (``HAND_OVER`` among what is available), the advice comes to an end: nothing is
    advised that can tell or mend nothing any more, and what fits nothing is handed over.

    Parameters
    ----------
    belief : after all that was seen.
    available : options to choose from; by default everything that is allowed.
    time : [s] of the run that is under way; nan when the engine is stopped.
    allowed_checks : checks that may be used later on; None for all.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    >>> next_best(Belief(cases).update_check("belt", "broken")).option.id
    'renew_belt'
    """
    if belief.proved:
        every = available if available is not None else options(belief.cases, allowed_checks)
        chosen: tuple[Option, ...] = (_good_gauge(belief, every) or Option(FINISH, "finish", "", 0.0),)
    elif available is not None:
        chosen = tuple(available)
    else:
        chosen = options(belief.cases, allowed_checks, running=not np.isnan(time))
    if not np.isnan(time) and _only_has_to_run_on(belief):
        chosen = tuple(replace(option, id=RUN_ON) if option.kind == WATCH else option for option in chosen)
    leave = tuple(option for option in chosen if option.kind == HAND_OVER)
    chosen = tuple(option for option in chosen if option.kind != HAND_OVER)
    if leave and not belief.proved:
        chosen = () if fits_nothing(belief) else still_open(belief, chosen)
    minutes = _minutes(belief, chosen, time, allowed_checks) if chosen else np.empty(0)
    if leave and not belief.proved:
        chosen, minutes = (*chosen, *leave), np.append(minutes, FALLBACK)
    table = tuple(
        sorted(zip(chosen, minutes.tolist(), strict=True), key=lambda pair: (pair[1], pair[0].minutes))
    )
    best, least = table[0]
    return Advice(best, least, table, reason(belief, best))


def _good_gauge(belief: Belief, available: Iterable[Option]) -> Option | None:
    """The gauge to change on a rig that is proven: nobody hands over one whose gauge does not tell the truth."""
    cases = belief.cases
    beside: dict[str, float] = {}
    for option in available:
        part = REMEDIES[option.id].part if option.kind == REMEDY else ""
        if part in GAUGES_CHANGED:
            own = [n for n, name in enumerate(cases.faults) if name in FAULTS and FAULTS[name].part == part]
            after = cases.situations.after[option.id, option.place][belief.now]
            chance = float(
                belief.weights[(cases.shares[own] > 0.0).any(axis=0) & (after != belief.now)].sum()
            )
            beside = beside or bad_gauges(belief)
            if chance + sum(beside.get(cases.faults[n], 0.0) for n in own) >= LIES:
                return option
    return None


def _only_has_to_run_on(belief: Belief) -> bool:
    """Whether a start that goes on may yet prime as it should, or pumps well and has to do so for longer."""
    last = belief.starts[-1] if belief.starts else None
    if last is None or not np.array_equal(last.rows, belief.now):
        return False
    enough = 60.0 * belief.cases.watch_minutes - 1.0
    return belief.lacks == LONGER or (last.primed_at is None and last.watched < enough)


def _minutes(
    belief: Belief, chosen: tuple[Option, ...], time: float, allowed: Collection[str] | None
) -> np.ndarray:
    """Expected minutes [min] with each option, (options,); all that each may lead to is priced in one go."""
    out = np.array([option.minutes for option in chosen])
    if belief.proved:
        return out
    plan, leads = plan_for(belief.cases), _Leads(belief, allowed)
    for number, option in enumerate(chosen):
        if (
            option.kind == CHECK
            and np.isnan(time)
            and leads.unwatched
            and "running" in CHECKS[option.id].needs
        ):
            # Who starts it for a look has it before them: the start is watched first.
            out[number] += belief.cases.watch_minutes + leads.watched(plan)
        elif option.kind == CHECK:
            leads.check(number, option, time)
        elif option.kind == REMEDY:
            leads.remedy(number, option)
        elif option.kind == WATCH:
            out[number] += leads.watched(plan)
    if leads.numbers:
        np.add.at(out, leads.numbers, leads.minutes(plan))
    if not belief.starts:
        # Nobody mends on a guess what he has not seen run; prices are not exact enough to say otherwise.
        watch = belief.cases.watch_minutes + leads.watched(plan)
        for number, option in enumerate(chosen):
            if option.kind != REMEDY:
                continue
            if leads.mends(option) < GUESS:
                out[number] = max(out[number], watch + LATER)
            elif (
                option.minutes <= BY_HAND
            ):  # what a look has found and a hand puts right comes before a start
                out[number] = min(out[number], watch)
    _after_the_best(out, np.array([option.minutes for option in chosen]), leads.usual)
    for number, option in enumerate(chosen):
        if option.minutes == 0.0 and (option.id, option.place) not in leads.seen:
            out[number] = out.min()  # what costs nothing is never worse than doing without
        elif option.minutes == 0.0 and len(chosen) > 1:
            out[number] = max(out[number], np.delete(out, number).min() + LATER)  # once is enough
    return out


def _after_the_best(out: np.ndarray, own: np.ndarray, usual: float) -> None:
    """Put every act that tells nothing and mends nothing behind the best that does: it is only its minutes lost.

    Prices of what is left are those of a plan, not of the best one; so doing nothing of use could look cheaper than
    every useful act, and would be done for ever. ``out`` prices [min], changed in place; ``own`` minutes of the acts.
    """
    idle = (own > 0.0) & (out >= usual + (1.0 - IDLE) * own)
    if idle.any() and not idle.all():
        out[idle] = np.maximum(out[idle], out[~idle].min() + own[idle])


class _Leads:
    """The beliefs that options lead to, as weights of rows, gathered to be priced together."""

    def __init__(self, belief: Belief, allowed: Collection[str] | None) -> None:
        self.belief, self.allowed, self.plan = belief, allowed, plan_for(belief.cases)
        self.seen = {(item.check, item.place) for item in belief.looks}
        self.barred = barred_acts(self.plan, self.seen, allowed)
        self.rows, self.known = self._spots(belief.now)
        here = by_row(self.plan, belief.weights[None, :], self.rows)
        self.here, self.unwatched = here, bool(here[0, self.known].sum() < 0.5)
        self.numbers: list[int] = []
        #: minutes [min] left by the plan as things stand
        self.usual = float(minutes_from(self.plan, here, self.known[None, :], self.barred[None, :])[0])
        self._watched: float | None = None
        self._weights: list[np.ndarray] = []
        self._knowns: list[np.ndarray] = []
        self._barred: list[np.ndarray] = []

    def check(self, number: int, option: Option, time: float) -> None:
        """Each outcome of a check, with the weights it leaves."""
        check = CHECKS[option.id]
        at = time
        if "running" in check.needs and (np.isnan(time) or time < USUAL_LOOK):
            at = USUAL_LOOK
        chances = self.belief.next_chances(option.id, option.place, at)
        barred = self.barred
        own = self.plan.number.get((option.id, option.place))
        if own is not None:
            barred = barred.copy()
            barred[own] = True
        self._add(number, (self.belief.weights[:, None] * chances).T, self.rows, self.known, barred)

    def remedy(self, number: int, option: Option) -> None:
        """Each thing the hands may find, with the weights it leaves."""
        rows, act, now = self.belief.cases.situations, (option.id, option.place), self.belief.now
        codes = rows.codes[act][now]
        split = np.zeros((int(codes.max()) + 1, len(now)))
        split[codes, np.arange(len(now))] = self.belief.weights
        after = rows.after[act][now]
        spots = (self.rows, self.known) if np.array_equal(after, now) else self._spots(after)
        self._add(number, split, *spots, self.barred)

    def mends(self, option: Option) -> float:
        """Chance [-] that a work makes the rig prove itself."""
        cases = self.belief.cases
        after = cases.situations.after[option.id, option.place][self.belief.now]
        return float(self.belief.weights[cases.proves[after] & ~cases.proves[self.belief.now]].sum())

    def watched(self, plan: Plan) -> float:
        """Expected minutes [min] left once a start has been watched from here."""
        if self._watched is None:
            known, barred = self.known[None, :], self.barred[None, :]
            self._watched = float(after_watching(plan.tables, plan.watching, self.here, known, barred)[0])
        return self._watched

    def minutes(self, plan: Plan) -> np.ndarray:
        """Expected minutes [min] times the weight of everything gathered."""
        counts = [len(item) for item in self._weights]
        return minutes_from(
            plan,
            np.concatenate(self._weights),
            np.repeat(self._knowns, counts, axis=0),
            np.repeat(self._barred, counts, axis=0),
            self.usual,
        )

    def _add(
        self, number: int, split: np.ndarray, rows: np.ndarray, known: np.ndarray, barred: np.ndarray
    ) -> None:
        self.numbers += [number] * len(split)
        self._weights.append(by_row(self.plan, split, rows))
        self._knowns.append(known)
        self._barred.append(barred)

    def _spots(self, now: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The plan's row of each hypothesis in row ``now`` (hypotheses,), and the rows (rows,) of which most weight has
        had a start watched to the end in just that state."""
        cases, plan, weights = self.belief.cases, self.plan, self.belief.weights
        known = np.zeros(len(now), dtype=bool)
        enough = min(cases.proof_time, 60.0 * cases.watch_minutes - WATCH_SLACK)
        for start in self.belief.starts:
            if (
                start.proof
                or start.lacks
                or (start.warm and start.primed_at is not None and start.end not in FAILED_ENDS)
            ):
                continue  # it runs, and only a start from dry, or a longer one, can prove it
            if start.watched >= enough or not np.isfinite(cases.proof_time):
                known |= start.rows == now
        rows = np.where(known & cases.proves[now], plan.unproven[now], now)
        both = by_row(plan, np.array([weights * known, weights * ~known]), rows)
        return rows, both[0] > both[1]
