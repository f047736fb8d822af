"""Markers, predictions, hints, coaching: what is asked and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulator.attempt import AttemptState
from simulator.attempt.calls import suspects
from simulator.attempt.hints import hint_note
from simulator.attempt.notes import Note, note
from simulator.rig.faults import FAULTS
from simulator.texts import text
from tests.attempt.conftest import Call, make_ready_to_start, markers

DRAIN = ("drain_open", 1.0)


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({}, "no_markers"),
        ({"markers": {"drain_open": 9}}, "marker_count"),
        ({"markers": {"drain_open": 11}}, "marker_count"),
        ({"markers": {"drain_open": 5, "gremlins": 5}}, "bad_markers"),
        ({"markers": {"drain_open": 12, "belt_loose": -2}}, "bad_markers"),
        ({"markers": {"drain_open": 9.5, "belt_loose": 0.5}}, "bad_markers"),
        (
            {"markers": {"drain_open": 3, "belt_loose": 3, "nrv_fouled": 2, "joint_ring": 2}},
            "too_many_suspects",
        ),
        ({"markers": {"drain_open": 10}, "places": "everywhere"}, "bad_places"),
    ],
)
def test_a_call_keeps_the_rules(call: Call, given: dict, reason: str) -> None:
    attempt = call(DRAIN)
    reply = attempt.act("call", given)
    assert not reply.accepted
    assert reply.breach == ""
    assert attempt.log[-1]["reason"] == reason
    assert attempt.snapshot().call["stage"] == 1


class Words:
    """A coach whose first step tells a kind of trouble, as that of the pages does."""

    def hint(self, state: AttemptState, step: int) -> Note:
        """A note for hint step 1, 2 or 3."""
        return note("hint", ("marking.hints.air_gets_in", "marking.hints.why", "marking.hints.do")[step - 1])


def test_a_hint_says_more_than_ones_own_call(call: Call) -> None:
    # It cost 3 marks to be told what had been called with all ten markers.
    state = call(DRAIN).state
    state.terms = replace(state.terms, coach=Words())
    assert hint_note(state)[0] == 1
    for name, step in (("belt_loose", 1), ("joint_ring", 2)):
        state.yard.calls.append({"stage": 1, "markers": {name: 7, "strainer_plugged": 3}})
        assert hint_note(state) == (step, Words().hint(state, step))


def test_calls_are_asked_twice_and_locked(call: Call) -> None:
    attempt = call(DRAIN)
    attempt.act("put_on_ppe")
    assert attempt.act("call", markers(drain_open=4, belt_loose=3, nrv_fouled=2, something_else=1)).accepted
    attempt.act("check", {"check": "walk_round"})
    assert attempt.snapshot().call["stage"] == 2
    refused = attempt.act("remedy", {"remedy": "close_drain"})
    assert not refused.accepted
    assert refused.breach == ""
    assert attempt.act("call", {"markers": {"joint_ring": 10}, "places": {"joint_ring": "joint:1"}}).accepted
    assert not attempt.act("call", markers(drain_open=10)).accepted
    locked = attempt.snapshot().call["locked"]
    assert [made["stage"] for made in locked] == [1, 2]
    assert locked[1]["places"] == {"joint_ring": "joint:1"}
    assert not attempt.snapshot().call["open"]


def test_one_call_serves_twice_when_nothing_was_looked_at_between(call: Call) -> None:
    attempt = call(DRAIN)
    attempt.act("put_on_ppe")
    attempt.act("call", markers(drain_open=10))
    assert attempt.act("remedy", {"remedy": "close_drain"}).accepted
    assert [made["carried"] for made in attempt.yard.calls] == [False, True]


def test_no_part_is_opened_before_the_first_call(call: Call) -> None:
    attempt = call(DRAIN)
    for action in ("put_on_ppe", "isolate_and_tag", "vent_hose", "guard_edge", "call_second_person"):
        attempt.act(action)
    reply = attempt.act("check", {"check": "strainer_out"})
    assert not reply.accepted
    assert attempt.log[-1]["result"]["lacking"] == ["first_call"]


def test_suspects_are_the_same_for_every_call_out() -> None:
    listed = [item["id"] for item in suspects()]
    assert listed == [*FAULTS, "something_else"]


def test_the_engine_waits_for_the_first_prediction(call: Call) -> None:
    attempt = call(DRAIN)
    assert attempt.snapshot().phase == "predict"
    for action in ("put_on_ppe", "secure_discharge"):
        attempt.act(action)
    reply = attempt.act("start_engine")
    assert not reply.accepted
    assert reply.breach == ""
    asked = attempt.snapshot().ask
    assert asked["id"] == "sound_prime_time"
    assert asked["number"]["unit"] == "s"
    assert not attempt.act("predict", {"question": "sound_prime_time", "answer": "soon"}).accepted
    assert not attempt.act("predict", {"question": "another", "answer": 5}).accepted
    assert attempt.act("predict", {"question": "sound_prime_time", "answer": 40}).accepted
    assert attempt.snapshot().phase == "work"
    assert attempt.act("start_engine").accepted


def test_the_second_question_follows_the_first_call(call: Call) -> None:
    attempt = call(DRAIN)
    make_ready_to_start(attempt)
    attempt.act("call", markers(nrv_fouled=6, something_else=4))
    asked = attempt.snapshot().ask
    assert asked["id"] == "blank_off_if_right"
    assert text("faults.nrv_fouled.say") in asked["question"]
    little, deep = attempt.case.blank_bounds  # where an answer ends stands in it
    assert f"{little / 1e3:.0f} kPa to {deep / 1e3:.0f} kPa" in asked["options"][2]["label"]
    attempt.act("predict", {"question": asked["id"], "answer": "shallow"})
    assert attempt.log[-1]["result"]["suspect"] == "nrv_fouled"
    assert attempt.snapshot().ask is None


def test_nobody_is_asked_what_a_plate_shows_of_a_fault_that_comes_as_it_runs(call: Call) -> None:
    attempt = call(DRAIN)
    make_ready_to_start(attempt)
    attempt.act("call", markers(flange_works_loose=6, something_else=4))
    assert attempt.snapshot().ask is None


def test_hints_in_three_steps(call: Call) -> None:
    attempt = call(DRAIN)
    said = [attempt.act("ask_hint") for _ in range(4)]
    assert [event["result"]["step"] for event in attempt.log[-4:]] == [1, 2, 3, 3]
    assert said[0].sentence.endswith("?")
    assert said[2].sentence.startswith("Do this next")
    attempt.act("put_on_ppe")
    attempt.act("ask_hint")
    assert attempt.log[-1]["result"]["step"] == 1
    assert attempt.snapshot().hint["given"] == 5


def test_assessment_is_silent(call: Call) -> None:
    attempt = call(DRAIN, mode="assessment")
    assert not attempt.act("ask_hint").accepted
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("check", {"check": "gauges"}, shown=9.0)
    shot = attempt.snapshot()
    assert shot.curve["band"] is None
    assert not [note for note in shot.notes if note["kind"] in ("ask", "hint")]
    assert not shot.hint["allowed"]


def test_guided_work_shows_the_band_and_asks(call: Call) -> None:
    attempt = call(DRAIN, mode="guided")
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("check", {"check": "gauges"}, shown=9.0)
    shot = attempt.snapshot()
    band = shot.curve["band"]
    assert len(band) > 10
    assert all(low <= high for _, low, high in band)
    sound = attempt.case.sound
    assert band[-1][0] > attempt.case.sound_prime_time + 15.0  # the pull-up after the prime is in it too
    for time, low, high in band:
        assert low - 1.0 <= sound.atmosphere - sound.value("suction_pressure", time) <= high + 1.0
    asked = [note["text"] for note in shot.notes if note["kind"] == "ask"]
    assert any("good rig" in words for words in asked)
    assert any(words.startswith("Ask yourself") for words in asked)


def test_a_coach_may_be_handed_in(call: Call) -> None:
    class Terse:
        def hint(self, state: AttemptState, step: int) -> dict:
            return {"kind": "hint", "key": "attempt.hints.halve_it.ask", "fields": {}}

    assert "hose" in call(DRAIN, coach=Terse()).act("ask_hint").sentence


def test_units_are_the_readers(call: Call) -> None:
    attempt = call(DRAIN)
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    attempt.act("check", {"check": "gauges"}, shown=9.0)
    assert "kPa" in attempt.snapshot().notes[-1]["text"]
    assert "inHg" in attempt.snapshot("us").notes[-1]["text"]
    assert "ft" in attempt.snapshot("us").header["rig_line"]
