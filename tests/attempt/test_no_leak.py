"""Nothing tells the fault before the answer is in."""

from __future__ import annotations

import json

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt import state as state_module
from simulator.attempt.expert import play
from simulator.attempt.samples import INSIDE, OUTSIDE
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.rig import Rig, Site
from simulator.scenario import Scenario
from tests.attempt.conftest import Call, make_ready_to_start, markers, scenario_with


def everything(attempt: Attempt) -> str:
    samples = attempt.samples(0.0, 1e4)
    return json.dumps(
        [attempt.snapshot().as_dict(), attempt.log, list(samples.channels), samples.data.tobytes().hex()],
        sort_keys=True,
    )


@pytest.mark.parametrize("mode", ["practice", "assessment"])
def test_two_names_for_one_alteration_look_the_same_to_the_byte(
    monkeypatch: pytest.MonkeyPatch, mode: str
) -> None:
    """Scenarios that differ in title and in name, place and size of the fault, but alter the rig alike."""

    def same(scenario: Scenario) -> tuple[Rig, Site]:
        assert scenario.faults
        rig, site = state_module.sound_rig(scenario)
        return FAULTS["joint_ring"].apply(rig, site, 0.008, "joint:1")

    monkeypatch.setattr(state_module, "build", same)
    first = scenario_with(("joint_ring", 0.008, "joint:1"), title="Air in the hose", mode=mode)
    second = scenario_with(("nrv_fouled", 33e-6), title="The ball again", mode=mode)
    pages: list[list[str]] = []
    for scenario in (first, second):
        seen: list[str] = []
        attempt = Attempt(scenario, MemoryStore(), seed=21, attempt_id="one")
        seen.append(everything(attempt))
        make_ready_to_start(attempt)
        attempt.act("check", {"check": "walk_round"})
        attempt.act("start_engine")
        for shown in (4.0, 12.0, 21.0):
            attempt.see(shown)
            seen.append(everything(attempt))
        for look in (
            "exhaust_stream",
            "relief_listen",
            "listen_pump",
            "listen_line",
            "watch_water",
            "tachometer",
        ):
            attempt.act("check", {"check": look})
        attempt.act("check", {"check": "walk_discharge"})
        attempt.act("check", {"check": "gauges"})
        seen.append(everything(attempt))
        if mode == "practice":
            for _ in range(3):
                attempt.act("ask_hint")
        attempt.act("call", markers(nrv_fouled=5, joint_ring=4, something_else=1))
        for action in ("stop_engine", "isolate_and_tag", "vent_hose", "relieve_line", "take_rated_plate"):
            attempt.act(action)
        attempt.act("check", {"check": "nrv_lid"})
        attempt.act("check", {"check": "joint_apart", "place": "joint:1"})
        attempt.act("untag_and_close_up")
        attempt.act("check", {"check": "blank_off"})
        attempt.act("call", markers(joint_ring=10))
        attempt.act("vent_hose")
        attempt.act("remedy", {"remedy": "renew_joint_ring", "place": "joint:1"})
        seen.append(everything(attempt))
        pages.append(seen)
    assert pages[0] == pages[1]


def test_outside_only_sends_only_what_shows_outside(call: Call) -> None:
    attempt = call(("liner_collapsed", 9e3))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.see(8.0)
    for see_through in (None, False, True):  # asking does not help
        assert attempt.samples(0.0, 100.0, see_through).channels == OUTSIDE
    assert attempt.snapshot().rig["liner_at"] is None
    assert attempt.snapshot().rig["drain_open_shown"] is None


def test_see_through_adds_the_inside_in_guided_work_alone(call: Call) -> None:
    attempt = call(("liner_collapsed", 9e3), mode="guided", see_through=True)
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    assert attempt.samples(0.0, 5.0).channels == OUTSIDE + INSIDE
    assert attempt.samples(0.0, 5.0, False).channels == OUTSIDE
    data = dict(zip(OUTSIDE + INSIDE, attempt.samples(0.0, 5.0).data, strict=True))
    assert np.all(np.isnan(data.pop("tachometer_shown")))  # nobody holds one to the shaft
    assert np.all(np.isfinite(list(data.values())))


def test_the_belt_is_drawn_as_it_was_seen(call: Call) -> None:
    """Nobody sees through the guard; after a look, and after the work, the drawing says what was found."""
    attempt = call(("belt_loose", 0.999))
    make_ready_to_start(attempt)
    shown = attempt.snapshot().rig
    assert shown["belt_slack_shown"] is None
    assert "joint_holes_m" not in shown
    sound = call().snapshot().rig
    for name in ("motive_rated_kg_s", "exhaust_rated_kg_s", "atmosphere_pa"):
        assert shown[name] == sound[name] > 0.0, name
    assert attempt.act("call", markers(belt_loose=10)).accepted
    assert attempt.act("isolate_and_tag").accepted
    assert attempt.act("check", {"check": "belt"}).accepted
    assert attempt.snapshot().rig["belt_slack_shown"] == 1.0
    assert attempt.act("call", markers(belt_loose=10)).accepted
    assert attempt.act("remedy", {"remedy": "tighten_belt"}).accepted
    assert attempt.snapshot().rig["belt_slack_shown"] == 1.0  # a belt that is gone cannot be tightened
    assert attempt.act("remedy", {"remedy": "renew_belt"}).accepted
    assert attempt.snapshot().rig["belt_slack_shown"] == 0.0


def test_see_through_draws_holes_and_belt_as_they_are(call: Call) -> None:
    attempt = call(("joint_ring", 0.007, "joint:1"), ("belt_loose", 0.6), mode="guided", see_through=True)
    rig = attempt.snapshot().rig
    assert rig["joint_holes_m"] == [0.0, 0.007, 0.0]
    assert rig["belt_slack_shown"] == 0.6


def test_stream_and_pops_show_only_where_somebody_stands(call: Call) -> None:
    attempt = call(("nozzle_plugged", 0.9))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 20})
    names = list(OUTSIDE)
    before = attempt.samples(0.0, 100.0).data
    assert np.all(before[names.index("relief_sound")] == -1.0)
    attempt.act("check", {"check": "relief_listen"}, shown=25.0)
    heard = attempt.samples(0.0, 100.0).data[names.index("relief_sound")]
    assert np.all(heard[:250] == -1.0)
    assert np.all(heard[250:550] == heard[250])
    assert heard[250] == 2.0  # pops again and again
    assert np.all(heard[550:] == -1.0)


OUTSIDE_LOOKS = {
    "pump_sound": "listen_pump",
    "line_sound": "listen_line",
    "water_seen": "watch_water",
    "tachometer_shown": "tachometer",
}


@pytest.mark.parametrize("channel", OUTSIDE_LOOKS)
def test_what_is_heard_and_seen_shows_only_while_somebody_stands_there(call: Call, channel: str) -> None:
    attempt = call(("engine_slow", 0.7))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 20})
    row = list(OUTSIDE).index(channel)
    nothing = attempt.samples(0.0, 100.0).data[row]
    assert np.all(np.isnan(nothing) | (nothing == -1.0))
    check = OUTSIDE_LOOKS[channel]
    assert attempt.act("check", {"check": check}, shown=25.0).accepted
    data = attempt.samples(0.0, 200.0).data[row]
    there = slice(250, 250 + round(600 * CHECKS[check].minutes))
    assert np.all(np.isfinite(data[there]) & (data[there] >= 0.0))
    away = np.concatenate((data[: there.start], data[there.stop :]))
    assert np.all(np.isnan(away) | (away == -1.0))
    if channel == "tachometer_shown":
        assert np.all(data[there] == 10.0 * np.round(data[there] / 10.0))  # no finer than its figures
        assert 0.65 * 1800.0 < data[there][-1] < 0.75 * 1800.0


def test_no_part_is_drawn_as_it_is_before_somebody_looks() -> None:
    """Whatever is wrong, the picture of a rig that nobody has looked at is the card's."""
    drawn, tried = set(), 0
    rig, site = state_module.sound_rig(scenario_with(rig="reed"))
    for fault in FAULTS.values():
        places = fault.places(rig, site) if fault.size is not None else ()
        if fault.id == "sound" or (fault.size is not None and not places):
            continue
        size = fault.size.middle if fault.size is not None else 0.0
        scenario = scenario_with((fault.id, size, *places[:1]), rig="reed")
        drawn.add(json.dumps(Attempt(scenario, MemoryStore(), seed=3).snapshot().rig, sort_keys=True))
        tried += 1
    assert tried >= 35
    assert len(drawn) == 1


def test_parts_are_drawn_as_they_were_seen_even_where_the_look_was_wrong(call: Call) -> None:
    attempt = call(("hose_humped", 0.8))
    make_ready_to_start(attempt)
    flat = attempt.snapshot().rig
    assert flat["parts"]["lay"] is None
    assert attempt.act("check", {"check": "walk_round"}).accepted
    told = attempt.log[-1]["result"]["outcome"]
    rig = attempt.snapshot().rig
    if told == "hose_humped":
        assert rig["parts"]["lay"] == "humped"
        assert rig["profile"] != flat["profile"]
        assert rig["profile"] != [list(row) for row in attempt.case.site.profile]  # nobody has measured it
    else:
        assert rig["profile"] == flat["profile"]
    attempt.log[-1]["result"]["outcome"] = "cock_shut"  # a slip
    assert attempt.snapshot().rig["parts"]["cock"] == 0.0


def test_no_word_of_the_case_in_the_page(call: Call) -> None:
    for fault in (("drain_open", 0.4), ("nozzle_plugged", 0.9), ("joint_ring", 0.01, "joint:0")):
        attempt = call(fault, title="Nozzle or drain or joint", attempt_id="same")
        assert "Nozzle or drain" not in json.dumps(attempt.snapshot().as_dict())
    pages = {
        json.dumps([a.snapshot().as_dict(), a.log], sort_keys=True)
        for a in (
            call(("drain_open", 0.4), attempt_id="a"),
            call(attempt_id="a"),
            call(("belt_loose", 1.0), attempt_id="a"),
        )
    }
    assert len(pages) == 1  # before anything is looked at, every case looks the same


def test_the_seed_does_not_come_from_the_fault() -> None:
    seeds = {
        Attempt(scenario_with(fault), MemoryStore()).state.terms.seed
        for fault in (("drain_open", 0.4), ("belt_loose", 1.0))
    }
    assert len(seeds) == 1


def test_hints_rest_on_what_was_seen(call: Call) -> None:
    hints = set()
    for fault in (("drain_open", 0.4), ("nozzle_plugged", 0.9), ("strainer_plugged", 0.99)):
        attempt = call(fault, attempt_id="h")
        hints.add(tuple(attempt.act("ask_hint").sentence for _ in range(3)))
    assert len(hints) == 1


def test_the_end_opens_the_case(call: Call) -> None:
    attempt = call(("belt_loose", 0.9))
    play(attempt)
    assert attempt.snapshot().truth == [{"fault": "belt_loose", "slip_percent": 90.0}]


@pytest.mark.parametrize("percent", [52.0, 58.4, 70.0, 82.0])
def test_the_speed_of_an_engine_is_sent_as_an_ear_has_it(call: Call, percent: float) -> None:
    attempt = call(("engine_slow", percent / 100.0))
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("wait", {"seconds": 60})
    samples = attempt.samples(0.0, 60.0)
    speed = samples.data[samples.channels.index("speed")]
    assert set(np.unique(speed).tolist()) <= {0.0, float(np.float32(0.65)), 1.0}
    assert np.isclose(speed[-1], 0.65, atol=1e-6)


def test_what_a_walk_round_calls_in_order_only_looks_so_until_somebody_stands_before_it() -> None:
    attempt = walked_round_in_order()
    parts = attempt.snapshot().rig["parts"]
    assert parts["discharge_valve"] == 1.0
    assert "discharge_valve" not in parts["sure"]
    for act in ("secure_discharge", "isolate_and_tag"):
        assert attempt.act(act).accepted
    reply = attempt.act("check", {"check": "walk_discharge"})
    assert reply.accepted
    parts = attempt.snapshot().rig["parts"]
    assert "discharge_valve" in parts["sure"]


def walked_round_in_order() -> Attempt:
    """An attempt at a call whose valve is shut, which its walk round missed."""
    for seed in range(60):
        scenario = scenario_with(("discharge_shut", 1.0, ""))
        attempt = Attempt(scenario, MemoryStore(), seed=seed)
        attempt.act("put_on_ppe")
        attempt.act("check", {"check": "walk_round"})
        if attempt.log[-1]["result"]["outcome"] == "in_order":
            return attempt
    raise AssertionError("no walk round missed the valve")
