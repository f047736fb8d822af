"""Killed anywhere: what was stored replays to the same bytes."""

from __future__ import annotations

import json
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import play
from simulator.errors import InputError
from tests.attempt.conftest import Call, make_ready_to_start, markers, scenario_with


def page(attempt: Attempt) -> str:
    data = attempt.snapshot().as_dict()
    samples = attempt.samples(0.0, 1e4)
    return json.dumps([data, samples.start, samples.data.tobytes().hex()], sort_keys=True)


class Recording(MemoryStore):
    """Remembers nothing but what a disk would, and can be cut off after any event."""

    def cut(self, attempt_id: str, count: int) -> MemoryStore:
        store = MemoryStore()
        store.create_attempt(self.attempt_record(attempt_id), attempt_id)
        for event in self.events(attempt_id)[:count]:
            store.append_event(attempt_id, event["seq"], event, event["click_id"])
        return store


def test_resume_after_every_event() -> None:
    store = Recording()
    attempt = Attempt(scenario_with(("joint_ring", 0.008, "joint:1")), store, seed=5)
    pages = [page(attempt)]
    acts: list[tuple[str, dict[str, Any], float | None]] = [
        ("check", {"check": "walk_round"}, None),
        ("put_on_ppe", {}, None),
        ("secure_discharge", {}, None),
        ("predict", {"question": "sound_prime_time", "answer": 45}, None),
        ("start_engine", {"speed": "rated"}, None),
        ("check", {"check": "exhaust_stream"}, 6.25),
        ("set_speed", {"speed": "slow"}, 40.0),
        ("set_speed", {"speed": "rated"}, 44.04),
        ("check", {"check": "gauges"}, 50.0),
        ("call", markers(joint_ring=6, nrv_fouled=2, something_else=2), None),
        ("check", {"check": "joint_apart", "place": "joint:1"}, 55.0),
        ("stop_engine", {}, 58.0),
        ("isolate_and_tag", {}, 59.0),
        ("vent_hose", {}, 60.0),
        ("check", {"check": "joint_apart", "place": "joint:1"}, None),
        ("ask_hint", {}, None),
        ("call", markers(joint_ring=10), None),
        ("remedy", {"remedy": "renew_joint_ring", "place": "joint:1"}, None),
        ("untag_and_close_up", {}, None),
        ("start_engine", {"speed": "rated"}, None),
        ("wait", {"seconds": 60.0}, None),
        ("finish", {}, None),
    ]
    for number, (action, args, shown) in enumerate(acts):
        attempt.act(action, args, f"click-{number}", shown)
        pages.append(page(attempt))
    assert attempt.yard.ended == "finished"
    for count, wanted in enumerate(pages, start=1):
        again = Attempt.resume(store.cut(attempt.id, count), attempt.id)
        assert page(again) == wanted, f"after {count} events"


def test_resume_at_the_same_second(call: Call) -> None:
    store = MemoryStore()
    attempt = call(("drain_open", 0.4), store=store)
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.see(4.0)
    attempt.see(8.37)
    again = Attempt.resume(store, attempt.id)
    assert again.shown == attempt.shown == 8.4
    assert page(again) == page(attempt)
    # and both go on alike
    for one in (attempt, again):
        one.store = MemoryStore()
        one.store.create_attempt({}, one.id)
        for event in one.log:
            one.store.append_event(one.id, event["seq"], event)
        one.act("check", {"check": "gauges"}, "x", 12.0)
    assert page(again) == page(attempt)


def test_repeated_click_after_a_kill_acts_once(call: Call) -> None:
    store = MemoryStore()
    attempt = call(("drain_open", 0.4), store=store)
    first = attempt.act("put_on_ppe", {}, "c1")
    again = Attempt.resume(store, attempt.id)
    assert again.act("put_on_ppe", {}, "c1") == first
    assert len(store.events(attempt.id)) == 2


class Failing(MemoryStore):
    """A store whose disk is full when told so."""

    full = False

    def append_event(
        self, attempt_id: str, seq: int, event: dict[str, Any], click_id: str | None = None
    ) -> None:
        if self.full:
            raise OSError("no space left")
        super().append_event(attempt_id, seq, event, click_id)


def test_what_could_not_be_stored_has_not_happened(call: Call) -> None:
    store = Failing()
    attempt = call(("drain_open", 0.4), store=store)
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.see(5.0)
    before = page(attempt)
    store.full = True
    with pytest.raises(OSError, match="space"):
        attempt.act("check", {"check": "exhaust_stream"}, "lost", 5.0)
    assert page(attempt) == before
    store.full = False
    assert attempt.act("check", {"check": "exhaust_stream"}, "lost", 5.0).accepted


def test_a_second_writer_catches_up_first(call: Call) -> None:
    store = MemoryStore()
    one = call(("drain_open", 0.4), store=store)
    other = Attempt.resume(store, one.id)
    one.act("put_on_ppe", click_id="a")
    assert other.act("secure_discharge", click_id="b").accepted
    assert [event["act"] for event in other.log] == ["begin", "put_on_ppe", "secure_discharge"]
    one.act("put_on_ppe", click_id="a")  # that click was done; nothing comes twice
    assert one.act("start_engine", click_id="c").accepted is other.act("start_engine", click_id="c").accepted
    assert [event["seq"] for event in store.events(one.id)] == list(range(4))
    assert other.log == store.events(one.id)


def test_a_log_that_does_not_replay_is_named(call: Call) -> None:
    store = Recording()
    attempt = call(("drain_open", 1.0), store=store)
    attempt.act("put_on_ppe")
    attempt.act("check", {"check": "walk_round"})
    forged = MemoryStore()
    forged.create_attempt(store.attempt_record(attempt.id), attempt.id)
    for event in store.events(attempt.id):
        if event["act"] == "check":
            event["result"]["outcome"] = "strainer_uncovered"
        forged.append_event(attempt.id, event["seq"], event)
    with pytest.raises(InputError, match="does not replay"):
        Attempt.resume(forged, attempt.id)


def test_a_log_from_another_processor_replays(call: Call) -> None:
    store = Recording()
    attempt = call(("drain_open", 0.4), store=store)
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("check", {"check": "gauges"}, shown=9.0)
    moved = MemoryStore()
    moved.create_attempt(store.attempt_record(attempt.id), attempt.id)
    for event in store.events(attempt.id):
        for note in event["notes"]:
            for field in note["fields"].values():
                if isinstance(field, dict) and "si" in field:
                    field["si"] *= 1.0 + 1e-9
        moved.append_event(attempt.id, event["seq"], event)
    assert Attempt.resume(moved, attempt.id).snapshot().notes == attempt.snapshot().notes


def test_unknown_attempt() -> None:
    with pytest.raises(InputError, match="no attempt"):
        Attempt.resume(MemoryStore(), "nobody")


@pytest.mark.full
def test_a_whole_expert_call_out_replays() -> None:
    for fault in (("nrv_fouled", 40e-6), ("liner_collapsed", 9e3), ("belt_loose", 0.8)):
        store = MemoryStore()
        attempt = Attempt(scenario_with(fault), store, seed=8)
        play(attempt)
        assert page(Attempt.resume(store, attempt.id)) == page(attempt)
