"""Each safety rule both ways: done wrong it is refused or ends the attempt, with its reason, and is marked."""

from __future__ import annotations

from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.evidence import story_of
from simulator.marking.safety_gate import mark_safety
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.attempt.conftest import Call, look_round, make_ready_to_start, markers


def on_rig(rig: str, *faults: Any, air: float = 20.0) -> Attempt:
    site = SiteChoice(name="Teal Pond", lift_m=3.0, submergence_m=1.6, air_temperature_c=air)
    scenario = Scenario(
        title="A call",
        brief="It will not draw.",
        rig=rig,
        site=site,
        faults=tuple(choose_fault(*f) for f in faults),
    )
    return Attempt(scenario, MemoryStore(), seed=5)


def in_order(attempt: Attempt, action: str, **args: Any) -> None:
    """Do all that an act waits for, then the act."""
    make_ready(attempt, Step(action, args, "", ()))
    reply = attempt.act(action, args)
    assert reply.accepted, reply.sentence


@pytest.mark.parametrize(
    "check", ["belt", "nrv_lid", "screen_out", "nozzle_out", "seal_look", "impeller_look"]
)
def test_a_guard_or_lid_off_a_running_engine_ends_the_call_out(check: str) -> None:
    attempt = on_rig("osier", ("drain_open", 1.0, ""))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("call", markers(drain_open=10))
    reply = attempt.act("check", {"check": check})
    assert reply.breach == "grave"
    assert attempt.yard.ended == "stopped_for_safety"


def test_a_light_hose_needs_no_second_person_away_from_the_water() -> None:
    for rig, two in (("osier", False), ("alder", True)):
        attempt = on_rig(rig, ("joint_ring", 0.009, "joint:1"))
        in_order(attempt, "remedy", remedy="renew_gasket")
        assert attempt.yard.second_person == two
    attempt = on_rig("osier", ("joint_ring", 0.009, "joint:1"))
    in_order(attempt, "remedy", remedy="replace_hose")  # its end lies in the water
    assert attempt.yard.second_person


def test_a_long_run_against_a_shut_line_is_marked_once() -> None:
    attempt = on_rig("osier", ("discharge_shut", 1.0, ""))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 590})
    assert not any(event["breach"] for event in attempt.log)
    replies = [attempt.act("wait", {"seconds": 60}) for _ in range(3)]
    assert [reply.breach for reply in replies].count("minor") == 1
    assert text("attempt.warnings.long_shut_run") in replies[0].sentence
    assert any("no way out" in item.sentence for item in mark_safety(story_of(attempt.state)).evidence)


def finished(attempt: Attempt, answer: str | None) -> Attempt:
    make_ready_to_start(attempt)
    look_round(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 60})
    attempt.act("call", markers(sound=10))
    reply = attempt.act("finish")
    if attempt.case.sound_site.air_temperature < 273.15:
        assert not reply.accepted
        assert attempt.yard.question == "frost_end"
        attempt.act("predict", {"question": "frost_end", "answer": answer})
        reply = attempt.act("finish")
    assert reply.accepted
    return attempt


@pytest.mark.parametrize(
    ("answer", "breach"),
    [
        ("open_all", ""),
        ("open_both", "minor"),
        ("casing_only", "minor"),
        ("leave_shut", "minor"),
        (None, "minor"),
    ],
)
def test_on_a_freezing_night_the_drains_must_be_opened(answer: str | None, breach: str) -> None:
    attempt = finished(on_rig("osier", air=-4.0), answer)
    assert attempt.log[-1]["breach"] == breach
    points = mark_safety(story_of(attempt.state)).points
    assert points is not None
    assert (points < 0.0) == bool(breach)
    again = Attempt.resume(attempt.store, attempt.id)
    assert [event["breach"] for event in again.log] == [event["breach"] for event in attempt.log]


def test_on_a_mild_night_nobody_asks() -> None:
    attempt = finished(on_rig("osier"), None)
    assert attempt.log[-1]["breach"] == ""
    assert "frost_end" not in attempt.yard.answers


def test_the_cock_is_there_only_where_the_rig_has_one(call: Call) -> None:
    plain = call(("drain_open", 1.0))
    plain.act("put_on_ppe")
    assert not plain.act("shut_cock").accepted
    assert "shut_cock" not in {view.action for view in plain.available_actions()}
    attempt = on_rig("alder")
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 15})
    assert attempt.act("shut_cock").accepted
    attempt.act("wait", {"seconds": 20})
    assert attempt.timeline is not None
    drawn = attempt.timeline.computed_history().entrained_flow
    assert abs(drawn[250:340]).max() < 1e-6 < drawn[100]
    assert attempt.act("reopen_cock").accepted
    attempt.act("wait", {"seconds": 60})
    assert attempt.proven()


def test_a_prime_that_was_lost_must_hold_for_longer() -> None:
    attempt = on_rig("osier", ("strainer_clogs", 0.998, ""))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 50})
    assert attempt.proven()  # nobody has seen it fail yet
    attempt.act("wait", {"seconds": 70})
    assert not attempt.proven()
    attempt.act("stop_engine")
    attempt.act("wait", {"seconds": 30})
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 50})
    assert not attempt.proven()
