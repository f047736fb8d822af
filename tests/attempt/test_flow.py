"""A whole call-out by hand: what is refused and why, what is done, what proves it."""

from __future__ import annotations

import json
from typing import Any

import pytest

from simulator.attempt import Attempt
from simulator.errors import InputError, RefusedAct
from simulator.instruments.checks import CHECKS, check_places
from simulator.rig.presets import load_rig
from simulator.rig.remedies import REMEDIES
from tests.attempt.conftest import Call, make_ready_to_start, markers

DRAIN = ("drain_open", 1.0)
SCREEN = ("screen_plugged", 0.985)


def start(attempt: Attempt) -> None:
    make_ready_to_start(attempt)
    assert attempt.act("start_engine", {"speed": "rated"}).accepted


def test_a_lid_off_a_running_engine_ends_the_call_out(call: Call) -> None:
    attempt = call(SCREEN)
    start(attempt)
    assert attempt.act("wait", {"seconds": 70}).accepted
    assert attempt.act("check", {"check": "gauges"}).accepted
    assert not attempt.act("finish").accepted  # no call yet
    assert attempt.act("call", markers(screen_plugged=7, something_else=3)).accepted
    refused = attempt.act("check", {"check": "screen_out"})
    assert not refused.accepted
    assert refused.breach == "grave"
    assert attempt.yard.ended == "stopped_for_safety"
    assert attempt.snapshot().phase == "debrief"
    assert not attempt.act("stop_engine").accepted
    assert attempt.snapshot().notes[-1]["kind"] == "end"


def test_a_call_out_from_the_call_to_the_proof(call: Call) -> None:
    attempt = call(SCREEN)
    start(attempt)
    attempt.act("wait", {"seconds": 70})
    attempt.act("check", {"check": "gauges"})
    attempt.act("call", markers(screen_plugged=7, something_else=3))
    for action in ("stop_engine", "isolate_and_tag", "bleed_air", "vent_hose"):
        assert attempt.act(action).accepted
    seen = attempt.act("check", {"check": "screen_out"})
    assert seen.accepted
    assert attempt.log[-1]["result"]["outcome"] == "plugged"
    assert not attempt.act("remedy", {"remedy": "clean_screen"}).accepted  # a look since the first call
    assert attempt.act("call", markers(screen_plugged=10)).accepted
    assert attempt.act("remedy", {"remedy": "clean_screen"}).accepted
    assert not attempt.act("finish").accepted
    assert attempt.act("untag_and_close_up").accepted
    assert attempt.act("start_engine").accepted
    attempt.act("wait", {"seconds": 70})
    assert attempt.snapshot().run["primed"]
    assert attempt.act("finish").accepted
    assert attempt.yard.ended == "finished"
    assert attempt.truth()[0]["fault"] == "screen_plugged"
    assert not attempt.act("put_on_ppe").accepted
    breaches = [event["breach"] for event in attempt.log if event["breach"]]
    assert breaches == []


def test_nothing_is_known_before_the_end(call: Call) -> None:
    attempt = call(DRAIN)
    with pytest.raises(RefusedAct):
        attempt.truth()
    assert attempt.snapshot().truth is None
    attempt.act("give_up")
    assert attempt.snapshot().truth == [{"fault": "drain_open", "opening_percent": 100.0}]


def test_an_unsafe_act_is_refused_marked_and_explained(call: Call) -> None:
    attempt = call(DRAIN)
    start(attempt)
    attempt.act("call", markers(drain_open=6, something_else=4))
    attempt.act("stop_engine")
    reply = attempt.act("check", {"check": "nozzle_out"})
    assert not reply.accepted
    assert reply.breach == "serious"
    assert "tagged" in reply.sentence
    assert "bled" in reply.sentence
    event = attempt.log[-1]
    assert event["breach"] == "serious"
    assert event["result"]["lacking"] == ["isolated", "air_bled"]
    assert not attempt.yard.ended
    attempt.act("isolate_and_tag")
    assert attempt.act("check", {"check": "nozzle_out"}).breach == "serious"  # the air is not bled


@pytest.mark.parametrize(
    ("acts", "last", "grade"),
    [
        ([], ("check", {"check": "walk_round"}), "minor"),
        ([("put_on_ppe", {})], ("start_engine", {}), "serious"),
        (
            [("put_on_ppe", {}), ("secure_discharge", {}), ("isolate_and_tag", {})],
            ("start_engine", {}),
            "grave",
        ),
        ([("put_on_ppe", {})], ("check", {"check": "exhaust_stream"}), ""),
        ([("put_on_ppe", {})], ("check", {"check": "joint_apart", "place": "joint:0"}), "serious"),
    ],
)
def test_how_grave_it_is(call: Call, acts: list[tuple[str, Any]], last: tuple[str, Any], grade: str) -> None:
    attempt = call(DRAIN)
    attempt.act("predict", {"question": "sound_prime_time", "answer": None})
    for action, args in acts:
        assert attempt.act(action, args).accepted
    reply = attempt.act(*last)
    assert not reply.accepted
    assert reply.breach == grade
    assert attempt.yard.ended == ("stopped_for_safety" if grade == "grave" else "")


def test_what_waits_says_so_beforehand(call: Call) -> None:
    attempt = call(DRAIN)
    for view in attempt.available_actions():
        if view.waits:
            assert all(sentence.endswith(".") for sentence in view.waits)
        else:
            assert view.risk == ""
    start(attempt)
    lid = next(view for view in attempt.available_actions() if view.id == "check:nrv_lid:nrv")
    assert lid.risk == "grave"
    assert any("tagged" in sentence for sentence in lid.waits)
    refused = attempt.act(lid.action, lid.args)
    assert refused.breach == lid.risk


def test_every_act_on_offer_says_truly_whether_it_waits(call: Call) -> None:
    # What waits for nothing is accepted and what waits is refused: asked of copies of one attempt.
    for prepare in ([], ["put_on_ppe"], ["put_on_ppe", "secure_discharge", "isolate_and_tag", "vent_hose"]):
        for view in call(DRAIN).available_actions():
            attempt = call(DRAIN)
            for action in prepare:
                attempt.act(action)
            now = next(v for v in attempt.available_actions() if v.id == view.id)
            if now.action in ("finish",) or now.done:
                continue
            assert attempt.act(now.action, now.args).accepted == (not now.waits), (prepare, now.id)


def test_all_checks_and_remedies_are_on_offer(call: Call) -> None:
    offered = {(v.args.get("check"), v.args.get("remedy")) for v in call(DRAIN).available_actions()}
    assert {c for c, _ in offered} >= {
        name for name, item in CHECKS.items() if check_places(item, load_rig())
    }
    assert {r for _, r in offered} >= {name for name, item in REMEDIES.items() if item.places(load_rig())}
    few = call(DRAIN, allowed_checks=("gauges", "belt"))
    assert {v.args["check"] for v in few.available_actions() if v.action == "check"} == {"gauges", "belt"}
    with pytest.raises(InputError, match="not part"):
        few.act("check", {"check": "walk_round"})


def test_closing_the_drain_while_it_runs(call: Call) -> None:
    attempt = call(DRAIN)
    start(attempt)
    attempt.act("wait", {"seconds": 30})
    before = attempt.snapshot().run
    attempt.act("call", markers(drain_open=10))
    assert attempt.act("remedy", {"remedy": "close_drain"}, shown=34.0).accepted
    after = attempt.snapshot().run
    assert after["id"] == before["id"]
    assert after["changed_from"] == 34.0
    assert after["shown"] == 34.0 + 60.0  # its minute went by while the engine ran
    assert attempt.log[-1]["result"]["finding"] == "was_open"
    history = attempt.timeline.computed_history()
    assert float(history.drain_air[330]) > 0.0
    assert float(history.drain_air[345]) == 0.0
    attempt.act("wait", {"seconds": 20})
    assert attempt.snapshot().run["primed"]
    # it primed too late after its start to be proof; a fresh start is
    assert not attempt.act("finish").accepted
    assert attempt.act("stop_engine").accepted
    attempt.act("wait", {"seconds": 45})  # the hose empties
    assert attempt.act("start_engine").accepted
    attempt.act("wait", {"seconds": 60})
    assert attempt.act("finish").accepted


def test_a_restart_keeps_the_water_in_the_casing(call: Call) -> None:
    attempt = call()
    start(attempt)
    attempt.act("wait", {"seconds": 90})
    first = attempt.timeline.computed_history().prime_time
    attempt.act("stop_engine")
    attempt.act("wait", {"seconds": 240})
    attempt.act("start_engine")
    fill = float(attempt.timeline.computed_history().casing_fill[0])
    lip = attempt.case.rig.casing.lip_fill
    assert 0.5 * lip < fill <= 1.0
    attempt.act("wait", {"seconds": 90})
    assert attempt.timeline.computed_history().prime_time < first - 1.0


def test_a_blank_off_test_leaves_the_casing_empty(call: Call) -> None:
    attempt = call()
    start(attempt)
    attempt.act("wait", {"seconds": 90})
    attempt.act("stop_engine")
    for action in ("isolate_and_tag", "vent_hose", "take_rated_plate"):
        attempt.act(action)
    attempt.act("call", markers(sound=10))
    assert attempt.act("check", {"check": "blank_off"}).accepted
    assert attempt.snapshot().curve["earlier"][-1]["points"][60][1] > 60e3
    attempt.act("untag_and_close_up")
    attempt.act("start_engine")
    assert float(attempt.timeline.computed_history().casing_fill[0]) == 0.0


def test_log_is_plain_data(call: Call) -> None:
    attempt = call(DRAIN)
    start(attempt)
    attempt.act("check", {"check": "gauges"}, shown=5.0)
    assert json.loads(json.dumps(attempt.log)) == attempt.log
    assert [event["seq"] for event in attempt.log] == list(range(len(attempt.log)))
    assert json.loads(json.dumps(attempt.snapshot().as_dict())) == attempt.snapshot().as_dict()


def test_unknown_acts_touch_nothing(call: Call) -> None:
    attempt = call(DRAIN)
    length = len(attempt.log)
    for action, args in (
        ("dance", {}),
        ("check", {"check": "magic"}),
        ("check", {"check": "joint_apart", "place": "joint:9"}),
        ("remedy", {"remedy": "pray"}),
        ("remedy", {"remedy": "renew_joint_ring"}),
    ):
        with pytest.raises(InputError):
            attempt.act(action, args)
    start(attempt)
    with pytest.raises(InputError):
        attempt.act("set_speed", {"speed": "warp"})
    with pytest.raises(InputError):
        attempt.act("wait", {"seconds": -1})
    assert len(attempt.log) == length + 4


def test_long_dry_running_is_marked_once(call: Call) -> None:
    attempt = call(DRAIN)
    start(attempt)
    attempt.act("wait", {"seconds": 650})
    attempt.act("wait", {"seconds": 60})
    marked = [event["breach"] for event in attempt.log if event["breach"]]
    assert marked == ["minor"]


def test_lower_speed_draws_less(call: Call) -> None:
    fast, slow = call(), call()
    start(fast)
    make_ready_to_start(slow)
    slow.act("start_engine", {"speed": "slow"})
    assert float(slow.timeline.computed_needle("motive")[150]) < 0.9 * float(
        fast.timeline.computed_needle("motive")[150]
    )
    slow.act("set_speed", {"speed": "rated"}, shown=8.0)
    assert slow.timeline.controls[-1].time == 8.0


def test_an_act_whose_reply_cannot_be_worded_is_done_once(
    call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A message missing from the catalogue is no sign that another window went on."""
    attempt = call()
    known = len(attempt.log)

    def without_words(*_: Any) -> Any:
        raise InputError("the message 'attempt.did.put_on_ppe' is not in the catalogue", "texts/en")

    monkeypatch.setattr("simulator.attempt.attempt.reply_of", without_words)
    with pytest.raises(InputError, match="not in the catalogue"):
        attempt.act("put_on_ppe")
    assert len(attempt.log) == known + 1


def test_where_the_inside_is_drawn_the_look_round_overlooks_nothing_drawn(call: Call) -> None:
    for seed in range(60):  # one in fourteen would be overlooked
        attempt = call(DRAIN, seed=seed, see_through=True)
        attempt.act("put_on_ppe")
        attempt.act("check", {"check": "walk_round"})
        assert attempt.log[-1]["result"]["outcome"] == "drain_open"
