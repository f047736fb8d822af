"""Rules 9 of the marks: what an old hand would have done as well costs nothing, in vain or not."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.advice import next_best, options
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.look_first import beside_work, confirming
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.diagnosis.words import reason_before
from simulator.instruments.checks import CHECKS
from simulator.marking.found import mark_found
from simulator.marking.safety_gate import mark_safety
from simulator.marking.service import cases_for
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario, SiteChoice, choose_fault
from tests.attempt.conftest import make_ready_to_start
from tests.marking.conftest import belief_of, call_out


def test_work_in_vain_is_charged_unless_an_old_hand_would_have_done_it() -> None:
    attempt = Attempt(call_out("sound", 0.0), MemoryStore(), seed=3)
    make_ready_to_start(attempt)
    attempt.act("call", {"markers": {"drain_open": 10}})
    assert attempt.act("remedy", {"remedy": "close_drain"}).accepted
    seq = attempt.log[-1]["seq"]
    assert attempt.act("start_engine").accepted
    assert attempt.act("wait", {"seconds": 90.0}).accepted
    assert attempt.act("finish").accepted
    story = story_of(attempt.state)
    lines = {wanted: mark_found(story, cases_for(story), wanted).evidence for wanted in ((), (seq,))}
    vain, right = ([one for one in lines[w] if "not_needed" in one.key] for w in ((), (seq,)))
    assert [(one.key, one.points < 0.0) for one in vain] == [("marking.found.not_needed", True)]
    assert [(one.key, one.points) for one in right] == [("marking.found.not_needed_but_right", 0.0)]


def test_a_warning_that_was_pressed_past_is_not_said_to_be_heeded() -> None:
    attempt = Attempt(call_out("sound", 0.0), MemoryStore(), seed=3)
    make_ready_to_start(attempt)
    assert attempt.act("isolate_and_tag").accepted
    assert attempt.act("nearly", {"act": "start_engine", "args": {}}).accepted
    assert attempt.act("start_engine").breach == "grave"
    keys = [one.key for one in mark_safety(story_of(attempt.state)).evidence]
    assert keys == ["marking.safety.grave_why_fails"]


@pytest.mark.parametrize(
    ("fault", "last"), [("motive_gauge_stuck", "swap_motive_gauge"), ("sound", "finish")]
)
def test_a_gauge_that_lies_is_changed_before_a_rig_that_pumps_is_handed_over(fault: str, last: str) -> None:
    attempt = Attempt(call_out(fault, 0.0), MemoryStore(), seed=3)
    make_ready_to_start(attempt)
    assert attempt.act("start_engine").accepted
    assert attempt.act("wait", {"seconds": 90.0}).accepted
    belief, time = belief_of(attempt)
    assert belief.proved
    assert next_best(belief, time=time).option.id == last


@pytest.mark.full
def test_the_strainer_comes_out_before_the_hose_is_changed_on_needles_alone() -> None:
    """The needle is a loose liner's alone; weed dragged on by the stream is no hypothesis. Common practice, no source."""
    place = SiteChoice(lift_m=2.2, submergence_m=1.3, air_temperature_c=6.0, water_temperature_c=14.0)
    faults = (choose_fault("liner_collapsed", 10.1e3),)
    scenario = Scenario(title="A call", brief="It will not draw.", site=place, faults=faults)
    attempt = Attempt(scenario, MemoryStore(), seed=819491041)
    make_ready_to_start(attempt)
    assert attempt.act("start_engine").accepted
    assert attempt.act("wait", {"seconds": 133.0}).accepted
    belief, _ = belief_of(attempt)
    every = options(belief.cases, running=True)
    work = next(one for one in every if one.id == "replace_hose")
    first = confirming(belief, work, every)
    assert first is not None
    assert first.id == "strainer_out"
    # for weed, where the needle leaves no chance of a plugged strainer; else for the strainer itself
    said = reason_before(belief, first, work)
    assert "weed" in said or "strainer plugged" in said
    after = confirming(belief.update_check("strainer_out", "clean"), work, every)
    assert after is not None
    assert after.id != "strainer_out"


@pytest.mark.parametrize(
    ("look", "work", "share"),
    [("joint_apart", "renew_joint_ring", 1.0 / 3.0), ("nrv_lid", "clean_nrv", 0.25)],
)
def test_to_open_a_part_is_half_of_the_work_on_it(look: str, work: str, share: float) -> None:
    place = "joint:1" if CHECKS[look].per_joint else ""
    more = beside_work(
        Option(CHECK, look, place, CHECKS[look].minutes), Option(REMEDY, work, place, REMEDIES[work].minutes)
    )
    assert 0.0 <= more <= share * REMEDIES[work].minutes < CHECKS[look].minutes
