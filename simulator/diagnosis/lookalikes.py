"""Faults that look alike on the gauges, the cheapest check that parts them, and call-outs that nobody could solve.

Throughout: ``belief`` is how likely each hypothesis is now; ``cases`` are the hypotheses of the rig in good order;
``scenario`` is a call-out; ``seen`` what its rig would show as it is; ``rig`` that rig; ``likely`` the weights of the
hypotheses [-]; ``allowed`` the checks that may be made (None: all); ``key`` a check with its place.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from simulator.diagnosis.belief import Belief, starts_log_likelihood
from simulator.diagnosis.completion import GLANCE
from simulator.diagnosis.gauge_likelihood import log_likelihoods
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.narrow_set import NarrowSet
from simulator.diagnosis.outlook import TESTED, CheckKey, Observer, Outlook, look_times
from simulator.diagnosis.scenario_sets import set_of
from simulator.diagnosis.words import fault_name, joint_field
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.onset import as_at
from simulator.rig.remedies import remedies_for
from simulator.rig.rig import Rig
from simulator.scenario import Scenario, build
from simulator.texts import text

READ_EVERY = 3.0  # [s] between needles taken down
BEFORE_PRIME = 6.0  # [s] before the prime after which needles are left out: they jump
ODDS = 8.0  # the gauges must speak this much for one fault over another before they tell them apart [-]
SPLITS = 0.7  # [-] difference in the chances of outcomes from which one look parts two faults
RULED_OUT = 1e-9  # [-] beside the likeliest, from which no test run makes a hypothesis count again
PARTED = 0.5  # [-] chance below which the truth is not found, all allowed looks made
ENDS = ("primed", "pumps_badly", "lost_prime")


@dataclass(frozen=True)
class LookAlike:
    """A fault whose gauges cannot be told from the truth's: which and where, ``odds`` [-] by which the gauges lean to the
    truth, and the cheapest look that parts the two, with its minutes [min]; None where no single look does."""

    fault: str
    place: str
    odds: float
    check: CheckKey | None
    minutes: float
    same_work: bool  # the same work mends both: nobody need part them


def truth_outlook(scenario: Scenario, cases: HypothesisSet) -> Outlook:
    """What the call-out's rig would show, as it is; what comes late is there in full from the start."""
    observer = cases.observer if isinstance(cases, NarrowSet) else Observer(cases.rig, cases.site)
    return observer.outlook(*as_at(*build(scenario), math.inf))


def gauges_of(cases: HypothesisSet, seen: Outlook, rig: Rig) -> Belief:
    """The belief after a start watched to the end of what is kept, needles without shake."""
    primed = float(seen.prime_time) if math.isfinite(seen.prime_time) else None
    last = cases.span if primed is None else min(cases.span, primed - BEFORE_PRIME)
    times = np.arange(READ_EVERY, last, READ_EVERY)
    needles = seen.needles.copy()
    if not rig.has_motive_gauge:
        needles[1] = np.nan
    belief = Belief(cases)
    if len(times):
        belief = belief.update_gauges(1, times, needles[:, times.astype(int)])
    end = seen.outcome if primed is not None and seen.outcome in ENDS else ""
    in_time = primed is not None and primed <= cases.proof_time
    return belief.update_restart(1, cases.span, primed, proof=in_time and end == "primed", end=end)


def look_alikes(
    cases: HypothesisSet,
    seen: Outlook,
    truth: Collection[str],
    allowed: Collection[str] | None = None,
    most: int | None = None,
) -> list[LookAlike]:
    """Faults that the gauges of this rig do not tell from the truth, the most alike first.

    Parameters
    ----------
    cases : hypotheses of the rig in good order.
    seen : what the rig as it is shows.
    truth : ids of what is wrong.
    allowed : checks that may be used to part them; None for all.
    most : how many at most [-]; None for all.
    """
    belief = gauges_of(cases, seen, cases.rig)
    likely = log_likelihoods(cases.needles, cases.cells, belief.readings) if belief.readings else 0.0
    likely = likely + starts_log_likelihood(cases, belief.starts)
    own = best_of(cases, likely, truth)
    top = float(likely[own]) if own is not None else float(np.max(likely))
    found = []
    for fault in cases.faults:
        here = best_of(cases, likely, (fault,))
        if fault in truth or here is None or cases.hypotheses[here].second is not None:
            continue
        odds = math.exp(min(max(top - float(likely[here]), -700.0), 700.0))
        if odds < ODDS:
            found.append((odds, fault, here))
    out = []
    for odds, fault, here in sorted(found, key=lambda item: item[0])[:most]:
        check, minutes = parting_look(cases, seen, here, allowed)
        place = cases.hypotheses[here].place
        out.append(LookAlike(fault, place, odds, check, minutes, same_work(fault, truth)))
    return out


def best_of(cases: HypothesisSet, likely: np.ndarray, faults: Collection[str]) -> int | None:
    """The hypothesis of just these faults that fits best; None where there is none."""
    wanted = set(faults)
    own = [
        i
        for i, h in enumerate(cases.hypotheses)
        if ({h.fault} if h.second is None else {h.fault, h.second[0]}) == wanted
    ]
    return max(own, key=lambda i: float(likely[i]), default=None)


def same_work(fault: str, truth: Collection[str]) -> bool:
    """Whether some work mends a fault and one of the truth alike.

    Examples
    --------
    >>> same_work("level_falls", ("strainer_high",)), same_work("belt_loose", ("strainer_high",))
    (True, False)
    """
    works = set(remedies_for(FAULTS[fault].part)) if FAULTS[fault].part else set()
    return any(works & set(remedies_for(FAULTS[name].part)) for name in truth if FAULTS[name].part)


def minutes_of(check: str) -> float:
    """Minutes [min] of a check, with the start that a look at a running rig asks for.

    Examples
    --------
    >>> minutes_of("exhaust_stream"), minutes_of("dip_water")
    (1.5, 3.0)
    """
    item = CHECKS[check]
    return item.minutes + (GLANCE if "running" in item.needs else 0.0)


def parting_look(
    cases: HypothesisSet, seen: Outlook, hypothesis: int, allowed: Collection[str] | None = None
) -> tuple[CheckKey | None, float]:
    """The cheapest single look that parts the rig as it is from a hypothesis, with its minutes [min]; None and inf
    where none does."""
    row, found = int(cases.situations.start[hypothesis]), []
    cases.know_row(row)
    for key, chances in cases.chances.items():
        if (allowed is None or key[0] in allowed) and key in seen.chances:
            apart = 0.5 * np.abs(chances[row] - seen.chances[key]).sum(axis=1)
            if float(apart.max()) >= SPLITS:
                found.append((minutes_of(key[0]), key))
    if not found:
        return None, math.inf
    minutes, key = min(found)
    return key, minutes


def all_looks(cases: HypothesisSet, seen: Outlook, allowed: Collection[str] | None, belief: Belief) -> Belief:
    """The belief once every allowed check has shown what it is likeliest to show, test runs last."""
    wanted = [key for key in seen.chances if allowed is None or key[0] in allowed]
    for check, place in sorted(wanted, key=lambda key: key[0] in TESTED):
        if check in TESTED:
            cases.know_tests(belief.now[belief.weights > RULED_OUT * belief.weights.max()])
        chances = seen.chances[check, place]
        times = look_times(CHECKS[check])
        for number in {0, len(times) - 1} if math.isnan(times[0]) else {len(times) - 1}:
            outcome = CHECKS[check].outcomes[int(np.argmax(chances[number]))]
            belief = belief.update_check(check, outcome, place, times[number])
    return belief


def refusal(
    scenario: Scenario, cases: HypothesisSet | None = None, seen: Outlook | None = None
) -> InputError | None:
    """Why a call-out cannot be solved with its allowed checks, and the check that would help; None where it can.

    It can where, all allowed checks made and the gauges watched, what is wrong stands out, or whatever stands in its
    place is mended by the same work.

    Examples
    --------
    >>> from simulator.scenario import SiteChoice, choose_fault
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0),
    ...                 faults=(choose_fault("drain_open", 0.6),))
    >>> refusal(call) is None
    True
    """
    cases = set_of(scenario) if cases is None else cases
    seen = truth_outlook(scenario, cases) if seen is None else seen
    allowed = None if scenario.allowed_checks == "all" else set(scenario.allowed_checks)
    truth = scenario.fault_ids
    known = all_looks(cases, seen, allowed, gauges_of(cases, seen, cases.rig))
    chances = known.by_fault()
    found = sum(chance for name, chance in chances.items() if name in truth or same_work(name, truth))
    if found >= PARTED:
        return None
    other = max((n for n in chances if n not in truth and not same_work(n, truth)), key=chances.__getitem__)
    fields = {"truth": text("diagnosis.and").join(fault_name(n) for n in truth), "other": fault_name(other)}
    likely = known.weights * np.array([h.fault == other for h in cases.hypotheses])
    check, _ = parting_look(cases, seen, int(np.argmax(likely)))
    if check is None or allowed is None or check[0] in allowed:
        helping = helping_look(cases, seen, allowed, truth)
        legal = text("diagnosis.refused.no_help") if helping is None else check_label(helping)
    else:
        legal = check_label(check)
    return InputError(text("diagnosis.refused.alike", **fields), "allowed_checks", legal)


def helping_look(
    cases: HypothesisSet, seen: Outlook, allowed: Collection[str] | None, truth: Collection[str]
) -> CheckKey | None:
    """The cheapest check beyond those allowed with which the truth stands out; None where no single one helps."""
    if allowed is None:
        return None
    start = gauges_of(cases, seen, cases.rig)
    for check in sorted({name for name, _ in seen.chances} - set(allowed), key=minutes_of):
        chances = all_looks(cases, seen, {*allowed, check}, start).by_fault()
        if sum(c for n, c in chances.items() if n in truth or same_work(n, truth)) >= PARTED:
            return next(key for key in seen.chances if key[0] == check)
    return None


def refuse(scenario: Scenario) -> None:
    """Let a call-out pass that can be solved with its allowed checks.

    Raises
    ------
    InputError : it cannot; the sentence says what cannot be told apart and which check would help.
    """
    error = refusal(scenario)
    if error is not None:
        raise error


def check_label(key: CheckKey) -> str:
    """What a check is called, with its joint.

    Examples
    --------
    >>> check_label(("belt", ""))
    'Guard off: look at belt and air filter'
    """
    return text(f"checks.{key[0]}.label", **joint_field(key[1]))
