"""Each safety rule both ways: done wrong it is refused or ends the attempt, with its reason, and is marked."""

from __future__ import annotations

from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.thumb import Step
from simulator.diagnosis.evidence import story_of
from simulator.marking.safety import mark_safety
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.attempt.conftest import Call, make_ready_to_start, markers

FULL_MARKS = 25.0


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


#: An act, the precaution it waits for, the need, and how grave it is to go without.
RULES = [
    ("check", {"check": "strainer_out"}, "put_on_ppe", "ppe", "minor"),
    ("check", {"check": "belt"}, "isolate_and_tag", "isolated", "serious"),
    ("check", {"check": "nozzle_out"}, "bleed_air", "air_bled", "serious"),
    ("check", {"check": "screen_out"}, "bleed_air", "air_bled", "serious"),
    ("check", {"check": "receiver_test"}, "tie_down_air_line", "line_held", "serious"),
    ("check", {"check": "nrv_lid"}, "relieve_line", "line_relieved", "serious"),
    ("check", {"check": "impeller_look"}, "relieve_line", "line_relieved", "serious"),
    ("check", {"check": "joint_apart", "place": "joint:1"}, "vent_hose", "hose_vented", "serious"),
    ("check", {"check": "blank_off"}, "take_rated_plate", "plate_rated", "serious"),
    ("check", {"check": "hold_test"}, "take_rated_plate", "plate_rated", "serious"),
    ("check", {"check": "capped_hose"}, "take_rated_plate", "plate_rated", "serious"),
    ("check", {"check": "dip_water"}, "guard_edge", "edge_safe", "serious"),
    ("remedy", {"remedy": "lower_strainer"}, "guard_edge", "edge_safe", "serious"),
    ("remedy", {"remedy": "replace_hose"}, "call_second_person", "second_person", "minor"),
    (
        "check",
        {"check": "light_through", "place": "length:1"},
        "call_second_person",
        "second_person",
        "minor",
    ),
    ("start_engine", {}, "secure_discharge", "discharge_secured", "serious"),
]


@pytest.mark.parametrize(("action", "args", "leave_out", "need", "grade"), RULES)
def test_without_its_precaution_it_is_refused_and_marked(
    action: str, args: dict[str, Any], leave_out: str, need: str, grade: str
) -> None:
    attempt = on_rig("alder", ("screen_plugged", 0.985, ""))
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    for precaution in (
        "put_on_ppe", "secure_discharge", "isolate_and_tag", "bleed_air", "relieve_line", "vent_hose",
        "take_rated_plate", "guard_edge", "call_second_person", "tie_down_air_line",
    ):  # fmt: skip
        if precaution != leave_out:
            assert attempt.act(precaution).accepted
    if {"blank_off", "hold_test", "capped_hose", "receiver_test"} & {
        args.get("check")
    } or action == "start_engine":
        attempt.act("untag_and_close_up")
    attempt.act("call", markers(screen_plugged=10))
    attempt.act("call", markers(screen_plugged=10))
    reply = attempt.act(action, args)
    assert not reply.accepted
    assert reply.breach == grade
    assert text(f"attempt.needs.{need}") in reply.sentence
    safety = mark_safety(story_of(attempt))
    assert safety.points is not None
    assert safety.points < FULL_MARKS


@pytest.mark.parametrize(("action", "args"), [(a, b) for a, b, *_ in RULES])
def test_with_all_its_precautions_it_is_done_and_costs_nothing(action: str, args: dict[str, Any]) -> None:
    attempt = on_rig("alder", ("screen_plugged", 0.985, ""))
    in_order(attempt, action, **args)
    assert not any(event["breach"] for event in attempt.log)
    assert mark_safety(story_of(attempt)).points == FULL_MARKS


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


def test_a_light_hose_needs_no_second_person() -> None:
    attempt = on_rig("osier", ("joint_ring", 0.009, "joint:1"))
    in_order(attempt, "remedy", remedy="replace_hose")
    assert not attempt.yard.second_person


def test_a_long_run_against_a_shut_line_is_marked_once() -> None:
    attempt = on_rig("osier", ("discharge_shut", 1.0, ""))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 590})
    assert not any(event["breach"] for event in attempt.log)
    replies = [attempt.act("wait", {"seconds": 60}) for _ in range(3)]
    assert [reply.breach for reply in replies].count("minor") == 1
    assert text("attempt.warnings.long_shut_run") in replies[0].sentence
    assert any("no way out" in item.sentence for item in mark_safety(story_of(attempt)).evidence)


def finished(attempt: Attempt, answer: str | None) -> Attempt:
    make_ready_to_start(attempt)
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
    [("open_both", ""), ("casing_only", "minor"), ("leave_shut", "minor"), (None, "minor")],
)
def test_on_a_freezing_night_the_drains_must_be_opened(answer: str | None, breach: str) -> None:
    attempt = finished(on_rig("osier", air=-4.0), answer)
    assert attempt.log[-1]["breach"] == breach
    points = mark_safety(story_of(attempt)).points
    assert points is not None
    assert (points < FULL_MARKS) == bool(breach)
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
