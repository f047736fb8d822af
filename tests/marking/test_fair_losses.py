"""No step is charged more than it took, prices are right once it is known what is wrong, a careful look is free once."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import plan_for
from simulator.diagnosis.evidence import Step, follow, story_of
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.option import CHECK, REMEDY, WATCH, Option
from simulator.diagnosis.words import mended_chance
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import THIRD, before_the_call, confirms, expert_advice, judge, waited
from simulator.marking.service import marked_attempt
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.studies.fair_prices import losses_of, prices_once_sure
from tests.attempt.conftest import make_ready_to_start
from tests.conftest import thin
from tests.marking.conftest import call_out, do


@pytest.fixture(scope="module")
def cases() -> HypothesisSet:
    """All hypotheses of the rig Osier at its usual site."""
    return hypothesis_set(load_rig("osier"), standard_site())


RIGS = [pytest.param(name, marks=() if name == "osier" else pytest.mark.full) for name in rig_names()]


@pytest.mark.parametrize("rig", RIGS)
def test_prices_are_right_once_it_is_known_what_is_wrong(rig: str) -> None:
    priced, true = prices_once_sure(hypothesis_set(load_rig(rig), standard_site()))
    assert np.mean(np.abs(priced - true) <= 0.5) >= 0.95
    assert (priced >= true - 1e-6).all(), "no plan is quicker than the quickest"


@pytest.mark.parametrize("player", thin("honest", "spammer", "swapper"))
def test_no_step_is_charged_more_than_it_took(played, player: str) -> None:
    losses = losses_of(marked_attempt(played(player, "belt_loose", 0.7, ""))[2])
    assert all(loss.fair for loss in losses), losses


def test_each_look_and_work_at_the_very_start_costs_no_more_than_its_own_minutes(cases) -> None:
    belief, watch = Belief(cases), cases.watch_minutes
    story: Any = SimpleNamespace(allowed_checks=None, log=())
    for kind, acts in ((CHECK, cases.chances), (REMEDY, cases.situations.after)):
        for name, place in acts:
            minutes = (CHECKS if kind == CHECK else REMEDIES)[name].minutes
            option = Option(kind, name, place, minutes)
            step = Step(option, 1, 0.0, math.nan, minutes, belief, belief, True)
            found = judge(step, story)
            assert found.lost <= minutes + (watch if kind == REMEDY else 0.0) + 1e-9, option
            assert found.again == pytest.approx(max(found.lost - minutes, 0.0), abs=1e-9)


def test_a_look_that_confirms_before_a_long_work_is_free_once(cases) -> None:
    plan = plan_for(cases)
    looks = {
        act: plan.acts[work]
        for act, work in zip(plan.acts, plan.tables.plain.tolist(), strict=True)
        if work >= 0
    }
    free = [
        (look, work)
        for look, work in looks.items()
        if CHECKS[look[0]].minutes <= THIRD * REMEDIES[work[0]].minutes
    ]
    assert free, "some look takes a third of its work's minutes at most"
    assert any(look[0] == "foam_joint" and work[0] == "renew_joint_ring" for look, work in free), (
        "foam, then a ring"
    )
    look, work = free[0]
    belief, option = Belief(cases), Option(CHECK, *look, CHECKS[look[0]].minutes)
    expert: Any = SimpleNamespace(option=Option(REMEDY, *work, REMEDIES[work[0]].minutes))
    step = Step(option, 1, 0.0, 60.0, option.minutes, belief, belief, True)
    assert confirms(step, expert)
    again = belief.update_check(look[0], CHECKS[look[0]].outcomes[0], look[1], 60.0)
    assert not confirms(Step(option, 2, 0.0, 60.0, option.minutes, again, again, True), expert)
    other: Any = SimpleNamespace(option=Option(REMEDY, *work, 2.9 * option.minutes))
    assert not confirms(step, other), "more than a third of the work's minutes"


def lost_by(name: str, *acts: dict[str, str], start: bool = False) -> float:
    """Minutes [min] that an act of a name loses in a play of some acts, a ring gone at the middle joint."""
    attempt = Attempt(call_out("joint_ring", 0.006, "joint:1"), MemoryStore(), mode="practice", seed=3)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    if start:
        do(attempt, "start_engine", speed="rated")
        attempt.act("wait", {"seconds": 90.0})
        for joint in ("joint:2", "joint:1"):
            do(attempt, "check", check="foam_joint", place=joint)
    for act in acts:
        do(attempt, "remedy" if "remedy" in act else "check", **act)
    attempt.act("give_up")
    return next(item.lost for item in marked_attempt(attempt)[2].judged if item.step.option.id == name)


LOOK = {"check": "joint_apart", "place": "joint:1"}
RING = {"remedy": "renew_joint_ring", "place": "joint:1"}


def test_a_look_into_a_part_that_is_then_mended_is_charged_as_the_work_at_once() -> None:
    """On the off chance, before any start, a find was free for being one; not to have looked was charged in full."""
    at_once = lost_by("renew_joint_ring", RING)
    assert at_once > 2.0
    assert lost_by("joint_apart", LOOK) > 2.0
    lucky = lost_by("joint_apart", LOOK, RING)
    assert 2.0 < lucky <= min(at_once, CHECKS["joint_apart"].minutes) + 1e-9


def test_a_look_into_a_part_that_an_old_hand_would_mend_is_free() -> None:
    """Foam was drawn in there. Four minutes to open a joint, three for the ring then: one more than the ring straight
    away, for a sure thing: free, as of any look that confirms before work."""
    assert lost_by("renew_joint_ring", RING, start=True) == 0.0
    assert lost_by("joint_apart", LOOK, RING, start=True) == 0.0


def test_a_start_that_a_free_look_takes_is_free_too() -> None:
    """Stop after one quick look, and start again for the next: the page says so, and then charged the second start."""
    place = SiteChoice(lift_m=2.2)
    faults = (choose_fault("joint_ring", 0.01, "joint:2"),)
    attempt = Attempt(
        Scenario(title="A call", brief="No water.", site=place, faults=faults), MemoryStore(), seed=3
    )
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    for look in (
        {"check": "listen_line"},
        *({"check": "foam_joint", "place": f"joint:{n}"} for n in range(2)),
    ):
        do(attempt, "start_engine", speed="rated")
        attempt.see(9.0)
        do(attempt, "check", **look)
        attempt.act("stop_engine")
    attempt.act("give_up")
    judged = marked_attempt(attempt)[2].judged
    foam = [
        (start, look)
        for start, look in pairwise(judged)
        if start.step.option.kind == WATCH and look.step.option.id == "foam_joint"
    ]
    assert len(foam) == 2
    assert any(look.lost == 0.0 for _, look in foam)
    assert all(start.lost == 0.0 for start, look in foam if look.lost == 0.0)


def test_before_the_call_no_work_is_advised_that_more_likely_fails(cases) -> None:
    """A drain that looks shut: work on it locks both calls, so a foreman makes the best look first, at no loss."""
    belief = Belief(cases).update_check("walk_round", "in_order")
    story: Any = SimpleNamespace(allowed_checks=None)
    advice = expert_advice(belief, story, math.nan, True)
    drain = next(option for option, _ in advice.table if option.id == "close_drain")
    assert mended_chance(belief, drain) < 0.5
    look = before_the_call(replace(advice, option=drain), belief)
    assert look.option.kind in (CHECK, WATCH)
    telling = [
        least
        for option, least in advice.table
        if option.kind in (CHECK, WATCH) and option.minutes + advice.minutes - least > 0.25
    ]
    assert look.minutes == min(telling)
    seen = Belief(cases).update_check("walk_round", "drain_open")
    assert mended_chance(seen, drain) >= 0.5
    assert before_the_call(replace(advice, option=drain), seen).option == drain


def test_to_let_the_hose_empty_costs_nothing() -> None:
    def log(*acts: tuple[str, float]) -> SimpleNamespace:
        events = ({"act": act, "accepted": True, "result": {"minutes": minutes}} for act, minutes in acts)
        return SimpleNamespace(log=tuple(events))

    start, stop = ("start_engine", 0.0), ("stop_engine", 0.0)
    assert waited(log(start, stop, ("wait", 0.75), start)) == 0.0
    assert waited(log(start, stop, ("wait", 1.0), ("wait", 1.0), start)) == pytest.approx(1.25, abs=1e-9)
    assert waited(log(("wait", 0.5), start)) == pytest.approx(0.5, abs=1e-9)  # nothing to empty yet
    assert waited(log(start, stop, ("wait", 3.0))) == pytest.approx(3.0, abs=1e-9)


def test_what_makes_a_look_safe_is_not_charged_while_the_engine_runs() -> None:
    def watched(*acts: str) -> float:
        attempt = Attempt(call_out("belt_loose", 0.5), MemoryStore(), mode="practice", seed=3)
        attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
        for act in ("put_on_ppe", "secure_discharge", "start_engine"):
            attempt.act(act)
        attempt.see(90.0)
        for act in acts:
            attempt.act(act)
        attempt.act("stop_engine")
        story = story_of(attempt.state)
        trail = follow(story, hypothesis_set(*story.sound))
        return next(step.minutes for step in trail.steps if step.option.kind == "watch")

    assert watched("guard_edge", "call_second_person") == pytest.approx(watched(), abs=1e-6)


def test_who_reads_on_while_it_pumps_loses_nothing_and_job_done_is_pressed_before_the_stop() -> None:
    attempt = Attempt(call_out("sound", 0.0), MemoryStore(), mode="practice", seed=3)
    make_ready_to_start(attempt)
    attempt.act("check", {"check": "walk_round"})
    attempt.act("start_engine")
    while attempt.shown < 400.0:
        attempt.see(min(attempt.shown + 9.0, 400.0))
    attempt.act("stop_engine")
    attempt.act("check", {"check": "walk_round"})
    attempt.act("give_up")
    marked = marked_attempt(attempt)[2]
    watch, again = marked.judged[1:]
    assert watch.lost == 0.0
    assert again.lost > 0.0
    said = [item.sentence for part in marked.sheet.parts for item in part.evidence]
    assert any("Job done” is pressed while it pumps" in one for one in said)
    assert not any("Better then" in one for one in said)
