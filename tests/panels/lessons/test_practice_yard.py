"""Lesson 09 without a browser: a call at the learner's level goes on after a new start and is listed when done."""

from __future__ import annotations

import pytest

from simulator.attempt import calls
from simulator.panels.exercise.opening import latest
from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.rig import faults
from simulator.rig.faults import fault_from
from simulator.rig.lazy import RecordTable
from simulator.rig.plain_yaml import Document
from simulator.rig.record_files import record_file
from simulator.scenario import random_calls
from simulator.texts import text


def open_yard(session) -> Practice:
    page = Practice(session)
    page.aim()
    page.calls()
    page.what_next()
    return page


def test_a_call_goes_on_after_a_new_start(new_session) -> None:
    page = open_yard(new_session())
    attempt = page.calls().attempt
    attempt.act("put_on_ppe", {}, "gear")
    again = open_yard(new_session())
    assert again.calls().attempt.id == attempt.id
    assert again.calls().attempt.yard.ppe
    assert not again.calls().attempt.see_through


def test_a_new_learner_begins_with_plain_calls(new_session) -> None:
    page = open_yard(new_session())
    assert page.calls().page["yard"]["level"] == "first"
    assert page.aim().block("plan")["items"]
    # the first call waits until that list is read and the level chosen, after a new start too; the others take the window
    yard = open_yard(new_session()).calls()
    assert (yard.page["notice"], yard.page["yard"]["waits"]) == (text("panel.yard.first_waits"), True)
    first = yard.attempt.id
    level = {"kind": "act", "id": "level", "action": "yard_level", "args": {"level": "usual"}}
    yard._receive(yard, level, [])
    assert yard.attempt.id != first
    assert (yard.page["yard"]["level"], yard.page["yard"]["waits"]) == ("usual", True)
    yard._receive(yard, {"kind": "act", "id": "on", "action": "yard_next", "args": {}}, [])
    assert (yard.page["notice"], yard.page["yard"]["waits"]) == ("", False)


def test_calls_are_listed_with_their_marks(new_session) -> None:
    page = open_yard(new_session())
    assert page.what_next().block("none")
    attempt = page.calls().attempt
    attempt.act("put_on_ppe", {}, "gear")
    page.session.store.save_marks(attempt.id, {"total": 82.0})
    later = open_yard(new_session())
    row = later.what_next().block("log")["rows"][0]["cells"]
    assert row[3] == "82 of 100"
    # two calls from one place are told apart by what it was; nothing is told of one that is not marked yet
    (fault,) = attempt.scenario.fault_ids
    assert row[2] == text(f"faults.{fault}.name")
    assert "plan" not in [block["id"] for block in later.aim().content["blocks"]]


def break_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """One record of faults is broken, in a kernel that has read none of them yet."""
    whole = record_file("faults")
    data = whole.data | {"belt_loose": whole.data["belt_loose"] | {"weight": "heavy"}}
    table = RecordTable(lambda: Document(data, whole.lines, whole.source), fault_from)
    for module in (faults, calls, random_calls):
        monkeypatch.setattr(module, "FAULTS", table)


def test_a_broken_record_of_the_program_ends_no_open_call(
    new_session, monkeypatch: pytest.MonkeyPatch
) -> None:
    attempt = open_yard(new_session()).calls().attempt
    attempt.act("put_on_ppe", {}, "gear")
    break_a_fault(monkeypatch)
    session = new_session()
    page = Practice(session)
    assert page.aim().block("title")
    told = " ".join(page.calls().block("broken")["paragraphs"])
    assert "faults.yaml, line" in told
    assert "'belt_loose': weight: Input should be a valid number" in told
    assert "Your work is safe" in told
    assert page.what_next().block("go")
    assert latest(session.store, session.name, PRACTICE_SLOT) == attempt.id
