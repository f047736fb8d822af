"""A call played at the service at a fast clock: what time alone brings reaches the page, whatever was lost."""

from __future__ import annotations

import json
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.timeline import TICK
from simulator.classroom.line import Refused
from simulator.panels.exercise import elsewhere
from simulator.panels.exercise.elsewhere import PlayedElsewhere
from simulator.panels.exercise.panel import ExercisePanel
from simulator.sealed.played_calls import PlayedCalls
from tests.panels.exercise.conftest import Desk, call_out

FRAME = 0.1  # [s] between two requests of a page whose clock runs fast


class Straight:
    """A line straight to the played call that counts its questions, and refuses those it is told to."""

    def __init__(self) -> None:
        self.played = PlayedCalls(lambda attempt: None)
        self.played_call = self.played.hold(Attempt(call_out(), MemoryStore(), learner="Ash", seed=7), "Ash")
        self.asked, self.refusing = 0, False

    def ask(self, method: str, path: str, body: str = "") -> dict[str, Any]:
        self.asked += 1
        if self.refusing:
            raise Refused("too much at once", "calls", 429, 1.0)
        told, act = json.loads(body or "{}"), path.rpartition("/")[2]
        if method == "GET":
            return self.played.state(self.played_call, "metric")
        return getattr(self.played, act)(self.played_call, told)


class Played:
    """A page beside it, with a clock of its own."""

    def __init__(self) -> None:
        self.line, self.now = Straight(), 100.0
        state = self.line.played.state(self.line.played_call, "metric")
        there = PlayedElsewhere(self.line, state, "metric", lambda: self.now)  # type: ignore[arg-type]
        self.desk = Desk(ExercisePanel(there, debriefer=None)).listen()
        self.shown = 0.0
        self.act("predict", {"question": "sound_prime_time", "answer": 40})
        for action in ("put_on_ppe", "secure_discharge", "start_engine"):
            assert self.act(action)["accepted"], action

    @property
    def page(self) -> dict[str, Any]:
        return self.desk.panel.page

    def act(self, action: str, args: dict[str, Any] | None = None) -> dict[str, Any]:
        message = {"kind": "act", "id": f"{action} {self.now}", "run": self.desk.run, "shown": self.shown}
        said = self.desk.tell({**message, "action": action, "args": args or {}})
        return next(content for kind, content, _ in said if kind == "ack")

    def need(self, rate: float, until: float) -> None:
        while self.shown < until:
            self.now += FRAME
            self.shown = min(until, self.shown + FRAME * rate)
            self.desk.tell({"kind": "need", "run": self.desk.run, "from": self.shown, "shown": self.shown})

    def tell(self, waited: float) -> None:
        self.now += waited
        self.desk.tell({"kind": "shown", "run": self.desk.run, "t": self.shown, "held": False, "rate": 20})


def test_what_time_alone_brings_is_drawn_though_the_clock_is_told_only_with_requests_for_samples() -> None:
    played = Played()
    played.need(20, 150.0)
    assert played.page["run"]["primed"]
    there = played.line.played_call.played.page("metric")["yard_minutes"]
    assert int(played.page["yard_minutes"]) == int(there)


def test_a_page_that_drew_late_is_drawn_at_its_next_word() -> None:
    played = Played()
    played.need(20, 150.0)
    played.tell(0.0)
    assert played.page["run"]["shown"] == pytest.approx(
        played.line.played_call.played.attempt.shown, abs=60.0
    )
    assert not played.desk.panel.played.changed


def test_a_shown_moment_that_came_too_soon_or_was_refused_is_told_again() -> None:
    played = Played()
    timeline = played.line.played_call.played.attempt.timeline
    assert timeline is not None
    primes = (timeline.prime_tick() or 0) * TICK
    played.need(20, primes - 1.0)
    played.shown = primes + 1.0
    played.line.refusing = True
    played.tell(1.0)
    assert not played.page["run"]["primed"]
    played.line.refusing = False
    asked = played.line.asked
    played.tell(0.2)  # the service said: in a second
    assert played.line.asked == asked
    played.tell(1.0)  # the same moment again
    assert played.page["run"]["primed"]
    asked = played.line.asked
    played.tell(5.0)  # heard already: nobody is asked
    assert played.line.asked == asked


def test_requests_for_samples_that_are_refused_wait_and_then_come_no_faster_than_is_let() -> None:
    played = Played()
    played.need(20, 20.0)
    played.line.refusing = True
    played.need(20, 22.0)
    played.line.refusing = False
    asked, began = played.line.asked, played.now
    played.need(20, 26.0)
    assert played.line.asked == asked  # not within the second
    played.need(20, 240.0)
    assert played.page["run"]["primed"]
    assert played.line.asked - asked <= (played.now - began) / elsewhere.LOOK_EVERY + 1


def test_an_act_that_is_refused_as_too_much_at_once_is_done_a_moment_later(monkeypatch) -> None:
    played = Played()
    played.line.refusing = True
    monkeypatch.setattr(elsewhere.time, "sleep", lambda seconds: setattr(played.line, "refusing", False))
    assert played.act("stop_engine")["accepted"]


def test_a_page_that_was_lost_on_its_way_can_be_asked_for_again(monkeypatch) -> None:
    played = Played()
    sent: list[Any] = []
    monkeypatch.setattr(played.desk.panel, "send_state", sent.append)
    played.desk.tell({"kind": "page"})
    assert sent == ["page"]
    said = played.desk.tell({"kind": "need", "run": played.desk.run, "from": 0.0, "shown": 1.0})
    assert [told["serial"] for kind, told, _ in said if kind == "samples"] == [played.page["serial"]]


def test_no_more_engines_are_held_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simulator.sealed.played_calls.HELD", 2)
    played = PlayedCalls(lambda attempt: None)
    first, second, third = (
        Attempt(call_out(), MemoryStore(), learner="Ash", seed=seed) for seed in (1, 2, 3)
    )
    for attempt in (first, second):
        played.hold(attempt, "Ash")
    assert played.held(first.id) is not None  # asked for last, so it stays
    played.hold(third, "Ash")
    assert [played.held(each.id) is not None for each in (first, second, third)] == [True, False, True]
